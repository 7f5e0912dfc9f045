"""Double booking across jobs, quotes and drafts; soak and service; pay-back; days bought ahead."""

from __future__ import annotations

import pytest

BRIEF = "follow-the-kelp"

OTHER = """
key = "{key}"
client = "skerrow-islands-tourism"
title = "{key}"
[[days]]
date = {date}
kind = "{kind}"
dives = {dives}
kit = [{kit}]
crew = [{{ person = "{who}", roles = ["camera"] }}]
"""


@pytest.fixture
def other(studio):
    """Writes a small brief of one day, Rowan's unless somebody else is named."""

    def write(key: str, date: str, *, kit: str = '"drone"', kind: str = "dry", dives: int = 1, who="Rowan Lark"):
        text = OTHER.format(key=key, date=date, kit=kit, kind=kind, dives=dives, who=who)
        (studio / "briefs" / f"{key}.toml").write_text(text, encoding="utf-8")
        return key

    return write


def test_a_draft_that_needs_who_and_what_a_job_needs_is_warned_about(bizkit, job, other):
    draft = bizkit("quote", "draft", other("otters", "2027-05-11"), "--on", "2027-03-01")
    assert "Look: Rowan Lark is booked twice on 2027-05-11: follow-the-kelp, draft otters (hold)" in draft.out
    assert "Look: 2 x drone wanted on 2027-05-11, 1 at hand: follow-the-kelp, draft otters (hold)" in draft.out
    sent = bizkit("quote", "send", "otters", "--on", "2027-03-01")
    assert "Rowan Lark is booked twice on 2027-05-11: follow-the-kelp, draft otters (hold)" in sent.out
    rows = bizkit("kit", "clashes", "--on", "2027-03-02", "--json").data["clashes"]
    assert [row["jobs"] for row in rows] == [["follow-the-kelp", "otters (hold)"]] * 2
    # Past clashes are over, and a quote that lapsed holds nobody.
    assert bizkit("kit", "clashes", "--on", "2027-05-12", "--json").data["clashes"] == []
    assert bizkit("kit", "clashes", "--on", "2027-04-15", "--json").data["clashes"] == []


def test_days_held_for_weather_clash_as_holds(bizkit, job, other):
    # 10 to 16 May is kept free; 15 and 16 May are no days of the brief.
    draft = bizkit("quote", "draft", other("seals", "2027-05-15", kit=""), "--on", "2027-03-01", "--json").data
    assert draft["clashes"] == [
        "Rowan Lark is booked twice on 2027-05-15: follow-the-kelp (hold), draft seals (hold)"
    ]
    free = bizkit("quote", "draft", other("terns", "2027-05-17", kit=""), "--on", "2027-03-01", "--json").data
    assert free["clashes"] == []
    booked = bizkit("kit", "bookings", "--on", "2027-05-13", "--json").data
    held = {row["on"] for row in booked if row["hold"] and row["job"] == job}
    assert held == {"2027-05-15", "2027-05-16"}
    # Once the last shoot day is over, nothing is held for it.
    assert bizkit("kit", "clashes", "--on", "2027-05-14").out == "Nothing clashes.\n"
    until = bizkit("kit", "bookings", "--on", "2027-05-10", "--until", "2027-05-10", "--json").data
    # the water set and the land set both have a body
    assert ("camera_body", 2) in {(row["resource"], row["quantity"]) for row in until}


def test_a_cancelled_or_moved_job_lets_go_of_its_days(bizkit, job, other):
    bizkit("quote", "draft", other("otters", "2027-05-11"), "--on", "2027-03-01")
    assert bizkit("kit", "clashes", "--on", "2027-03-02").out.count("booked twice") == 1
    moved = bizkit("day", "move", job, "2027-05-11", "--to", "2027-05-18", "--why", "client", "--on", "2027-03-02")
    assert moved.code == 0
    # The 11th is inside the weather window still, so it is held there now.
    (held,) = [
        row for row in bizkit("kit", "clashes", "--on", "2027-03-02", "--json").data["clashes"]
        if row["kind"] == "person"
    ]  # fmt: skip
    assert held["jobs"] == ["follow-the-kelp (hold)", "draft otters (hold)"]
    bizkit("quote", "cancel", job, "--on", "2027-03-03")
    assert bizkit("kit", "clashes", "--on", "2027-03-03").out == "Nothing clashes.\n"


