"""The floor, worked by hand on invented figures."""

from __future__ import annotations

import json
import tomllib
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.pricing.floor import Floor, FloorTerms
from bizkit.domain.pricing.weather_days import WeatherRequest
from bizkit.domain.pricing.weather_plan import weather_plan

# Invented. Kit: (6,000 - 1,000) / 4 = 1,250.00 and 2,000 / 3 = 666.67. Profit: 31,500 / (1 - .22 - .08) = 45,000.00.
# A year: 4,200 + 2,300 + 1,250 + 666.67 + 45,000 = 53,416.67; / 110 days = 485.606..., 485.61 a day.
TERMS = """
income = 31500
tax_percent = 22
pension_percent = 8
billable_days = 110
[costs]
insurance = 4200
"boat berth" = 2300
[[kit]]
item = "housing"
value = 6000
resale = 1000
lasts_years = 4
[[kit]]
item = "drone"
value = 2000
lasts_years = 3
"""


def read(toml: str = TERMS) -> FloorTerms:
    return read_input(
        FloorTerms, tomllib.loads(toml, parse_float=Decimal), where="studio.toml", path="floor", currency="GBP"
    )


def gbp(amount: str) -> Money:
    return Money(amount, "GBP")


@pytest.fixture
def floor() -> Floor:
    return read().floor()


def test_the_floor_is_the_years_need_over_the_days_sold(floor: Floor) -> None:
    assert floor.yearly == gbp("53416.67")
    assert floor.rate_per_day == gbp("485.61")
    assert floor.working.text == "GBP 53416.67 a year / 110 billable days = GBP 485.61 a day"
    assert [part.text for part in floor.working.parts] == [
        "insurance: GBP 4200.00",
        "boat berth: GBP 2300.00",
        "housing: (GBP 6000.00 - GBP 1000.00) / 4 years = GBP 1250.00",
        "drone: (GBP 2000.00 - GBP 0.00) / 3 years = GBP 666.67",
        "profit of GBP 45000.00: 22% tax and 8% pension put aside leave GBP 31500.00",
    ]


def test_roles_under_the_floor_are_named_worst_first(floor: Floor) -> None:
    rates = {"camera": gbp("550"), "assistant": gbp("260"), "editor": gbp("485.61"), "drone pilot": gbp("485.60")}
    assert [(each.role, each.short_by.text) for each in floor.roles_below(rates)] == [
        ("assistant", "225.61"),
        ("drone pilot", "0.01"),
    ]


def test_the_margin_is_what_is_left_after_costs_and_days(floor: Floor) -> None:
    # 9,000 - 1,400 = 7,600 for 14 days (542.86 a day); 14 x 485.61 = 6,798.54; margin 801.46, 8.9 % of 9,000.
    margin = floor.margin(gbp("9000"), gbp("1400"), Decimal(14))
    assert (margin.left, margin.per_day) == (gbp("7600.00"), gbp("542.86"))
    assert (margin.amount, margin.percent) == (gbp("801.46"), Decimal("8.9"))
    assert (margin.below_floor, margin.warning) == (False, "")


def test_a_job_under_the_floor_says_what_to_charge(floor: Floor) -> None:
    # 7,000 - 1,400 = 5,600 for 14 days = 400 a day; short by 1,198.54.
    margin = floor.margin(gbp("7000"), gbp("1400"), Decimal(14))
    assert margin.amount == gbp("-1198.54")
    assert margin.warning == (
        "below the floor: GBP 400.00 is left for each of 14 days, the floor is GBP 485.61. "
        "Charge GBP 8198.54 instead of GBP 7000.00, or give a reason to send it anyway"
    )
    assert floor.margin(gbp("8198.54"), gbp("1400"), Decimal(14)).below_floor is False
    assert json.loads(json.dumps(margin.data()))["below_floor"] is True


def test_a_job_without_days_is_measured_by_its_costs_alone(floor: Floor) -> None:
    licence = floor.margin(gbp("900"), gbp("0"), Decimal(0))
    assert (licence.amount, licence.per_day, licence.below_floor) == (gbp("900.00"), None, False)
    loss = floor.margin(gbp("0"), gbp("50"), Decimal(0))
    assert (loss.percent, loss.warning) == (
        None,
        "below the floor: GBP 50.00 of direct costs against an income of GBP 0.00",
    )


