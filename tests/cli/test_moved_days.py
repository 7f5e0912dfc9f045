"""Days moved to a dearer date: the difference to the price agreed, the client's fee, the order of days in lists."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal

import pypdf
import pytest

#: Rates and uplifts of the tests' own, worked out by hand: a crew of 747.50 + 260.00 = 1,007.50 on a working day,
#: + 50 % = 1,511.25 on a Saturday, + 100 % = 2,015.00 on a Sunday or public holiday. That the client bears the uplift
#: of a day it moves, or that the weather moves where its waiting is the client's, is common practice.
CARD = """
name = "Test"
currency = "GBP"
valid_from = 2026-01-01
[crew.underwater_camera]
title = "Underwater camera"
day_rate = 747.50
[crew.assistant]
title = "Assistant"
day_rate = 260
[day]
hours = 10
meal_hours = 1
[[overtime]]
from = 0
factor = 1.5
[uplift]
saturday_percent = 50
sunday_percent = 100
holiday_percent = 100
[cancellation]
counting = "working"
steps = [{ notice_days = 5, percent = 0 }, { notice_days = 0, percent = 100 }]
postponement_steps = [
  { notice_days = 5, percent = 0 },
  { notice_days = 2, percent = 25 },
  { notice_days = 0, percent = 50 },
]
"""
DAY = """
[[days]]
date = 2027-06-{:02}
kind = "{}"
place = "{}"
call = "08:00"
wrap = "19:00"
crew = [
  {{ person = "Ailsa Gannet", roles = ["underwater_camera"] }},
  {{ person = "Rowan Lark", roles = ["assistant"] }},
]
"""
WEATHER = """
[weather]
from = 2027-06-08
to = 2027-06-20
chance = { 6 = 0.6 }
hold_days = 2
charge = "CHARGE"
"""


@pytest.fixture
def trail(bizkit, studio):
    """An accepted job: water days on Tuesday 8, Wednesday 9 and Thursday 10 June 2027."""
    return open_job(bizkit, studio)


THREE_DAYS = ((8, "water", "Otter Sound"), (9, "water", "Kelp trail"), (10, "dry", "Selkie Bay"))


def open_job(bizkit, studio, *, more="", days=THREE_DAYS, accept=()):
    (studio / "rate-card.toml").write_text(CARD, encoding="utf-8")
    (studio / "floor.toml").unlink(missing_ok=True)
    (studio / "briefs" / "trail.toml").write_text(
        'key = "trail"\nclient = "skerrow-islands-tourism"\ntitle = "Trail"\n'
        + "".join(DAY.format(*day) for day in days)
        + '[[deliverables]]\nkey = "film"\ntitle = "Film"\nkind = "film"\ndue_days = 5\n'
        + more,
        encoding="utf-8",
    )
    for command, more_options in (("draft", ()), ("send", ()), ("accept", accept)):
        done = bizkit("quote", command, "trail", *more_options, "--on", "2027-05-01")
        assert done.code == 0, done.err
    return "trail"


def move(bizkit, job, start, to, *more, on="2027-05-03"):
    return bizkit("day", "move", job, f"2027-06-{start:02}", "--to", f"2027-06-{to:02}", *more, "--on", on, "--json")


def moved(bizkit, job):
    """What the charges for moved days come to, and how much of it is open."""
    rows = [row for row in bizkit("charge", "list", job, "--json").data["charges"] if row["kind"] == "moved day"]
    whole = sum((Decimal(row["amount"]) for row in rows if row["state"] != "waived"), Decimal(0))
    return whole, sum((Decimal(row["amount"]) for row in rows if row["state"] == "to invoice"), Decimal(0))


def test_a_day_that_weather_moves_to_a_saturday_costs_the_difference_to_the_price_agreed(bizkit, trail):
    assert move(bizkit, trail, 9, 11).data["dearer"] == []
    done = move(bizkit, trail, 11, 12).data  # Saturday
    (row,) = done["dearer"]
    # 50 % of 747.50 and of 260.00: 373.75 + 130.00
    assert (row["agreed"], row["now"], row["difference"], row["borne_by"]) == (
        "1007.50",
        "1511.25",
        "503.75",
        "client",
    )
    log = bizkit("day", "log", trail, "2027-06-12", "--call", "08:00", "--wrap", "19:00", "--on", "2027-06-12")
    assert "dearer than 2027-06-09, to the client: GBP 503.75" in log.out
    assert "Within the hours planned" in log.out
    assert moved(bizkit, trail) == (Decimal("503.75"), Decimal("503.75"))
    bill = bizkit("invoice", "issue", trail, "--charges", "--on", "2027-06-14", "--json").data
    assert bill["net"] == "503.75"
    assert bill["document"]["lines"][0]["item"] == "Day agreed for 9 June 2027, moved to 12 June 2027 (Saturday)"


def test_overtime_on_a_moved_day_comes_on_top_and_nothing_is_charged_twice(bizkit, trail):
    move(bizkit, trail, 9, 12)
    done = bizkit(
        "day", "log", trail, "2027-06-12", "--call", "08:00", "--wrap", "21:00", "--on", "2027-06-12", "--json"
    ).data
    # two hours at 1.5 x (74.75 + 26.00) = 302.25; agreed 1,007.50 + 503.75 + 302.25 = 1,813.50 for the day
    assert (done["overrun"], done["moved"]["difference"]) == ("302.25", "503.75")
    assert bizkit("charge", "list", "--json").data["open"] == [{"currency": "GBP", "net": "806.00"}]


@pytest.mark.parametrize(
    ("to", "now", "uplift"), [(13, "2015.00", "Sunday"), (12, "1511.25", "Saturday"), (14, "1007.50", "")]
)
def test_every_dearer_date_has_its_own_uplift(bizkit, trail, to, now, uplift):
    rows = move(bizkit, trail, 9, to).data["dearer"]
    assert [row["now"] for row in rows] == ([now] if uplift else [])
    items = [row["item"] for row in bizkit("charge", "list", "--json").data["charges"] if row["kind"] == "moved day"]
    assert [item.rpartition("(")[2].rstrip(")") for item in items] == ([uplift] if uplift else [])


def test_a_public_holiday_is_dear_on_a_working_day(bizkit, studio):
    # 2 August 2027, the first Monday of August: a bank holiday in Scotland (Banking and Financial Dealings Act 1971)
    job = open_job(bizkit, studio)
    done = bizkit("day", "move", job, "2027-06-09", "--to", "2027-08-02", "--on", "2027-05-03", "--json").data
    assert done["dearer"][0]["difference"] == "1007.50"


def test_a_move_asked_for_by_the_client_bears_the_postponement_fee_of_the_scale(bizkit, trail):
    # Notice on Monday 7 June for Thursday 10 June: three working days, 25 % of 1,007.50 = 251.875, half up
    done = move(bizkit, trail, 10, 12, "--why", "client", on="2027-06-07").data
    assert (done["fee"]["amount"], done["fee"]["waived"]) == ("251.88", "")
    assert "3 working days of notice = 25% of GBP 1007.50" in done["fee"]["why"]
    assert done["dearer"][0]["difference"] == "503.75"
    charges = bizkit("charge", "list", trail, "--json").data["charges"]
    assert [(row["kind"], row["amount"], row["state"]) for row in charges] == [
        ("postponement", "251.88", "to invoice"),
        ("moved day", "503.75", "to invoice"),
    ]
    # A move that is noted only after the day had no notice: 50 %.
    assert move(bizkit, trail, 9, 15, "--why", "client", on="2027-06-11").data["fee"]["amount"] == "503.75"


def test_the_fee_of_a_move_is_let_go_with_a_reason_that_the_book_keeps(bizkit, trail):
    reason = "their ferry was cancelled"
    done = move(bizkit, trail, 10, 11, "--why", "client", "--waive", reason, on="2027-06-07").data
    assert (done["fee"]["amount"], done["fee"]["waived"]) == ("251.88", reason)
    (charge,) = bizkit("charge", "list", trail, "--json").data["charges"]
    assert (charge["state"], charge["waived"]) == ("waived", reason)
    assert bizkit("charge", "list", "--json").data["open"] == []
    events = [one for one in bizkit("job", "show", trail, "--json").data["history"] if one["did"] == "waived"]
    assert [one["data"]["reason"] for one in events] == [reason]
    nobody = move(bizkit, trail, 9, 14, "--waive", "x")
    assert (nobody.code, "--waive: wanted --why client with it" in nobody.err) == (2, True)


def test_a_preview_of_a_move_says_all_and_records_nothing(bizkit, trail):
    done = move(bizkit, trail, 10, 12, "--why", "client", "--preview", on="2027-06-07").data
    assert (done["preview"], done["fee"]["amount"], done["dearer"][0]["difference"]) == (True, "251.88", "503.75")
    assert bizkit("charge", "list", trail, "--json").data["charges"] == []
    assert [row["on"] for row in bizkit("day", "list", trail, "--json").data["days"]][-1] == "2027-06-10"


def test_dates_that_are_swapped_have_no_fee_and_each_day_its_own_difference(bizkit, studio):
    job = open_job(bizkit, studio, days=((10, "water", "Otter Sound"), (12, "dry", "Selkie Bay")))
    done = move(bizkit, job, 10, 12, "--swap", "--why", "client", on="2027-06-09").data
    assert done["fee"] is None
    # The water day is on the Saturday now: 503.75; the dry day was agreed for it and gives nothing back.
    assert [row["difference"] for row in done["dearer"]] == ["503.75"]
    assert moved(bizkit, job) == (Decimal("503.75"), Decimal("503.75"))


def test_a_move_of_the_studios_own_is_borne_by_the_studio(bizkit, trail):
    done = move(bizkit, trail, 9, 12, "--why", "studio").data
    assert (done["dearer"][0]["borne_by"], done["dearer"][0]["difference"]) == ("studio", "0.00")
    assert "which the studio bears" in bizkit("day", "log", trail, "2027-06-12", "--call", "08:00", "--wrap", "19:00",
                                              "--on", "2027-06-12").out  # fmt: skip
    assert moved(bizkit, trail)[0] == 0


@pytest.mark.parametrize(
    ("charge", "to", "difference"),
    [("used", 12, "503.75"), ("booked", 12, "503.75"), ("expected", 12, "0.00"), ("expected", 26, "503.75")],
)
def test_weather_at_a_fixed_price_is_the_studios_within_the_days_kept_free(bizkit, studio, charge, to, difference):
    # hold days sold at a fixed price whatever the weather does (charge = "expected"): five days from 8 to 12 June
    job = open_job(bizkit, studio, more=WEATHER.replace("CHARGE", charge))
    assert move(bizkit, job, 9, to).data["dearer"][0]["difference"] == difference


def test_back_on_the_date_agreed_a_move_has_cost_nothing_also_where_it_was_billed(bizkit, trail):
    move(bizkit, trail, 9, 12)
    assert moved(bizkit, trail)[0] == Decimal("503.75")
    move(bizkit, trail, 12, 9)
    assert moved(bizkit, trail) == (0, 0)
    move(bizkit, trail, 9, 13)
    bizkit("invoice", "issue", trail, "--charges", "--on", "2027-05-04")
    move(bizkit, trail, 13, 12)  # from Sunday to Saturday: 1,007.50 was billed, 503.75 is owed
    assert moved(bizkit, trail) == (Decimal("503.75"), Decimal("-503.75"))
    move(bizkit, trail, 12, 9)
    assert moved(bizkit, trail) == (0, Decimal("-1007.50"))


def test_what_was_waived_stays_waived_when_the_day_is_logged_or_moves_on(bizkit, trail):
    move(bizkit, trail, 9, 12)
    (charge,) = [row for row in bizkit("charge", "list", "--json").data["charges"] if row["kind"] == "moved day"]
    bizkit("charge", "waive", charge["id"], "--reason", "on us", "--on", "2027-05-04")
    bizkit("day", "log", trail, "2027-06-08", "--call", "08:00", "--wrap", "19:00", "--on", "2027-06-08")
    assert moved(bizkit, trail) == (0, 0)
    move(bizkit, trail, 12, 13)  # on the Sunday 1,007.50 more, of which 503.75 were waived
    bizkit("day", "log", trail, "2027-06-13", "--call", "08:00", "--wrap", "19:00", "--on", "2027-06-13")
    assert moved(bizkit, trail) == (Decimal("503.75"), Decimal("503.75"))


def test_a_postponement_to_a_weekend_charges_the_difference_too(bizkit, trail):
    preview = bizkit(
        "quote", "postpone", trail, "--to", "2027-06-24", "--preview", "--on", "2027-05-03", "--json"
    ).data
    done = bizkit("quote", "postpone", trail, "--to", "2027-06-24", "--on", "2027-05-03", "--json").data
    assert preview["dearer"][0]["difference"] == done["dearer"][0]["difference"] == "503.75"
    assert [row["on"] for row in done["dearer"]] == ["2027-06-26"]
    assert moved(bizkit, trail) == (Decimal("503.75"), Decimal("503.75"))


def test_a_day_left_open_gets_a_date_again(bizkit, trail):
    bizkit("quote", "postpone", trail, "--on", "2027-05-03")
    which = bizkit("day", "move", trail, "open", "--to", "2027-07-03")
    assert (which.code, "--number: wanted one of the open days: 1 (water), 2 (water)" in which.err) == (2, True)
    done = bizkit("day", "move", trail, "open", "--number", "1", "--to", "2027-07-03", "--json").data  # a Saturday
    assert (done["from"], done["dearer"][0]["difference"]) == ("", "503.75")
    assert [row["on"] for row in bizkit("day", "list", trail, "--json").data["days"]] == ["2027-07-03", "", ""]


def test_a_hold_day_is_charged_once_however_often_days_leave_its_date(bizkit, studio):
    job = open_job(bizkit, studio, more=WEATHER.replace("CHARGE", "used"))
    move(bizkit, job, 9, 14)
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-03")
    move(bizkit, job, 14, 9, "--why", "studio")
    assert move(bizkit, job, 9, 15).code == 0
    assert len([row for row in bizkit("charge", "list", "--json").data["charges"] if row["kind"] == "hold day"]) == 1


@pytest.mark.parametrize("seed", range(8))
def test_whatever_the_order_of_moves_and_bills_the_client_pays_the_difference_between_end_and_agreed(
    bizkit, trail, seed
):
    choose = random.Random(seed)
    price = {5: Decimal("1511.25"), 6: Decimal("2015.00")}
    where = {8: 8, 9: 9, 10: 10}
    for left in reversed(range(choose.randint(2, 7))):
        agreed = choose.choice(list(where))
        free = [day for day in range(7, 28) if day not in where.values()]
        if not left:  # the last one ends on a weekend, so that something is owed
            free = [day for day in free if date(2027, 6, day).weekday() > 4]
        to = choose.choice(free)
        assert move(bizkit, trail, where[agreed], to, "--why", choose.choice(["client", "weather"])).code == 0
        where[agreed] = to
        if choose.random() < 0.4:
            bizkit("invoice", "issue", trail, "--charges", "--on", "2027-05-03")
    logged = choose.choice(list(where.values()))
    bizkit("day", "log", trail, f"2027-06-{logged:02}", "--call", "08:00", "--wrap", "19:00", "--on", "2027-06-30")
    owed = sum(
        (price.get(date(2027, 6, day).weekday(), Decimal("1007.50")) - Decimal("1007.50") for day in where.values()),
        Decimal(0),
    )
    assert owed > 0
    assert moved(bizkit, trail)[0] == owed


def test_days_stand_in_order_of_date_at_every_door(bizkit, studio, tmp_path):
    option = '[options.cliff]\nkind = "addon"\ntitle = "The cliff too"\n' + DAY.format(
        10, "water", "Kelp trail"
    ).replace("[[days]]", "[[options.cliff.days]]")
    days = ((8, "water", "Otter Sound"), (12, "dry", "Selkie Bay"))
    job = open_job(bizkit, studio, days=days, more=option, accept=("--option", "cliff"))
    # The day of an option stands last in the brief, and by its date on the paper.
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(studio / "papers" / "Q-2027-0001-r2.pdf").pages)
    places = ["Otter Sound", "Kelp trail", "Selkie Bay"]
    assert sorted(places, key=text.index) == places
    move(bizkit, job, 8, 11)
    assert [row["on"] for row in bizkit("day", "list", job, "--json").data["days"]] == [
        "2027-06-10", "2027-06-11", "2027-06-12",
    ]  # fmt: skip
    assert [row["date"] for row in bizkit("job", "show", job, "--json").data["days"]] == [
        "2027-06-10", "2027-06-11", "2027-06-12",
    ]  # fmt: skip
    form = bizkit("release", "form", job, "--who", "Eilidh Rendall", "--out", tmp_path / "form.pdf")
    assert form.code == 0, form.err
    text = " ".join(pypdf.PdfReader(tmp_path / "form.pdf").pages[0].extract_text().split())
    assert "10 June 2027, 11 June 2027, 12 June 2027" in text
    bizkit("calendar", job, "--out", tmp_path / "days.ics")
    starts = [
        line
        for line in (tmp_path / "days.ics").read_text(encoding="utf-8").splitlines()
        if line.startswith("DTSTART")
    ][:3]
    assert starts == sorted(starts)


def test_a_form_for_a_moved_day_names_the_crew_of_that_day(bizkit, job, studio):
    bizkit("day", "move", job, "2027-05-10", "--to", "2027-05-20", "--on", "2027-02-01")
    card = studio / "card.pdf"
    done = bizkit("papers", "form", "water_day_card", job, "--day", "2027-05-20", "--out", card, "--on", "2027-02-01")
    assert done.code == 0, done.err
    assert "Director, Underwater camera" in " ".join(pypdf.PdfReader(card).pages[0].extract_text().split())


def test_two_days_on_one_date_keep_an_overrun_each(bizkit, studio):
    half = DAY.replace("\ncrew", "\nhalf_day = true\ncrew").replace('wrap = "19:00"', 'wrap = "13:00"')
    (studio / "rate-card.toml").write_text(CARD, encoding="utf-8")
    (studio / "briefs" / "trail.toml").write_text(
        'key = "trail"\nclient = "skerrow-islands-tourism"\ntitle = "Trail"\n'
        + half.format(8, "water", "Otter Sound")
        + half.format(8, "dry", "Selkie Bay"),
        encoding="utf-8",
    )
    (studio / "floor.toml").unlink()
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, "trail", "--on", "2027-05-01").code == 0
    over = [
        Decimal(bizkit("day", "log", "trail", "2027-06-08", "--call", "08:00", "--wrap", "17:00", "--number", number,
                       "--on", "2027-06-08", "--json").data["overrun"])
        for number in (1, 2)
    ]  # fmt: skip
    assert over[0] > 0
    assert Decimal(bizkit("charge", "list", "--json").data["open"][0]["net"]) == sum(over)
    assert [Decimal(row["overrun"]) for row in bizkit("day", "list", "trail", "--json").data["days"]] == over
