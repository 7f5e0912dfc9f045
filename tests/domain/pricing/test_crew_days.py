"""Crew days: what one person is paid for a day in one role or several.

Sources of the literal values
* overtime: Recommended Terms for Engaging Crew on the Production of Commercials (1 Sep 2014), example table and
  cl. 2.1.1 (read): day rate 430, 10 hours, coefficient 1.25
* rest: union guide to TV drama terms 2017, "time off the clock" (read)
* travel days: wildlife film-makers' association rates page, Sep 2016 (read)
Everything else is common practice or the card's own terms.
"""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money
from bizkit.domain.pricing.crew_days import crew_lines, overrun

ROLES = """
[crew.camera]
title = "Camera"
day_rate = 430
[crew.director]
title = "Director"
day_rate = 500
[crew.editor]
title = "Editor"
day_rate = 360
"""
OVERTIME_125 = "[[overtime]]\nfrom = 0\nfactor = 1.25\n"
REST = """
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


def no_holiday(day: date) -> bool:
    return False


@pytest.fixture
def lines(card, brief):
    """The crew lines of a brief's days against a card: lines(card tables, day tables)."""

    def priced(card_text, days_text, holiday=no_holiday):
        rates = card(card_text)
        return crew_lines(rates.crew, brief(days_text).days, rates.words, holiday=holiday, where="brief.toml")

    return priced


def day(more: str = "", roles: str = '["camera"]', kind: str = "dry", person: str = 'person = "Rowan Lark", ') -> str:
    return f'[[days]]\nkind = "{kind}"\ncrew = [{{ {person}roles = {roles} }}]\n{more}\n'


def amounts(priced):
    return [(line.quantity, line.amount.text) for line in priced]


# --- the published overtime example


@pytest.mark.parametrize(
    ("hours", "expected"),
    [("10", "430.00"), ("11", "483.75"), ("12", "537.50"), ("13", "591.25")],
)
def test_an_overtime_hour_at_1_25_of_a_430_day_is_53_75(lines, hours, expected):
    (line,) = lines(ROLES + OVERTIME_125, day(f"hours = {hours}"))
    assert line.amount == Money(expected, "GBP")


def test_call_0800_wrap_2100_with_an_hour_of_lunch_is_two_hours_of_overtime(lines):
    (line,) = lines(ROLES + OVERTIME_125, day('call = "08:00"\nwrap = "21:00"'))
    assert line.amount == Money("537.50", "GBP")
    assert "2 h at 1.25 x GBP 43.00" in line.why
    assert line.item == "Rowan Lark: Camera (2 h overtime)"


def test_the_basic_hour_is_43_and_plain_multiples_of_it_are_86_and_129(lines):
    once = "[[overtime]]\nfrom = 0\nfactor = 1\n"
    for hours, extra in (("11", "43"), ("12", "86"), ("13", "129")):
        (line,) = lines(ROLES + once, day(f"hours = {hours}"))
        assert line.amount.amount - 430 == Decimal(extra)


def test_overtime_at_1t_for_four_hours_then_2t_is_on_labour_only(card, brief):
    # Common practice: labour 250, kit 200, 15 h worked -> 600 in all, with the kit untouched.
    from bizkit.domain.pricing.estimate import price

    rates = card(
        '[crew.camera]\ntitle = "Camera"\nday_rate = 250\n[kit.camera]\ntitle = "Camera"\nday_rate = 200\n'
        "[[overtime]]\nfrom = 0\nuntil = 4\nfactor = 1\n[[overtime]]\nfrom = 4\nfactor = 2\n"
    )
    estimate = price(rates, brief(day('hours = 15\nkit = ["camera"]')))
    assert estimate.net == Money("600.00", "GBP")
    assert estimate.section_totals() == {"crew": Money("400.00", "GBP"), "kit": Money("200.00", "GBP")}


@pytest.mark.parametrize(
    ("step", "hours", "expected"),
    # 430 + started steps x 43 x 1.25
    [(15, "10.10", "443.44"), (30, "10.10", "456.88"), (60, "10.10", "483.75"), (60, "10", "430.00")],
)
def test_overtime_counts_in_started_steps(lines, step, hours, expected):
    (line,) = lines(ROLES + OVERTIME_125 + f"[day]\novertime_step_minutes = {step}\n", day(f"hours = {hours}"))
    assert line.amount == Money(expected, "GBP")