def test_weather_eats_into_the_margin(floor: Floor) -> None:
    # 2 person-days of waiting more: 16 x 485.61 = 7,769.76; 9,300 - 1,550 - 7,769.76 = -19.76.
    margin = floor.margin(gbp("9000"), gbp("1400"), Decimal(14)).with_weather(Decimal(2), gbp("150"), gbp("300"))
    assert margin.amount == gbp("-19.76")
    assert margin.below_floor


@pytest.mark.parametrize(("charge", "extra"), [("booked", "0.00"), ("used", "1201.36")])
def test_a_weather_plan_says_what_the_risk_adds(charge: str, extra: str) -> None:
    # 1.92217... expected hold days x 625.00 (see the weather plan): paid on top only when charged as used.
    request = WeatherRequest.read({"chance": Decimal("0.6"), "charge": charge})
    plan = weather_plan(request, water_days=3, dry_days=0, hold_day_cost=gbp("1250"))
    assert plan.expected_extra_income == gbp(extra)


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("tax_percent = 22", "tax_percent = -1", "studio.toml: floor.tax_percent: wanted a number 0..100, got -1"),
        (
            "tax_percent = 22",
            "tax_percent = 92",
            "studio.toml: floor.pension_percent: wanted tax and pension below 100 together, got 100",
        ),
        (
            "billable_days = 110",
            "billable_days = 0",
            "studio.toml: floor.billable_days: wanted more than 0, got 0. "
            "Count the days you can really sell in a year",
        ),
        ("lasts_years = 4", "lasts_years = 0", "studio.toml: floor.kit[1].lasts_years: wanted more than 0, got 0"),
        (
            "resale = 1000",
            "resale = 7000",
            "studio.toml: floor.kit[1].resale: wanted 6000.00 or less, got 7000.00",
        ),
        (
            "insurance = 4200",
            "insurance = -4200",
            "studio.toml: floor.costs.insurance: wanted a number of 0 or more, got -4200",
        ),
        (
            "income = 31500",
            "wages = 31500",
            "studio.toml: floor.income: wanted a number of 0 or more, got nothing. Add income to the file\n"
            "studio.toml: floor: wanted a known key, got wages. "
            "Known: billable_days, costs, currency, income, kit, pension_percent, tax_percent",
        ),
    ],
)
def test_terms_that_cannot_be_right_are_refused_a_line_a_problem(old: str, new: str, line: str) -> None:
    assert old in TERMS
    with pytest.raises(BadInput) as error:
        read(TERMS.replace(old, new, 1))
    assert str(error.value) == line


def test_days_below_zero_are_refused(floor: Floor) -> None:
    with pytest.raises(BadInput, match="days: wanted days of zero or more, got -1"):
        floor.margin(gbp("1"), gbp("0"), Decimal(-1))


AMOUNTS = st.decimals(0, 10**6, places=2)
SHARES = st.decimals(0, 45, places=1)


@settings(max_examples=60)
@given(AMOUNTS, AMOUNTS, AMOUNTS, SHARES, SHARES, st.integers(1, 250))
def test_selling_every_billable_day_at_the_floor_pays_for_the_year(
    income: Decimal, cost: Decimal, kit: Decimal, tax: Decimal, pension: Decimal, days: int
) -> None:
    tree = {
        **{"income": income, "tax_percent": tax, "pension_percent": pension, "billable_days": days},
        **{"costs": {"all": cost}, "kit": [{"item": "housing", "value": kit, "lasts_years": 3}]},
    }
    floor = read_input(FloorTerms, tree, where="studio.toml", path="floor", currency="GBP").floor()
    turnover = Fraction(floor.rate_per_day.amount) * days
    profit = turnover - Fraction(cost) - Fraction(kit) / 3
    take_home = profit * (100 - Fraction(tax) - Fraction(pension)) / 100
    # Half a penny a day, and half a penny a yearly amount, is all that rounding may move.
    assert abs(take_home - Fraction(income)) <= Fraction(days + 3, 200)