def test_a_postponed_job_holds_its_old_window_no_longer(bizkit, job, other):
    bizkit("quote", "draft", other("seals", "2027-05-15", kit=""), "--on", "2027-03-01")
    assert "booked twice" in bizkit("kit", "clashes", "--on", "2027-03-02").out
    done = bizkit("quote", "postpone", job, "--to", "2027-06-14", "--on", "2027-03-02")
    assert done.code == 0
    assert bizkit("kit", "clashes", "--on", "2027-03-02").out == "Nothing clashes.\n"
    rows = bizkit("kit", "bookings", "--on", "2027-06-01", "--json").data
    assert {row["on"] for row in rows if row["resource"] == "drone"} == {"2027-06-14", "2027-06-15", "2027-06-16"}


def test_moving_a_day_onto_another_job_is_said(bizkit, job, other):
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, other("otters", "2027-05-18"), "--on", "2027-03-01")
    done = bizkit("day", "move", job, "2027-05-13", "--to", "2027-05-18", "--on", "2027-05-13", "--json").data
    assert "Rowan Lark is booked twice on 2027-05-18: follow-the-kelp, otters" in done["warnings"]


def test_a_housing_that_soaks_for_one_job_is_not_dry_for_the_next(bizkit, studio, other, change):
    change(studio / "rate-card.toml", "value = 7400\nowned = 2", "value = 7400")
    for key, date, who in (("one", "2027-05-18", "Ailsa Gannet"), ("two", "2027-05-19", "Rowan Lark")):
        other(key, date, kit='"housing"', kind="water", who=who)
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "one", "--on", "2027-03-01")
    draft = bizkit("quote", "draft", "two", "--on", "2027-03-01", "--json").data
    soak = (
        "Underwater housing and ports is still in its 24 h soak on 2027-05-19: plan 1 more, a spare, or a day between"
    )
    assert draft["clashes"] == [soak]
    assert bizkit("kit", "clashes", "--on", "2027-03-01", "--json").data["care"] == [soak]


def test_service_is_counted_from_the_dives_in_the_book(bizkit, job):
    # The card: every 100 dives, 22 before the book; the job plans 6 + 6.
    row = next(
        one for one in bizkit("kit", "service", "--on", "2027-05-01", "--json").data if one["item"] == "housing"
    )
    assert (row["dives"], row["dives_planned"], row["due_on"]) == (22, 12, "2027-11-14")
    log = ["day", "log", job, "2027-05-10", "--call", "07:30", "--wrap", "18:30", "--dives", 75, "--on", "2027-05-10"]
    assert bizkit(*log).code == 0
    row = next(
        one for one in bizkit("kit", "service", "--on", "2027-05-11", "--json").data if one["item"] == "housing"
    )
    assert (row["dives"], row["dives_planned"], row["state"]) == (97, 6, "due before the last planned dive")
    assert "97" in bizkit("kit", "service", "--on", "2027-05-11").out
    late = next(
        one for one in bizkit("kit", "service", "--on", "2027-11-15", "--json").data if one["item"] == "housing"
    )
    assert late["state"] == "due"


def test_a_draft_that_brings_kit_past_its_service_is_warned_by_the_dives_in_the_book(bizkit, job, other):
    log = ["day", "log", job, "2027-05-10", "--call", "07:30", "--wrap", "18:30", "--dives", 75, "--on", "2027-05-10"]
    bizkit(*log)
    other("otters", "2027-06-15", kit='"housing"', kind="water", dives=5)
    draft = bizkit("quote", "draft", "otters", "--on", "2027-05-20", "--json").data
    # 22 before the book, 75 on the 10th, 6 planned and done on the 12th, 5 more
    said = "Underwater housing and ports is due for service after 100 dives: 103 so far + 5 planned = 108"
    assert draft["clashes"] == [said]


