"""Over thousands of generated cards and briefs: the lines add up, each is rounded once, none is a surprise."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.money import minor_digits
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.compare import compare
from bizkit.domain.pricing.day_prices import QuotedLine, day_prices
from bizkit.domain.pricing.estimate import Estimate, price
from bizkit.domain.pricing.line import SECTIONS

CURRENCIES = ("GBP", "EUR", "JPY", "TND")
ROLES = ("director", "camera", "sound", "drone_pilot")
ITEMS = ("body", "lens", "housing", "crane")


def amount(chance: random.Random, most: int = 2000, digits: int = 2) -> Decimal:
    return Decimal(chance.randint(0, most * 10**digits)).scaleb(-digits)


def ladder(chance: random.Random) -> list[dict[str, Any]]:
    ends = sorted(chance.sample(range(1, 8), chance.randint(0, 2)))
    factors = sorted(Decimal(chance.randint(0, 300)) / 100 for _ in range(len(ends) + 1))
    starts = [0, *ends]
    return [
        {"from": low, "factor": factor} | ({"until": ends[index]} if index < len(ends) else {})
        for index, (low, factor) in enumerate(zip(starts, factors, strict=True))
    ]


def card_tree(chance: random.Random, currency: str) -> dict[str, Any]:
    tree: dict[str, Any] = {"name": "Card", "currency": currency, "valid_from": date(2026, 1, 1)}
    tree["crew"] = {role: {"title": role, "day_rate": amount(chance)} for role in ROLES}
    tree["crew"]["sound"]["hours"] = chance.choice([7, 8, 11])
    tree["day"] = {"hours": chance.choice([6, 7, 9, 10, 11]), "overtime_step_minutes": chance.choice([1, 15, 30, 60])}
    tree["day"]["percent"] = {"prep": amount(chance, 120), "travel": amount(chance, 100)}
    tree["overtime"] = ladder(chance)
    tree["rest"] = {"due_hours": 11, "penalty": ladder(chance)}
    tree["uplift"] = {"saturday_percent": amount(chance, 50), "sunday_percent": amount(chance, 99, 1)}
    tree["night"] = {"from": "22:00", "until": "06:00", "percent": amount(chance, 99)}
    tree["several_roles"] = {"extra_role_percent": amount(chance, 50, 1)}
    tree["kit"] = {item: {"title": item, "day_rate": amount(chance, 300), "owned": 2} for item in ITEMS[:3]}
    tree["kit"]["housing"]["in_water"] = True
    tree["kit"]["crane"] = {"title": "crane", "cost_per_day": amount(chance), "margin_percent": amount(chance, 40, 1)}
    tree["kit"]["zoom"] = {
        "title": "zoom", "value": amount(chance, 20000), "percent_of_value": {"1": 3, "2": 5, "3": Decimal("5.5")},
    }  # fmt: skip
    tree["bundles"] = {"set": {"title": "set", "items": ["body", "lens"], "less_percent": amount(chance, 30, 1)}}
    tree["hire"] = {"week_days": chance.choice([3, 4, 5]), "insurance_percent_of_hire": amount(chance, 10, 1)}
    tree["post"] = {"edit": {"title": "Edit", "day_rate": amount(chance), "hours": chance.choice([7, 8, 9])}}
    tree["costs"] = {"boat": {"title": "Boat", "unit": "day", "markup_percent": amount(chance, 25, 1)}}
    tree["fees"] = {"minimum": amount(chance, 5000), "contingency_percent": amount(chance, 10, 1)}
    tree["discount"] = {"by_days": [{"days": 3, "percent": amount(chance, 10, 1), "reason": "three days"}]}
    return tree


def day_tree(chance: random.Random, on: date | None) -> dict[str, Any]:
    day: dict[str, Any] = {"kind": chance.choice(["water", "dry", "travel", "prep", "hold"])}
    day["count"] = chance.randint(1, 9)
    if on:
        day["date"] = on
    hours = chance.choice(["none", "hours", "clock"])
    if hours == "hours":
        day["hours"] = Decimal(chance.randint(0, 96)) / 4
    elif hours == "clock":
        day["call"] = f"{chance.randint(0, 23):02}:{chance.choice(['00', '07', '30'])}"
        day["wrap"] = f"{chance.randint(0, 23):02}:{chance.choice(['00', '10', '45'])}"
    if chance.random() < 0.2:
        day["half_day"] = True
    crew = []
    for person in chance.sample(["Ailsa", "Rowan", "Isla"], chance.randint(0, 3)):
        crew.append({"person": person, "roles": chance.sample(ROLES, chance.randint(1, 3))})
    if chance.random() < 0.4:
        crew.append({"roles": [chance.choice(ROLES)], "people": chance.randint(1, 3)})
    day["crew"] = crew
    names = [*ITEMS, "zoom", "set"]
    day["kit"] = {name: chance.randint(1, 2) for name in chance.sample(names, chance.randint(0, 4))}
    return day


def brief_tree(chance: random.Random, currency: str, card_currency: str) -> dict[str, Any]:
    tree: dict[str, Any] = {"key": "generated", "client": "client", "title": "Generated", "currency": currency}
    if currency != card_currency:
        tree["exchange"] = {"rate": amount(chance, 3, 4) + 1, "on": date(2027, 1, 4), "source": "typed"}
    days, on = [], date(2027, 5, 10)
    for _ in range(chance.randint(0, 4)):
        day = day_tree(chance, on if chance.random() < 0.7 else None)
        days.append(day)
        on += timedelta(days=day["count"] + chance.randint(0, 3))
    tree["days"] = days
    tree["post"] = [
        {"work": "edit", chance.choice(["days", "hours"]): amount(chance, 9)} for _ in range(chance.randint(0, 2))
    ]
    tree["costs"] = [
        {"kind": "boat", "quantity": amount(chance, 5, 1), "cost": amount(chance), "at_cost": chance.random() < 0.3}
        for _ in range(chance.randint(0, 2))
    ]
    if chance.random() < 0.5:
        tree["rush"] = True
    if chance.random() < 0.5:
        tree["discount"] = {"percent": amount(chance, 15), "reason": "generated"}
    return tree


def generated(seed: int) -> tuple[RateCard, Brief]:
    chance = random.Random(seed)
    card_currency = chance.choice(CURRENCIES)
    currency = card_currency if chance.random() < 0.7 else chance.choice(CURRENCIES)
    card = RateCard.read(card_tree(chance, card_currency), where="card")
    return card, Brief.read(brief_tree(chance, currency, card_currency), where="brief")


def half_away(number: Fraction, digits: int) -> Decimal:
    units = (abs(number) * 10**digits * 2 + 1) // 2
    return Decimal(units if number >= 0 else -units).scaleb(-digits)


def check(estimate: Estimate) -> None:
    digits = minor_digits(estimate.currency)
    whole = Decimal(0)
    for line in estimate.lines:
        assert line.amount.currency == estimate.currency
        assert line.working.amount is not None
        assert line.amount.amount == half_away(Fraction(line.working.amount.amount), digits)
        product = Fraction(line.quantity) * Fraction(line.rate.amount)
        # a rate that goes on for ever is printed with four decimals more than the currency has
        cut = Fraction(line.quantity) / (2 * 10 ** (digits + 4))
        assert abs(product - Fraction(line.amount.amount)) <= Fraction(1, 2 * 10**digits) + cut
        assert -int(line.rate.amount.as_tuple().exponent) <= digits + 4 or line.section != "crew"
        assert (line.amount.amount < 0) <= (line.section == "discount")
        whole += line.amount.amount
    assert estimate.net.amount == whole
    assert sum((each.amount for each in estimate.section_totals().values()), Decimal(0)) == whole
    order = [SECTIONS.index(line.section) for line in estimate.lines]
    assert order == sorted(order)


@pytest.mark.parametrize("block", range(4))
def test_lines_add_up_over_thousands_of_cards_and_briefs(block):
    lines = 0
    for seed in range(block * 500, block * 500 + 500):
        card, brief = generated(seed)
        estimate = price(card, brief)
        check(estimate)
        lines += len(estimate.lines)
    assert lines > 3000  # the briefs are not empty


@settings(max_examples=80, deadline=None)
@given(st.integers(10_000, 10**9))
def test_lines_add_up_for_any_seed(seed):
    card, brief = generated(seed)
    check(price(card, brief))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**9))
def test_pricing_twice_gives_the_same_and_changes_explain_the_difference(seed):
    card, brief = generated(seed)
    first = price(card, brief)
    assert price(card, brief) == first
    assert compare(first, price(card, brief)) == ()
    other_card, other_brief = generated(seed + 1)
    other = price(other_card, other_brief)
    if other.currency == first.currency:
        differences = sum((change.difference.amount for change in compare(first, other)), Decimal(0))
        assert differences == other.net.amount - first.net.amount


@pytest.mark.parametrize("block", range(2))
def test_what_each_day_costs_adds_up_to_the_lines_of_crew_and_kit(block):
    shared = 0
    for seed in range(block * 500, block * 500 + 500):
        card, brief = generated(seed)
        estimate = price(card, brief)
        quoted = [QuotedLine.of(line) for line in estimate.lines]
        days = day_prices(card, brief, quoted, currency=estimate.currency, holiday=lambda day: False)
        parts = [part for day in days for part in day.parts]
        zero = Decimal(0)
        for section in ("crew", "kit", "weather"):
            whole = sum((line.amount.amount for line in estimate.lines if line.section == section), zero)
            assert sum((part.amount.amount for part in parts if part.section == section), zero) == whole, seed
        # A discount is spread by what it is taken of: the days never bear more of it than all of it.
        off = sum((line.amount.amount for line in estimate.lines if line.section == "discount"), zero)
        assert off <= sum((part.amount.amount for part in parts if part.section == "discount"), zero) <= 0
        assert [day.position for day in days] == list(range(1, sum(one.count for one in brief.days) + 1))
        shared += len(parts)
    assert shared > 5000
