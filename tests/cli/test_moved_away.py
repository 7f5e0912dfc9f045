"""Moving a day never makes cancelling it cheaper, and a day on its way there and back costs nothing."""

from __future__ import annotations

import random
from decimal import Decimal

import pypdf
import pytest


@pytest.fixture
def two_days(bizkit, studio, notice_scale):
    """A job of a travel day and two shoot days in one week of May 2027, 1,020.00 a shoot day."""
    card = studio / "rate-card.toml"
    text = card.read_text(encoding="utf-8")
    card.write_text(text[: text.index("[cancellation]")] + notice_scale, encoding="utf-8")
    crew = 'crew = [{ roles = ["underwater_camera"] }, { roles = ["camera"] }]\n'
    days = [("2027-05-12", "travel"), ("2027-05-13", "dry"), ("2027-05-14", "dry")]
    (studio / "briefs" / "week.toml").write_text(
        'key = "week"\nclient = "skerrow-islands-tourism"\ntitle = "Week"\ncontingency_percent = 0\n'
        + "".join(f'[[days]]\ndate = {date}\nkind = "{kind}"\nplace = "Selkie Bay"\n{crew}' for date, kind in days),
        encoding="utf-8",
    )
    for command in (("draft", "week"), ("send", "week"), ("accept", "week")):
        assert bizkit("quote", *command, "--on", "2027-04-01").code == 0
    return "week"


def charged(bizkit, job):
    rows = bizkit("charge", "list", job, "--json").data["charges"]
    return sum((Decimal(row["amount"]) for row in rows if row["state"] != "waived"), Decimal(0))


def cancelled_at_once(bizkit, job, on):
    return Decimal(bizkit("quote", "cancel", job, "--preview", "--on", on, "--json").data["fee"])


@pytest.mark.parametrize("to", [["--to", "2027-09-16"], []])
def test_postponing_first_saves_nothing(bizkit, two_days, to):
    at_once = cancelled_at_once(bizkit, two_days, "2027-05-11")
    assert at_once == Decimal("2295.00")  # two days of notice to the 13th: 75 % of 3 x 1,020.00
    assert bizkit("quote", "postpone", two_days, *to, "--on", "2027-05-11").code == 0
    assert charged(bizkit, two_days) == Decimal("1224.00")  # 40 %
    done = bizkit("quote", "cancel", two_days, "--on", "2027-05-11", "--json").data
    assert {line["item"][:32] for line in done["lines"]} == {"Cancelled after moving it away f"}
    assert charged(bizkit, two_days) == at_once


def test_a_move_at_the_clients_wish_saves_nothing_either(bizkit, two_days):
    at_once = cancelled_at_once(bizkit, two_days, "2027-05-11")
    for date, to in (("2027-05-12", "2027-09-15"), ("2027-05-13", "2027-09-16"), ("2027-05-14", "2027-09-17")):
        args = ("day", "move", two_days, date, "--to", to, "--why", "client", "--on", "2027-05-11")
        assert bizkit(*args).code == 0
    bizkit("quote", "cancel", two_days, "--on", "2027-05-11")
    assert charged(bizkit, two_days) >= at_once - Decimal("1020.00")  # each day has notice of its own here
    assert charged(bizkit, two_days) >= Decimal("765.00") * 2


def test_moves_of_weather_and_studio_bring_no_such_line(bizkit, two_days):
    move = ("day", "move", two_days, "2027-05-14", "--to", "2027-09-17", "--on", "2027-05-11")
    assert bizkit(*move, "--why", "studio").code == 0
    done = bizkit("quote", "cancel", two_days, "--on", "2027-05-11", "--json").data
    assert not [line for line in done["lines"] if "moving it away" in line["item"]]


@pytest.mark.parametrize("seed", range(4))
def test_whatever_the_client_moved_before_cancelling_costs_no_less_and_no_day_twice(bizkit, two_days, seed):
    chance = random.Random(seed)
    on = chance.choice(["2027-05-07", "2027-05-10", "2027-05-11"])
    at_once = cancelled_at_once(bizkit, two_days, on)
    for step in range(chance.randint(1, 3)):
        to = f"2027-{chance.randint(6, 9):02}-{chance.randint(14, 16)}"
        bizkit("quote", "postpone", two_days, *(["--to", to] if step or chance.random() < 0.7 else []), "--on", on)
    moved = charged(bizkit, two_days)
    bizkit("quote", "cancel", two_days, "--on", on)
    both = charged(bizkit, two_days)
    assert both >= at_once - Decimal("0.03")
    # The longest notice costs nothing: only what moving cost stands beside the price of the days.
    assert both <= max(at_once, moved) + Decimal("3060.00")


