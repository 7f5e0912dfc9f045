"""Cancellation and postponement by a scale of notice."""

from __future__ import annotations

import json
import tomllib
from datetime import date, timedelta
from decimal import Decimal

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.pricing.cancellation import CancellationScale

# One published scale, a lighting firm's policy (read): notice counts from the day of notice, the shoot day excluded.
PUBLISHED = """
counting = "working"
steps = [{notice_days = 5, percent = 0}, {notice_days = 4, percent = 50},
         {notice_days = 2, percent = 75}, {notice_days = 0, percent = 100}]
"""

POSTPONING = PUBLISHED + "postponement_steps = [{notice_days = 5, percent = 0}, {notice_days = 0, percent = 25}]\n"

FRIDAY = date(2027, 5, 14)


def read(toml: str = PUBLISHED) -> CancellationScale:
    tree = tomllib.loads(toml, parse_float=Decimal)
    return read_input(CancellationScale, tree, where="card.toml", path="cancellation")


def gbp(amount: str) -> Money:
    return Money(amount, "GBP")


@pytest.mark.parametrize("counting", ["working", "calendar"])
@pytest.mark.parametrize(
    ("notice", "percent"),
    [
        (date(2027, 5, 7), 0),  # previous Friday
        (date(2027, 5, 10), 50),  # Monday
        (date(2027, 5, 11), 75),  # Tuesday
        (date(2027, 5, 12), 75),  # Wednesday
        (date(2027, 5, 13), 100),  # Thursday
    ],
)
def test_a_friday_shoot_costs_what_the_published_scale_says(notice: date, percent: int, counting: str) -> None:
    scale = read(PUBLISHED.replace('"working"', f'"{counting}"'))
    assert FRIDAY.isoweekday() == 5
    fee = scale.fee("cancel", [(FRIDAY, gbp("1000"))], notice_on=notice)
    assert fee.amount == gbp(f"{percent * 10}.00")


def test_notice_on_the_shoot_day_itself_is_no_notice() -> None:
    assert read().notice_days(FRIDAY, FRIDAY) == 0
    assert read().fee("cancel", [(FRIDAY, gbp("1000"))], notice_on=FRIDAY).amount == gbp("1000.00")


def test_notice_at_the_weekend_counts_from_monday_in_working_days() -> None:
    saturday, sunday, monday = date(2027, 5, 8), date(2027, 5, 9), date(2027, 5, 10)
    assert [read().notice_days(day, FRIDAY) for day in (saturday, sunday, monday)] == [4, 4, 4]


def test_a_public_holiday_is_no_working_day() -> None:
    holiday = date(2027, 5, 12)
    assert read().notice_days(date(2027, 5, 10), FRIDAY, lambda day: day.weekday() >= 5 or day == holiday) == 3


def test_the_day_of_notice_may_be_left_out() -> None:
    scale = read(PUBLISHED + "counts_notice_day = false")
    assert scale.notice_days(date(2027, 5, 7), FRIDAY) == 4


@given(st.dates(date(2026, 1, 1), date(2028, 1, 1)), st.integers(0, 60))
def test_working_days_are_counted_as_numpy_counts_them(notice: date, ahead: int) -> None:
    # numpy.busday_count: first day included, last excluded; the same rule as the scale's.
    shoot = notice + timedelta(days=ahead)
    assert read().notice_days(notice, shoot) == numpy.busday_count(notice, shoot)


@given(st.dates(date(2026, 1, 1), date(2028, 1, 1)), st.integers(0, 30), st.sampled_from(["working", "calendar"]))
def test_later_notice_never_costs_less(notice: date, ahead: int, counting: str) -> None:
    scale = read(PUBLISHED.replace('"working"', f'"{counting}"'))
    shoot = [(notice + timedelta(days=ahead + 1), gbp("999.99"))]
    earlier = scale.fee("cancel", shoot, notice_on=notice)
    later = scale.fee("cancel", shoot, notice_on=notice + timedelta(days=1))
    assert earlier.amount <= later.amount


def test_postponing_has_its_own_scale() -> None:
    scale = read(POSTPONING)
    monday = date(2027, 5, 10)
    assert scale.fee("postpone", [(FRIDAY, gbp("1000"))], notice_on=monday).amount == gbp("250.00")
    assert scale.fee("cancel", [(FRIDAY, gbp("1000"))], notice_on=monday).amount == gbp("500.00")
    assert read().fee("postpone", [(FRIDAY, gbp("1000"))], notice_on=monday).amount == gbp("500.00")


