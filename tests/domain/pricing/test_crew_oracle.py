"""A day's pay against a second way to work it out: minute by minute, in exact fractions."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.inputs.reading import read_input
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.crew_days import crew_lines
from bizkit.domain.pricing.shoot_day import ShootDay
from bizkit.domain.pricing.words import ENGLISH


def clock(minute: int) -> str:
    return f"{minute // 60 % 24:02}:{minute % 60:02}"


@settings(max_examples=300, deadline=None)
@given(
    rate=st.decimals(1, 2000, places=2),
    hours=st.integers(4, 12),
    call=st.integers(0, 1439),
    span=st.integers(1, 1440),
    step=st.sampled_from([1, 5, 15, 30, 60]),
    ends=st.lists(st.integers(1, 10), min_size=0, max_size=3, unique=True).map(sorted),
    factors=st.lists(st.integers(0, 16), min_size=4, max_size=4).map(sorted),
    night=st.tuples(st.integers(0, 1439), st.integers(0, 1439)).filter(lambda pair: pair[0] != pair[1]),
    night_percent=st.integers(0, 150),
    percent=st.integers(0, 150),
    count=st.integers(1, 9),
)
def test_pay_is_the_sum_of_its_minutes(
    rate, hours, call, span, step, ends, factors, night, night_percent, percent, count
):
    starts = [0, *ends]
    bands = [
        {"from": low, "factor": Decimal(factor) / 4} | ({"until": high} if high else {})
        for low, high, factor in zip(starts, [*ends, 0], factors, strict=False)
    ]
    card = {
        "crew": {"camera": {"title": "Camera", "day_rate": rate}},
        "day": {"hours": hours, "half_day_hours": 1, "minimum_hours": 1, "meal_hours": 0, "continuous_hours": 1,
                "overtime_step_minutes": step, "percent": {"water": percent}},
        "overtime": bands,
        "night": {"from": clock(night[0]), "until": clock(night[1]), "percent": night_percent},
    }  # fmt: skip
    day = {
        "kind": "water",
        "count": count,
        "call": clock(call),
        "wrap": clock(call + span),
        "crew": [{"roles": ["camera"]}],
    }
    head = {"name": "Test", "currency": "GBP", "valid_from": date(2026, 1, 1)}
    terms = RateCard.read(head | card, where="card").crew
    (line,) = crew_lines(
        terms, [read_input(ShootDay, day, where="brief")], ENGLISH, holiday=lambda on: on == date.min
    )

    minute = Fraction(rate) / (hours * 60)
    exact = Fraction(rate) * percent / 100
    over = max(0, span - hours * 60)
    over += -over % step
    for each in range(over):
        band = max(index for index, low in enumerate(starts) if low * 60 <= each)
        exact += minute * Fraction(factors[band], 4)
    for each in range(call, call + span):
        of_day = each % 1440
        inside = night[0] <= of_day < night[1] if night[0] < night[1] else of_day >= night[0] or of_day < night[1]
        exact += minute * Fraction(night_percent, 100) if inside else 0
    pence = (exact * count * 200 + 1) // 2  # half away from zero, all being positive
    assert line.amount.minor == pence