def test_kit_pays_itself_back_from_its_days_in_the_book(bizkit, job):
    before = bizkit("kit", "payback", "drone", "--on", "2027-05-01", "--json").data
    # 3,300.00 at 150.00 a day: 22 hire days, none so far
    assert [(row["days_needed"], row["days_hired"], row["days_left"]) for row in before] == [(22, "0", 22)]
    (after,) = bizkit("kit", "payback", "drone", "--on", "2027-06-01", "--json").data
    assert (after["days_hired"], after["earned"], after["days_left"]) == ("3", "450.00", 19)
    (bodies,) = bizkit("kit", "payback", "camera_body", "--on", "2027-06-01", "--json").data
    # two bodies at 6,800.00; four days of the land set, two of the water set
    assert (bodies["value"], bodies["days_hired"]) == ("13600.00", "6")
    assert "19" in bizkit("kit", "payback", "--on", "2027-06-01").out
    unknown = bizkit("kit", "payback", "dron")
    assert (unknown.code, "Did you mean drone?" in unknown.err) == (2, True)


# --- deals

DEAL = """
[deals.year]
title = "Kelp year"
client = "skerrow-islands-tourism"
days = 3
covers = ["camera"]
"""


@pytest.fixture
def deal(studio):
    card = studio / "rate-card.toml"
    card.write_text(card.read_text(encoding="utf-8") + DEAL, encoding="utf-8")
    return "year"


def drawn(bizkit, other, studio, key, date, count):
    other(key, date, kit="")
    path = studio / "briefs" / f"{key}.toml"
    text = path.read_text(encoding="utf-8").replace("[[days]]", '[deal]\nname = "year"\n[[days]]')
    path.write_text(text.replace("dives = 1", f"count = {count}"), encoding="utf-8")
    bizkit("quote", "draft", key, "--on", "2027-03-01")
    return bizkit("quote", "send", key, "--on", "2027-03-01", "--json").data["document"]


def test_a_deal_is_drawn_down_by_the_jobs_that_were_accepted(bizkit, studio, other, deal):
    first = drawn(bizkit, other, studio, "one", "2027-05-18", 2)
    assert first["deal"] == {"name": "year", "days": "2"}
    assert bizkit("deal", "list", "--json").data[0]["left"] == "3"  # sent is not yet drawn
    # Days paid ahead are income all the same: the quote is not below the floor for them.
    margin = bizkit("quote", "show", "one", "--on", "2027-03-01", "--json").data["margin"]["margin"]
    assert (first["net"], margin["income"], margin["below_floor"]) == ("30.00", "950.00", False)
    bizkit("quote", "accept", "one", "--on", "2027-03-02")
    (row,) = bizkit("deal", "list", "--json").data
    assert (row["bought"], row["drawn"], row["left"]) == ("3", "2", "1")
    second = drawn(bizkit, other, studio, "two", "2027-06-15", 2)
    assert second["deal"] == {"name": "year", "days": "1"}
    (line,) = [
        kept for one, kept in zip(second["lines"], second["reckoning"], strict=True) if one["section"] == "discount"
    ]
    assert "3 days bought, 2 used before, 1 drawn now, 0 left" in line["why"]
    assert "one 2" in bizkit("deal", "list").out


def test_two_quotes_cannot_draw_the_same_days(bizkit, studio, other, deal):
    drawn(bizkit, other, studio, "one", "2027-05-18", 2)
    drawn(bizkit, other, studio, "two", "2027-06-15", 2)
    assert bizkit("quote", "accept", "one", "--on", "2027-03-02").code == 0
    late = bizkit("quote", "accept", "two", "--on", "2027-03-02")
    assert late.code == 1
    assert "draws 2 days from Kelp year, which has 1 left by now" in late.err
    bizkit("quote", "cancel", "one", "--on", "2027-03-03")
    assert bizkit("deal", "list", "--json").data[0]["left"] == "3"
    assert bizkit("quote", "accept", "two", "--on", "2027-03-03").code == 0
