"""Days as they were: overruns with their working, moves, hold days, due dates that follow."""

from __future__ import annotations

import re
from decimal import Decimal

import pypdf
import pytest

#: The crew terms of a published example: day rate 430, overtime coefficient 1.25, 10-hour day, 1 hour of lunch
#: (producers' trade-body Recommended Terms for Engaging Crew on the Production of Commercials, 1 Sep 2014); rest of
#: 11 h due, T1.5 / T2 / T3 by successive hour short (union guide to TV drama terms 2017, "time off the clock").
CARD = """
name = "Test"
currency = "GBP"
valid_from = 2026-01-01
[crew.camera]
title = "Camera"
day_rate = 430
[crew.sound]
title = "Sound"
day_rate = 300
[day]
hours = 10
meal_hours = 1
overtime_step_minutes = 30
[[overtime]]
from = 0
factor = 1.25
[rest]
due_hours = 11
[[rest.penalty]]
from = 0
until = 1
factor = 1.5
[[rest.penalty]]
from = 1
until = 2
factor = 2
[[rest.penalty]]
from = 2
factor = 3
"""
DAY = """
[[days]]
date = 2027-05-{}
kind = "{}"
call = "08:00"
wrap = "19:00"
place = "Otter Sound"
crew = [{{ person = "Rowan Lark", roles = ["camera"] }}, {{ roles = ["sound"] }}]
"""


@pytest.fixture
def shoot(bizkit, studio):
    """An accepted job of two planned 10-hour days, 11 and 12 May 2027."""
    (studio / "rate-card.toml").write_text(CARD, encoding="utf-8")
    (studio / "briefs" / "shoot.toml").write_text(
        'key = "shoot"\nclient = "skerrow-islands-tourism"\ntitle = "Shoot"\n'
        + DAY.format(11, "dry")
        + DAY.format(12, "dry")
        + '[[deliverables]]\nkey = "film"\ntitle = "Film"\nkind = "film"\ndue_days = 5\n',
        encoding="utf-8",
    )
    bizkit("quote", "draft", "shoot", "--on", "2027-04-01")
    bizkit("quote", "send", "shoot", "--on", "2027-04-01")
    assert bizkit("quote", "accept", "shoot", "--on", "2027-04-02").code == 0
    return "shoot"


def log(bizkit, job, date, call, wrap, *more):
    return bizkit("day", "log", job, date, "--call", call, "--wrap", wrap, *more, "--on", "2027-05-20", "--json")


def test_two_hours_over_are_two_overtime_hours_to_invoice(bizkit, shoot):
    # call 08:00, 1 h lunch, wrap 21:00: overtime from 19:00, 2 h at 53.75 each = 107.50 over the 430.00 of the day
    done = log(bizkit, shoot, "2027-05-11", "08:00", "21:00", "--who", "Rowan Lark").data
    assert done["overrun"] == "107.50"
    (line,) = done["lines"]
    item = "Rowan Lark: Camera (2 h overtime): 2027-05-11, 08:00 to 21:00 with a meal break of 1 h"
    assert line["item"] == f"{item}, beyond what was quoted"
    assert (line["quantity"], line["unit"], line["rate"]) == ("2", "hour", "53.75")
    assert "08:00 to 21:00 pays GBP 537.50, planned were GBP 430.00 = GBP 107.50 more" in line["why"]
    assert line["working"]["rule"] == "crew.overrun"
    (charge,) = bizkit("charge", "list", shoot, "--json").data["charges"]
    assert (charge["amount"], charge["source"], charge["kind"]) == ("107.50", "day 2027-05-11", "overrun")


def test_somebody_who_came_beyond_the_plan_has_a_way_to_be_told(bizkit, shoot):
    refused = log(bizkit, shoot, "2027-05-11", "08:00", "19:00", "--who", "Finn Sinclair")
    assert refused.code == 2
    assert f"bizkit cost add {shoot}" in refused.err
    assert f"bizkit charge add {shoot}" in refused.err
    assert "Rowan Lark" in refused.err


def test_everybody_is_logged_at_once_and_a_second_log_takes_its_place(bizkit, shoot):
    assert log(bizkit, shoot, "2027-05-11", "08:00", "21:00").data["overrun"] == "182.50"  # and 2 x 37.50 for sound
    assert log(bizkit, shoot, "2027-05-11", "08:00", "20:00").data["overrun"] == "91.25"
    # Rowan left on time: only sound stayed, one hour of 30.00 x 1.25
    done = log(bizkit, shoot, "2027-05-11", "08:00", "19:00", "--who", "Rowan Lark").data
    assert done["overrun"] == "37.50"
    assert bizkit("charge", "list", "--json").data["open"] == [{"currency": "GBP", "net": "37.50"}]
    rows = bizkit("day", "list", shoot, "--json").data["days"]
    assert [(row["planned"], row["overrun"]) for row in rows] == [("08:00-19:00", "37.50"), ("08:00-19:00", "0.00")]
    assert "08:00-20:00; 08:00-19:00" in bizkit("day", "list", shoot).out