def test_a_day_without_an_overtime_ladder_pays_the_day_rate_however_long(lines):
    (line,) = lines(ROLES, day("hours = 16"))
    assert line.amount == Money("430.00", "GBP")


# --- rest


@pytest.mark.parametrize(
    ("next_call", "basic_hours"),
    # wrap 22:00, 11 h due: call 07:00 is short by 2 h = 3.5 basic hours; 06:30 is short by 2.5 h = 5 basic hours
    [("09:00", "0"), ("08:00", "1.5"), ("07:00", "3.5"), ("06:30", "5")],
)
def test_short_rest_is_paid_by_the_hour(lines, next_call, basic_hours):
    days = day('date = 2027-05-10\ncall = "12:00"\nwrap = "22:00"') + day(
        f'date = 2027-05-11\ncall = "{next_call}"\nwrap = "15:00"'
    )
    priced = lines(ROLES + REST, days)
    assert sum(line.amount.amount for line in priced) == 860 + Decimal(basic_hours) * 43


def test_rest_is_kept_for_each_person_apart(lines):
    days = day('date = 2027-05-10\ncall = "12:00"\nwrap = "22:00"') + day(
        'date = 2027-05-11\ncall = "06:30"\nwrap = "15:00"', person='person = "Ailsa Gannet", '
    )
    assert amounts(lines(ROLES + REST, days)) == [(1, "430.00"), (1, "430.00")]


def test_two_halves_of_one_date_are_one_stretch_of_work(lines):
    days = day('date = 2027-05-10\nhalf_day = true\ncall = "08:00"\nwrap = "12:00"') + day(
        'date = 2027-05-10\nhalf_day = true\ncall = "13:00"\nwrap = "17:00"'
    )
    assert amounts(lines(ROLES + REST, days)) == [(2, "516.00")]


def test_like_days_in_a_row_break_the_rest_from_the_second_on(lines):
    # 14 h on set leave 10 h: short by 1 h = 1.5 basic hours on two of the three days
    days = day('date = 2027-05-10\ncount = 3\ncall = "08:00"\nwrap = "22:00"')
    assert amounts(lines(ROLES + REST, days)) == [(1, "430.00"), (2, "989.00")]


# --- several roles in one person


def test_several_roles_pay_the_highest_rate_and_a_share_of_it_for_each_other(lines):
    several = "[several_roles]\nextra_role_percent = 20\n"
    (line,) = lines(ROLES + several, day(roles='["editor", "director", "camera"]'))
    assert line.amount == Money("700.00", "GBP")  # 500 + 2 x 20 % of 500, never 500 + 430 + 360
    assert line.item == "Rowan Lark: Editor, Director and Camera"
    assert "Director GBP 500.00, the highest rate, + 2 x 20 % of it for Editor and Camera" in line.why


def test_a_fixed_rate_for_exactly_these_roles_comes_first(lines):
    fixed = (
        "[several_roles]\nextra_role_percent = 20\n"
        '[[several_roles.fixed]]\nroles = ["camera", "director"]\nday_rate = 610\n'
    )
    assert amounts(lines(ROLES + fixed, day(roles='["director", "camera"]'))) == [(1, "610.00")]
    assert amounts(lines(ROLES + fixed, day(roles='["director", "editor"]'))) == [(1, "600.00")]


def test_one_person_is_never_paid_two_whole_days_on_one_date(lines):
    days = day("date = 2027-05-10") + day("date = 2027-05-10", roles='["director"]')
    with pytest.raises(BadInput, match=r"brief.toml: days\[2\].crew\[1\]: wanted one whole day a person and date"):
        lines(ROLES, days)


def test_one_person_stands_once_in_a_day(brief):
    with pytest.raises(BadInput, match=r"days\[1\].crew\[2\].person: wanted each person once a day, got Rowan Lark"):
        brief(
            '[[days]]\nkind = "dry"\ncrew = [{ person = "Rowan Lark", roles = ["camera"] }, '
            '{ person = "Rowan Lark", roles = ["director"] }]\n'
        )


def test_an_unknown_role_suggests_the_nearest(lines):
    with pytest.raises(NotFound, match=r"brief.toml: days\[1\].crew\[1\].roles: .* got camra. Did you mean camera\?"):
        lines(ROLES, day(roles='["camra"]'))


