"""Mileage by dated tables with bands."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_made
from bizkit.domain.money import Money
from bizkit.domain.pricing.mileage import MileageKeys, MileageTable

OWN = """
unit = "km"
year_starts = "01-01"
source = "invented for this test"
[[periods]]
starts = 2026-01-01
ends = 2026-12-31
bands = [{over = 0, up_to = 20, rate = 0.30}, {over = 20, rate = 0.38}]
[[periods]]
starts = 2027-01-01
bands = [{over = 0, rate = 0.38}]
"""


def read(toml: str = OWN, currency: str = "EUR") -> MileageTable:
    tree = tomllib.loads(toml, parse_float=Decimal)
    return read_made(MileageKeys, MileageTable.of_card, tree, where="card.toml", path="mileage", currency=currency)


def test_eleven_thousand_miles_by_car_make_4750_pounds() -> None:
    # gov.uk, simplified expenses, vehicles: 10,000 miles x 45p = 4,500; 1,000 x 25p = 250 (read).
    amount, working = MileageTable.of("GB").price(Decimal(11000), date(2025, 6, 1))
    assert amount == Money("4750.00", "GBP")
    assert [part.text for part in working.parts] == [
        "10000 miles x GBP 0.45 (up to 10000 in the business year, 0 driven before)",
        "1000 miles x GBP 0.25 (past 10000 in the business year, 0 driven before)",
    ]
    assert working.parts[0].source == "gov.uk simplified expenses: vehicles"


def test_twelve_thousand_miles_make_6000_pounds_from_april_2026() -> None:
    # 55p/25p from 6 April 2026: two secondary pages.
    assert MileageTable.of("GB").price(Decimal(12000), date(2026, 4, 6))[0] == Money("6000.00", "GBP")
    assert MileageTable.of("GB").price(Decimal(12000), date(2026, 4, 5))[0] == Money("5000.00", "GBP")


def test_a_motorcycle_has_one_rate() -> None:
    # gov.uk, simplified expenses, vehicles: motorcycles 24p (read).
    assert MileageTable.of("GB", "motorcycle").price(Decimal(20000), date(2025, 6, 1))[0] == Money("4800.00", "GBP")


def test_miles_driven_earlier_in_the_year_use_up_the_first_band() -> None:
    # 300 miles after 9,900: 100 x 0.45 + 200 x 0.25 = 95.00, worked by hand.
    lines = MileageTable.of("GB").lines(Decimal(300), date(2025, 6, 1), driven_before=Decimal(9900))
    assert [(line.section, line.quantity, line.unit, line.amount.text) for line in lines] == [
        ("travel", Decimal(100), "mile", "45.00"),
        ("travel", Decimal(200), "mile", "50.00"),
    ]


def test_the_business_year_turns_on_the_sixth_of_april() -> None:
    table = MileageTable.of("GB")
    assert table.business_year(date(2026, 4, 5)) == date(2025, 4, 6)
    assert table.business_year(date(2026, 4, 6)) == date(2026, 4, 6)
    log = table.log(
        [(date(2025, 4, 6), Decimal(100)), (date(2025, 4, 5), Decimal(10000)), (date(2025, 4, 5), Decimal(100))]
    )
    # The hundred miles of 5 April come first (same day, shorter), then 10,000 reach 100 past the band; 6 April anew.
    assert [amount.text for _, _, amount in log] == ["45.00", "4480.00", "45.00"]


def test_a_studio_may_give_its_own_table() -> None:
    table = read()
    # 30 km: 20 x 0.30 + 10 x 0.38 = 9.80; a year later 30 x 0.38 = 11.40.
    assert table.price(Decimal(30), date(2026, 12, 31))[0] == Money("9.80", "EUR")
    assert table.price(Decimal(30), date(2027, 1, 1))[0] == Money("11.40", "EUR")


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        (
            "over = 20, rate",
            "over = 25, rate",
            "card.toml: mileage.periods[1].bands[2].over: wanted 20, where the band before ends, got 25, a gap",
        ),
        (
            "over = 20, rate",
            "over = 15, rate",
            "card.toml: mileage.periods[1].bands[2].over: wanted 20, where the band before ends, got 15, an overlap",
        ),
        (
            "over = 0, up_to = 20",
            "over = 0, up_to = 0",
            "card.toml: mileage.periods[1].bands[1].up_to: wanted more than 0, got 0",
        ),
        (
            "over = 20, rate",
            "over = 20, up_to = 50, rate",
            "card.toml: mileage.periods[1].bands: wanted a last band without up_to, got one that ends at 50",
        ),
        (
            "over = 0, up_to = 20, rate",
            "over = 0, rate",
            "card.toml: mileage.periods[1].bands[2].over: wanted no band after one without an end, got 20",
        ),
        (
            "rate = 0.30",
            "rate = -0.30",
            "card.toml: mileage.periods[1].bands[1].rate: wanted a number of 0 or more, got -0.30",
        ),
        (
            "ends = 2026-12-31",
            "ends = 2026-12-30",
            "card.toml: mileage.periods[2].starts: wanted 2026-12-31, the day after the period before ends, "
            "got 2027-01-01, a gap",
        ),
        (
            "ends = 2026-12-31",
            "ends = 2027-01-31",
            "card.toml: mileage.periods[2].starts: wanted 2027-02-01, the day after the period before ends, "
            "got 2027-01-01, an overlap",
        ),
        (
            "starts = 2027-01-01",
            "starts = 2025-01-01",
            "card.toml: mileage.periods[2].starts: wanted a day after 2026-01-01, where the period before begins, "
            "got 2025-01-01",
        ),
        (
            "ends = 2026-12-31",
            "ends = 2025-12-31",
            "card.toml: mileage.periods[1].ends: wanted a day on or after 2026-01-01, got 2025-12-31",
        ),
        (
            '"01-01"',
            '"02-29"',
            "card.toml: mileage.year_starts: wanted month and day such as 04-06, got 02-29",
        ),
        ('"km"', '"league"', "card.toml: mileage.unit: wanted one of km, mile, got league. Known: km, mile"),
    ],
)
def test_a_table_with_a_gap_or_an_overlap_is_refused_in_one_line(old: str, new: str, line: str) -> None:
    assert old in OWN
    with pytest.raises(BadInput) as error:
        read(OWN.replace(old, new, 1))
    assert str(error.value) == line


def test_an_empty_table_is_refused() -> None:
    with pytest.raises(BadInput, match=r"mileage.periods: wanted one \[\[mileage.periods\]\] or more, got none"):
        read("unit = 'km'")
    with pytest.raises(BadInput, match=r"bands: wanted one band or more"):
        read("[[periods]]\nstarts = 2026-01-01")


def test_a_journey_outside_the_dates_of_the_table_is_refused() -> None:
    with pytest.raises(BadInput) as error:
        MileageTable.of("GB").price(Decimal(10), date(2011, 4, 5))
    assert str(error.value) == (
        "mileage: wanted a journey on or after 2011-04-06, where the mileage table begins, got 2011-04-05"
    )
    table = read(OWN.partition("[[periods]]\nstarts = 2027")[0])
    with pytest.raises(BadInput, match=r"on or before 2026-12-31, where the mileage table ends, got 2027-01-01"):
        table.price(Decimal(10), date(2027, 1, 1))


def test_a_country_or_vehicle_without_rates_is_named() -> None:
    with pytest.raises(NotFound, match=r"wanted a known country with mileage rates, got FR\. Give your own table"):
        MileageTable.of("FR")
    with pytest.raises(NotFound, match=r"got van.*Did you mean car|got van.*Known: bicycle, car, motorcycle"):
        MileageTable.of("GB", "van")


def test_a_distance_below_zero_is_refused() -> None:
    with pytest.raises(BadInput, match=r"distance: wanted a distance of zero or more, got -1"):
        MileageTable.of("GB").price(Decimal(-1), date(2026, 6, 1))


@given(st.decimals(0, 50000, places=1), st.decimals(0, 50000, places=1), st.decimals(0, 20000, places=1))
def test_a_journey_cut_in_two_costs_the_same(first: Decimal, second: Decimal, before: Decimal) -> None:
    table, day = MileageTable.of("GB"), date(2026, 6, 1)
    whole = table.price(first + second, day, driven_before=before)[0]
    parts = (
        table.price(first, day, driven_before=before)[0] + table.price(second, day, driven_before=before + first)[0]
    )
    # Each printed line is rounded once, so up to half a penny a line may differ.
    assert abs((whole - parts).amount) <= Decimal("0.02")