def test_the_client_reads_hours_of_overtime_and_the_meal_break(bizkit, shoot):
    """What the quote states an hour is billed by the hour, so that it can be worked out from the paper alone."""
    assert log(bizkit, shoot, "2027-05-11", "08:00", "20:00", "--meal-hours", "0.5").code == 0
    assert log(bizkit, shoot, "2027-05-12", "08:00", "20:00", "--meal-hours", "0", "--who", "Rowan Lark").code == 0
    bill = bizkit("invoice", "issue", shoot, "--charges", "--on", "2027-05-20", "--json").data
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(bill["file"]).pages).split())
    # 08:00 to 20:00 less 0.5 h are 11.5 h, 10 are the day: 1.5 h of 43.00 x 1.25, and of 30.00 x 1.25
    assert "08:00 to 20:00 with a meal break of 0.5 h, beyond what was quoted" in text
    assert re.search(r"1\.5 hours 53\.75 20% 80\.63", text), text
    assert re.search(r"1\.5 hours 37\.50 20% 56\.25", text), text
    # without a break 12 h: 2 h of it over; the rest before the day, 12 h, is more than the 11 that are due
    assert re.search(
        r"Camera \(2 h overtime\): 12 May 2027, 08:00 to 20:00, beyond.* 2 hours 53\.75 20% 107\.50", text
    )
    assert "1 day " not in text


def test_an_overrun_that_is_no_overtime_alone_is_one_sum(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    done = log(bizkit, shoot, "2027-05-12", "07:00", "19:00", "--who", "Rowan Lark").data
    (line,) = done["lines"]
    assert (line["quantity"], line["unit"], line["rate"]) == ("1", "flat", line["amount"])


def test_a_shorter_day_costs_what_was_quoted(bizkit, shoot):
    done = log(bizkit, shoot, "2027-05-11", "08:00", "15:00")
    assert (done.data["overrun"], done.data["lines"]) == ("0.00", [])
    assert bizkit("charge", "list", "--json").data["charges"] == []


def test_rest_cut_short_by_the_wrap_before_is_an_overrun(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    # 22:00 to 07:00 is 9 h where 11 are due: short by 2 h, 1.5 + 2 = 3.5 basic hours of 43.00; and 1 h more work
    done = log(bizkit, shoot, "2027-05-12", "07:00", "18:00", "--who", "Rowan Lark").data
    assert Decimal(done["overrun"]) == Decimal("3.5") * 43
    assert "rest short by 2 h" in str(done["lines"][0]["working"])


def test_an_overrun_that_is_billed_cannot_be_written_anew(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "08:00", "21:00")
    bill = bizkit("invoice", "issue", shoot, "--charges", "--on", "2027-05-20", "--json").data
    assert bill["net"] == "182.50"
    again = log(bizkit, shoot, "2027-05-11", "08:00", "20:00")
    assert again.code == 1
    assert f"day 2027-05-11 is billed already by {bill['number']}" in again.err
    # and nothing of the refused log stayed
    assert bizkit("day", "list", shoot, "--json").data["days"][0]["logged"][0]["wrap"] == "21:00"


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["2027-05-13", "--call", "08:00", "--wrap", "19:00"], 2, "DATE: wanted a known day of the job"),
        (["2027-05-11", "--call", "8am", "--wrap", "19:00"], 2, '--call: wanted a time of day such as "08:30"'),
        (["2027-05-11", "--call", "08:00", "--wrap", "25:00"], 2, "--wrap: wanted a time of day"),
        (["2027-05-11", "--call", "08:00", "--wrap", "19:00", "--who", "Rowan Larc"], 2, "Did you mean Rowan Lark?"),
        (
            ["2027-05-11", "--call", "08:00", "--wrap", "19:00", "--meal-hours", "lots"],
            2,
            "--meal-hours: wanted hours",
        ),
        (["11 May", "--call", "08:00", "--wrap", "19:00"], 2, "DATE: wanted a date as YYYY-MM-DD"),
        (["2027-05-12", "--call", "08:00", "--wrap", "19:00", "--on", "2027-05-11"], 1, "is still to come"),
    ],
)
def test_days_that_cannot_be_logged(bizkit, shoot, arguments, code, said):
    on = [] if "--on" in arguments else ["--on", "2027-05-20"]
    done = bizkit("day", "log", shoot, *arguments, *on)
    assert done.code == code, done.err
    assert said in done.err
    assert len(done.err.splitlines()) == 1
    assert all(not row["logged"] for row in bizkit("day", "list", shoot, "--json").data["days"])