def test_once_the_old_date_has_passed_the_new_one_alone_counts(bizkit, two_days):
    bizkit("quote", "postpone", two_days, "--to", "2027-09-16", "--on", "2027-05-11")
    assert cancelled_at_once(bizkit, two_days, "2027-05-14") > 0
    assert cancelled_at_once(bizkit, two_days, "2027-05-15") == 0


def test_the_quote_says_what_moving_and_cancelling_costs(bizkit, two_days):
    (paper,) = bizkit("quote", "list", "--json").data
    shown = bizkit("quote", "show", two_days, "--json").data
    assert shown["document"]["extras"]["notice"]["after_moving"] is True
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(shown["file"]).pages)
    assert "cancel before its old date has passed" in " ".join(text.split()), paper


def test_a_quote_that_does_not_say_so_asks_for_nothing(bizkit, two_days, monkeypatch):
    from bizkit.domain.pricing import extras

    real = extras.notice
    monkeypatch.setattr(extras, "notice", lambda *of, **what: {**real(*of, **what), "after_moving": False})
    bizkit("quote", "reopen", two_days, "--reason", "again", "--on", "2027-04-02")
    for command in (("draft", "week"), ("send", "week"), ("accept", "week")):
        assert bizkit("quote", *command, "--on", "2027-04-03").code == 0
    bizkit("quote", "postpone", two_days, "--to", "2027-09-16", "--on", "2027-05-11")
    assert cancelled_at_once(bizkit, two_days, "2027-05-11") == 0


@pytest.mark.parametrize("to", ["2027-05-01", "2029-05-14"])
def test_a_day_moves_into_the_past_or_years_off_only_for_a_reason(bizkit, two_days, to):
    move = ("day", "move", two_days, "2027-05-14", "--to", to, "--why", "studio", "--on", "2027-05-03")
    refused = bizkit(*move)
    assert (refused.code, "--reason" in refused.err) == (1, True)
    assert bizkit(*move, "--reason", "noted late").code == 0


def test_a_hold_day_beyond_those_agreed_waits_for_a_yes(bizkit, job):
    for date, to in (("2027-05-10", "2027-05-17"), ("2027-05-11", "2027-05-18"), ("2027-05-12", "2027-05-19"),
                     ("2027-05-13", "2027-05-20")):  # fmt: skip
        bizkit("day", "move", job, date, "--to", to, "--on", date)
    rows = [row for row in bizkit("charge", "list", job, "--json").data["charges"] if row["kind"] == "hold day"]
    assert rows
    bill = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-21")
    assert (bill.code, "--agreed" in bill.err) == (1, True)
    yes = bizkit("invoice", "issue", job, "--charges", "--agreed", "Una Flett, 21 May", "--on", "2027-05-21")
    assert yes.code == 0


def test_a_hold_day_is_taken_back_where_the_day_comes_back(bizkit, job):
    bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-19", "--on", "2027-05-03")
    held = bizkit("day", "list", job, "--json").data["holds"]["used"]
    assert held == ["2027-05-12"]
    before = charged(bizkit, job)
    bizkit("day", "move", job, "2027-05-19", "--to", "2027-05-12", "--why", "studio", "--on", "2027-05-03")
    assert bizkit("day", "list", job, "--json").data["holds"]["used"] == []
    assert charged(bizkit, job) <= before
    assert charged(bizkit, job) == 0


def test_postponing_to_the_same_day_is_refused_and_free(bizkit, two_days):
    done = bizkit("quote", "postpone", two_days, "--to", "2027-05-13", "--on", "2027-05-11")
    assert (done.code, "--to: wanted another date" in done.err) == (2, True)
    assert charged(bizkit, two_days) == 0


def test_a_travel_day_moved_by_the_client_costs_what_postponing_it_costs(bizkit, two_days):
    move = ("day", "move", two_days, "2027-05-12", "--to", "2027-06-16", "--why", "client", "--on", "2027-05-11")
    fee = bizkit(*move, "--json").data["fee"]
    assert fee["amount"] == "408.00"  # 40 % of the day, as by postponing the job


def test_there_and_back_costs_nothing_whoever_moved_it(bizkit, two_days):
    def move(date, to, why):
        return bizkit("day", "move", two_days, date, "--to", to, "--why", why, "--on", "2027-05-03", "--json").data

    # 15 May 2027 is a Saturday, 16 May a Sunday.
    first = move("2027-05-14", "2027-05-15", "studio")
    assert charged(bizkit, two_days) == 0, first
    move("2027-05-15", "2027-05-16", "client")
    assert charged(bizkit, two_days) > 0
    move("2027-05-16", "2027-05-15", "studio")
    assert charged(bizkit, two_days) == 0
    move("2027-05-15", "2027-05-14", "studio")
    assert charged(bizkit, two_days) == 0