def test_like_days_are_multiplied_before_they_are_divided(lines):
    # 100.01 for 7 h by 3 x 3.5 h = 150.015, which rounds up; three times 50.005 cut short would not.
    odd = '[crew.camera]\ntitle = "Camera"\nday_rate = 100.01\nhours = 7\nminimum_hours = 1\n'
    assert amounts(lines(odd, day("by_hour = true\nhours = 3.5\ncount = 3"))) == [(3, "150.02")]


# --- grouping


def test_equal_days_are_one_line(lines):
    days = day("date = 2027-05-10\ncount = 2", kind="water") + day("date = 2027-05-12")
    (line,) = lines(ROLES, days)
    assert (line.quantity, line.unit, line.rate, line.amount) == (
        3, "day", Money("430", "GBP"), Money("1290.00", "GBP"),
    )  # fmt: skip
    assert line.why.startswith("2 water days and 1 dry day x GBP 430.00")


def test_a_day_with_overtime_is_its_own_line(lines):
    days = day("count = 2", kind="water") + day("hours = 12", kind="water")
    assert amounts(lines(ROLES + OVERTIME_125, days)) == [(2, "860.00"), (1, "537.50")]


def test_unnamed_people_are_counted(lines):
    (line,) = lines(ROLES, day("count = 3", person="people = 2, "))
    assert (line.item, line.quantity, line.amount.text) == ("Camera", 6, "2580.00")


def test_hold_days_stand_under_weather(lines):
    (line,) = lines(ROLES, day(kind="hold"))
    assert (line.section, line.amount.text) == ("weather", "215.00")


# --- kinds of day


def test_a_full_travel_day_abroad_is_a_full_day_and_a_few_hours_at_home_are_half(lines):
    # Source: wildlife film-makers' association rates page (Sep 2016).
    assert amounts(lines(ROLES, day("hours = 10\nabroad = true", kind="travel"))) == [(1, "430.00")]
    assert amounts(lines(ROLES, day("hours = 3\nabroad = true", kind="travel"))) == [(1, "430.00")]
    assert amounts(lines(ROLES, day("hours = 3", kind="travel"))) == [(1, "215.00")]
    assert amounts(lines(ROLES, day("hours = 5.5", kind="travel"))) == [(1, "430.00")]


@pytest.mark.parametrize(
    ("kind", "expected"), [("prep", "344.00"), ("recce", "387.00"), ("wrap", "215.00"), ("travel", "322.50")]
)
def test_kinds_of_day_pay_the_share_on_the_card(lines, kind, expected):
    share = "[day.percent]\nprep = 80\nrecce = 90\nwrap = 50\ntravel = 75\n"
    assert amounts(lines(ROLES + share, day(kind=kind))) == [(1, expected)]


def test_a_role_may_have_its_own_share_and_hours(lines):
    own = (
        '[crew.camera]\ntitle = "Camera"\nday_rate = 440\nhours = 11\npercent = { prep = 50 }\n'
        + OVERTIME_125
        + "[day]\nhours = 10\n"
    )
    assert amounts(lines(own, day(kind="prep"))) == [(1, "220.00")]
    assert amounts(lines(own, day("hours = 12"))) == [(1, "490.00")]  # 440 + 1 h x 1.25 x 40


def test_a_half_day_that_runs_long_is_a_whole_day(lines):
    half = "[day]\nhalf_day_hours = 5\n[day.percent]\nhalf_day = 60\n"
    assert amounts(lines(ROLES + half, day("half_day = true"))) == [(1, "258.00")]
    assert amounts(lines(ROLES + half, day("half_day = true\nhours = 5"))) == [(1, "258.00")]
    assert amounts(lines(ROLES + half, day("half_day = true\nhours = 5.25"))) == [(1, "430.00")]


def test_a_half_day_has_its_meal_off_once_it_runs_past_its_hours(lines):
    half = OVERTIME_125 + "[day]\nhalf_day_hours = 5\nmeal_hours = 1\n[day.percent]\nhalf_day = 60\n"
    for wrap, expected in (("13:00", "258.00"), ("14:00", "258.00"), ("14:15", "430.00"), ("21:00", "537.50")):
        assert amounts(lines(ROLES + half, day(f'half_day = true\ncall = "08:00"\nwrap = "{wrap}"'))) == [
            (1, expected)
        ]