# --- moves


def test_a_moved_day_takes_the_due_dates_of_deliverables_along(bizkit, shoot):
    assert (
        bizkit("deliverable", "list", shoot, "--json").data[0]["due"] == "2027-05-19"
    )  # 5 working days after the 12th
    done = bizkit("day", "move", shoot, "2027-05-12", "--to", "2027-05-17", "--on", "2027-05-12", "--json").data
    assert done["due"] == [{"deliverable": "film", "before": "2027-05-19", "after": "2027-05-24"}]
    assert done["charge"] is None  # the quote agreed no hold days
    assert bizkit("deliverable", "list", shoot, "--json").data[0]["due"] == "2027-05-24"
    assert "1 used; the quote agreed none" in bizkit("day", "list", shoot).out


def test_a_day_moves_onto_another_only_by_swapping(bizkit, shoot):
    onto = bizkit("day", "move", shoot, "2027-05-11", "--to", "2027-05-12")
    assert (onto.code, "exchange the two with --swap" in onto.err) == (1, True)
    done = bizkit("day", "move", shoot, "2027-05-11", "--to", "2027-05-12", "--swap", "--json").data
    assert (done["swapped"], done["hold"], done["holds"]["used"]) == (True, False, [])
    days = bizkit("day", "list", shoot, "--json").data["days"]
    assert [(row["number"], row["on"], row["moved"][0]["from"]) for row in days] == [
        (2, "2027-05-11", "2027-05-12"),
        (1, "2027-05-12", "2027-05-11"),
    ]


def test_what_was_worked_does_not_move(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "08:00", "19:00")
    done = bizkit("day", "move", shoot, "2027-05-11", "--to", "2027-05-18")
    assert (done.code, "was logged as worked" in done.err) == (1, True)
    for arguments, said in (
        (["2027-05-19", "--to", "2027-05-20"], "wanted a known day of the job"),
        (["2027-05-12", "--to", "2027-05-12"], "--to: wanted another date"),
        (["2027-05-12", "--to", "2027-05-20", "--why", "moon"], "--why: wanted one of weather, client, studio"),
    ):
        refused = bizkit("day", "move", shoot, *arguments)
        assert (refused.code, said in refused.err) == (2, True), refused.err


def test_a_hold_day_belongs_to_a_shoot_day(bizkit, job):
    moved = ["2027-05-14", "--to", "2027-05-15", "--on", "2027-05-13", "--json"]  # the journey home
    done = bizkit("day", "move", job, *moved)
    assert done.code == 0, done.err
    assert (done.data["hold"], done.data["charge"], done.data["holds"]["used"]) == (False, None, [])
    moved[:3] = ["2027-05-12", "--to", "2027-05-14"]
    done = bizkit("day", "move", job, *moved)
    assert (done.data["hold"], done.data["charge"]["amount"]) == (True, "1114.00")
    assert done.data["holds"]["used"] == ["2027-05-12"]


def test_a_journey_that_waited_is_said(bizkit, job):
    moved = ["2027-05-14", "--to", "2027-05-15", "--hold", "--on", "2027-05-13", "--json"]
    done = bizkit("day", "move", job, *moved)
    assert (done.data["hold"], done.data["holds"]["used"]) == (True, ["2027-05-14"])


def test_hold_days_that_the_weather_uses_are_charged_at_the_agreed_rate(bizkit, job):
    # The demo brief: hold days charged as used, at 50 % of the dearest day.
    planned = bizkit("weather", "plan", job, "--json", "--on", "2027-01-26").data
    assert planned["hold_days"] == 3
    move = bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-15", "--on", "2027-05-12", "--json").data
    assert Decimal(move["charge"]["amount"]) == Decimal(planned["hold_rate"])
    assert move["holds"] == {
        "agreed": 3, "used": ["2027-05-12"], "charge": "used", "rate": move["charge"]["amount"], "percent": "50",
    }  # fmt: skip
    assert any("last travel day on 2027-05-14 lies before the last shoot day" in one for one in move["warnings"])
    charge, dearer = bizkit("charge", "list", job, "--json").data["charges"]
    assert (charge["item"], charge["section"]) == ("Weather hold days, 2027-05-12", "weather")
    # 15 May 2027 is a Saturday: + 25 % on 672.00 + 590.00 + 280.00
    assert (dearer["kind"], dearer["amount"]) == ("moved day", "385.50")
    nobody = bizkit("day", "move", job, "2027-05-13", "--to", "2027-05-16", "--why", "client", "--json").data
    assert (nobody["hold"], nobody["charge"]) == (False, None)