def test_notice_counts_to_the_first_day_or_to_each() -> None:
    # Thursday and Friday, notice on Monday: 3 and 4 working days, so 75 % and 50 %; to the first day: 75 % of both.
    days = [(FRIDAY, gbp("1000")), (date(2027, 5, 13), gbp("800"))]
    monday = date(2027, 5, 10)
    assert read().fee("cancel", days, notice_on=monday).amount == gbp("1350.00")
    assert read(PUBLISHED + 'counts_to = "each_day"').fee("cancel", days, notice_on=monday).amount == gbp("1100.00")


def test_what_is_already_spent_is_charged_in_full_with_its_working() -> None:
    fee = read().fee(
        "cancel",
        [(FRIDAY, gbp("999.99"))],
        notice_on=date(2027, 5, 11),
        spent=[("ferry tickets", gbp("182.40")), ("guest house", gbp("0"))],
    )
    # 75 % of 999.99 = 749.9925, half away from zero 749.99; with 182.40: 932.39.
    assert fee.amount == gbp("932.39")
    assert [(line.item, line.quantity, line.amount.text) for line in fee.lines] == [
        ("Cancelled shoot day 2027-05-14", Decimal("0.75"), "749.99"),
        ("Already spent: ferry tickets", Decimal(1), "182.40"),
    ]
    assert fee.working.text == "Cancelling 1 shoot day by notice on 2027-05-11 = GBP 932.39"
    assert fee.working.parts[0].text == "2027-05-14: 3 working days of notice = 75% of GBP 999.99"
    assert json.loads(json.dumps(fee.data()))["amount"] == "932.39"


def test_shoot_days_in_the_past_are_refused() -> None:
    with pytest.raises(RuleBroken) as error:
        read().fee("cancel", [(FRIDAY, gbp("1")), (date(2027, 5, 10), gbp("1"))], notice_on=date(2027, 5, 11))
    assert str(error.value) == (
        "shoot days before the notice of 2027-05-11 cannot be cancelled or postponed: 2027-05-10. "
        "Bill them as worked, or correct the date of notice"
    )


def test_two_currencies_and_costs_below_zero_are_refused() -> None:
    with pytest.raises(RuleBroken, match="do not mix"):
        read().fee("cancel", [(FRIDAY, gbp("1"))], notice_on=FRIDAY, spent=[("ferry", Money("1", "EUR"))])
    with pytest.raises(RuleBroken, match=r"zero or more, not GBP -1\.00 for ferry"):
        read().fee("cancel", [(FRIDAY, gbp("1"))], notice_on=FRIDAY, spent=[("ferry", gbp("-1"))])


def test_nothing_to_cancel_and_unknown_kinds_are_refused() -> None:
    with pytest.raises(BadInput, match="shoot_days: wanted one shoot day or more, got none"):
        read().fee("cancel", [], notice_on=FRIDAY)
    with pytest.raises(BadInput, match="kind: wanted one of cancel, postpone, got delay"):
        read().fee("delay", [(FRIDAY, gbp("1"))], notice_on=FRIDAY)


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        (
            "steps = [{notice_days = 5, percent = 0}]",
            "card.toml: cancellation.steps: wanted a step for no notice at all (notice_days = 0), got 5",
        ),
        ("", "card.toml: cancellation.steps: wanted a step for no notice at all (notice_days = 0), got no steps"),
        (
            "steps = [{notice_days = 0, percent = 100}, {notice_days = 0, percent = 90}]",
            "card.toml: cancellation.steps[2].notice_days: wanted each notice once, got 0 again",
        ),
        (
            "steps = [{notice_days = 0, percent = 40}, {notice_days = 5, percent = 50}]",
            "card.toml: cancellation.steps: wanted 50% or more at 0 days, as at 5 days; shorter notice never costs "
            "less, got 40%",
        ),
        (
            "steps = [{notice_days = 0, percent = 101}]",
            "card.toml: cancellation.steps[1].percent: wanted a number 0..100, got 101",
        ),
        (
            "steps = [{notice_days = 0, percent = -1}]",
            "card.toml: cancellation.steps[1].percent: wanted a number 0..100, got -1",
        ),
        (
            "steps = [{notice_days = -2, percent = 1}]",
            "card.toml: cancellation.steps[1].notice_days: wanted a whole number 0..3650, got -2",
        ),
        (
            "counting = 'weekdays'\nsteps = [{notice_days = 0, percent = 1}]",
            "card.toml: cancellation.counting: wanted one of calendar, working, got weekdays. "
            "Known: calendar, working",
        ),
    ],
)
def test_a_scale_that_cannot_be_right_is_refused_in_one_line(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read(toml)
    assert str(error.value) == line