def test_a_call_by_the_hour_pays_the_minimum_call_at_least_and_a_day_at_most(lines):
    minimum = "[day]\nminimum_hours = 4\n"
    assert amounts(lines(ROLES + minimum, day("by_hour = true\nhours = 2"))) == [(1, "172.00")]
    assert amounts(lines(ROLES + minimum, day("by_hour = true\nhours = 6.5"))) == [(1, "279.50")]
    assert amounts(lines(ROLES + minimum + OVERTIME_125, day("by_hour = true\nhours = 11"))) == [(1, "483.75")]


def test_a_continuous_day_has_no_meal_and_ends_early(lines):
    continuous = OVERTIME_125 + "[day]\ncontinuous_hours = 9\n"
    days = day('continuous = true\ncall = "08:00"\nwrap = "18:00"')
    assert amounts(lines(ROLES + continuous, days)) == [(1, "483.75")]  # 10 h worked, 9 bought, 1 h at 53.75


def test_a_late_call_buys_fewer_hours(lines):
    late = OVERTIME_125 + '[late_call]\nfrom = "13:00"\nhours = 8\n'
    assert amounts(lines(ROLES + late, day('call = "13:00"\nwrap = "23:00"'))) == [(1, "483.75")]
    assert amounts(lines(ROLES + late, day('call = "12:59"\nwrap = "22:59"'))) == [(1, "430.00")]


@pytest.mark.parametrize(
    ("call", "wrap", "night_hours"),
    [("14:00", "23:30", "1.5"), ("20:00", "02:00", "4"), ("04:00", "12:00", "2"), ("21:00", "07:00", "8"),
     ("08:00", "18:00", "0")],
)  # fmt: skip
def test_night_hours_pay_more_of_the_basic_hour(lines, call, wrap, night_hours):
    night = '[night]\nfrom = "22:00"\nuntil = "06:00"\npercent = 50\n'
    (line,) = lines(ROLES + night, day(f'call = "{call}"\nwrap = "{wrap}"'))
    assert line.amount.amount - 430 == Decimal(night_hours) * 43 / 2


def test_the_dearest_uplift_of_a_date_counts_once(lines):
    uplift = "[uplift]\nsaturday_percent = 25\nsunday_percent = 50\nholiday_percent = 100\n"
    sunday_holiday = lambda on: on == date(2027, 5, 16)  # noqa: E731
    for on, expected in (("2027-05-14", "430.00"), ("2027-05-15", "537.50"), ("2027-05-16", "860.00"),
                         ("2027-05-23", "645.00")):  # fmt: skip
        assert amounts(lines(ROLES + uplift, day(f"date = {on}"), sunday_holiday)) == [(1, expected)]


def test_a_day_without_a_date_has_no_weekend_uplift(lines):
    uplift = "[uplift]\nsaturday_percent = 25\nsunday_percent = 50\n"
    assert amounts(lines(ROLES + uplift, day("count = 7"))) == [(7, "3010.00")]


# --- what really happened


@pytest.fixture
def ran_over(card, brief):
    def over(card_text, day_text, call, wrap, **more):
        rates = card(card_text)
        (planned,) = brief(day_text).days
        return overrun(rates.crew, planned, call=call, wrap=wrap, words=rates.words, holiday=no_holiday, **more)

    return over


def test_an_overrun_is_what_the_real_times_pay_over_the_plan(ran_over):
    planned = day('date = 2027-05-10\ncall = "08:00"\nwrap = "20:00"')  # 1 h of overtime was planned
    (line,) = ran_over(ROLES + OVERTIME_125, planned, time(8), time(22))
    assert line.amount == Money("107.50", "GBP")  # 3 h instead of 1 h at 53.75
    assert "08:00 to 22:00 pays GBP 591.25, planned were GBP 483.75 = GBP 107.50 more" in line.why


def test_a_day_that_ran_short_gives_nothing_back(ran_over):
    planned = day('date = 2027-05-10\ncall = "08:00"\nwrap = "20:00"')
    assert ran_over(ROLES + OVERTIME_125, planned, time(8), time(17)) == []


def test_an_overrun_knows_the_wrap_before(ran_over):
    planned = day('date = 2027-05-11\ncall = "09:00"\nwrap = "19:00"')
    (line,) = ran_over(ROLES + REST, planned, time(7), time(17), wrapped_before=(date(2027, 5, 10), time(22)))
    assert line.amount == Money("150.50", "GBP")  # 3.5 basic hours
    with pytest.raises(BadInput, match="wanted a last wrap before the call at 07:00 on 2027-05-11"):
        ran_over(ROLES + REST, planned, time(7), time(17), wrapped_before=(date(2027, 5, 11), time(8)))