def test_hold_days_in_the_price_are_charged_only_beyond_those_agreed(bizkit, studio, change):
    brief = studio / "briefs" / "follow-the-kelp.toml"
    change(brief, 'charge = "used"', 'charge = "booked"\nhold_days = 1')
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "follow-the-kelp", "--on", "2027-01-26")
    first = bizkit("day", "move", "follow-the-kelp", "2027-05-10", "--to", "2027-05-17", "--json").data
    assert first["charge"] is None
    second = bizkit("day", "move", "follow-the-kelp", "2027-05-12", "--to", "2027-05-18", "--json").data
    assert "1 beyond the 1 agreed" in second["charge"]["why"]


def test_a_job_whose_quote_was_sent_before_briefs_were_kept_says_so_and_stops_nothing_else(bizkit, shoot, studio):
    from sqlalchemy import create_engine, text

    raw = create_engine(f"sqlite:///{studio / 'book.sqlite'}")
    with raw.begin() as connection:
        connection.execute(text("DROP TRIGGER basis_kept_delete"))
        connection.execute(text("DELETE FROM basis"))
    raw.dispose()
    for command in (
        ["day", "list", shoot],
        ["day", "move", shoot, "2027-05-12", "--to", "2027-05-17"],
        ["job", "actual", shoot],
        ["quote", "cancel", shoot, "--on", "2027-05-01"],
    ):
        done = bizkit(*command)
        assert (done.code, "was sent before briefs were kept with quotes" in done.err) == (1, True), done.err
    for command in (
        ["kit", "clashes"],
        ["kit", "payback"],
        ["job", "show", shoot],
        ["quote", "show", shoot],
        ["status"],
    ):
        assert bizkit(*command, "--on", "2027-05-01").code == 0
    assert bizkit("cost", "add", shoot, "--kind", "kit", "--amount", "10").code == 0


@pytest.mark.parametrize("first", ["2027-05-11", "2027-05-12"])
def test_the_rest_before_a_day_is_the_same_in_whatever_order_days_are_logged(bizkit, shoot, first):
    """22:00 to 07:00 is 9 h where 11 are due: 3.5 basic hours of 43.00 and of 30.00."""
    days = {"2027-05-11": ("11:00", "22:00"), "2027-05-12": ("07:00", "18:00")}
    for date in sorted(days, reverse=first != "2027-05-11"):
        done = log(bizkit, shoot, date, *days[date])
        assert done.code == 0, done.err
    rested = Decimal("3.5") * (43 + 30)
    assert bizkit("charge", "list", "--json").data["open"] == [{"currency": "GBP", "net": f"{rested:.2f}"}]


def test_a_wrap_put_right_puts_the_rest_after_it_right(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    log(bizkit, shoot, "2027-05-12", "07:00", "18:00")
    done = log(bizkit, shoot, "2027-05-11", "08:00", "19:00").data
    assert done["following"] == [
        {"on": "2027-05-12", "before": "255.50", "overrun": "0.00", "to_invoice": "0.00"},
    ]
    assert bizkit("charge", "list", "--json").data["open"] == []
    assert (
        "2027-05-12 follows: GBP 255.50 over the plan by now, 0.00 before"
        in bizkit("day", "log", shoot, "2027-05-11", "--call", "11:00", "--wrap", "22:00", "--on", "2027-05-20").out
    )


def test_a_rest_that_was_billed_is_given_back_and_one_waived_stays_waived(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    log(bizkit, shoot, "2027-05-12", "07:00", "18:00")
    assert bizkit("invoice", "issue", shoot, "--charges", "--on", "2027-05-20").code == 0
    log(bizkit, shoot, "2027-05-11", "08:00", "19:00")
    assert bizkit("charge", "list", "--json").data["open"] == [{"currency": "GBP", "net": "-255.50"}]
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    assert bizkit("charge", "list", "--json").data["open"] == []


def test_a_line_says_only_what_was_beyond_the_plan(bizkit, shoot):
    log(bizkit, shoot, "2027-05-11", "11:00", "22:00")
    done = log(bizkit, shoot, "2027-05-12", "07:00", "18:00", "--who", "Rowan Lark").data
    assert done["lines"][0]["item"].startswith("Rowan Lark: Camera (short rest): ")


def test_a_wrap_at_the_time_of_the_call_is_no_day(bizkit, job):
    done = bizkit("day", "log", job, "2027-05-10", "--call", "07:30", "--wrap", "07:30", "--on", "2027-05-10")
    assert (done.code, "--wrap: wanted another time than the call" in done.err) == (2, True)
