"""Flat rates per distance driven for business, by country and vehicle, with the day each began.

Sources
* United Kingdom, cars and goods vehicles 45p / 25p past 10,000 miles, motorcycles 24p:
  gov.uk/simpler-income-tax-simplified-expenses/vehicles- (read; its own example is 11,000 miles -> 4,750 pounds).
  First day 6 April 2011 and bicycles 20p: taxpartnership.co.uk/travel-rates (secondary, "from 2011 to 2012").
* United Kingdom, 55p for the first 10,000 miles from 6 April 2026: two secondary pages; announced on 21 May 2026 and
  dated back to the start of the tax year according to communityvision.org.uk (secondary). That the rate past
  10,000 miles stays 25p is from the same secondary pages. Check before relying on it.

Earlier years are left out: a journey before the first day has no answer. Rates are in pounds per mile and count
business miles of one tax year, 6 April to 5 April. A studio in another country gives its own table.
"""

from datetime import date
from typing import Final, NamedTuple


class BandRow(NamedTuple):
    """Distance over `over` up to and including `up_to` (empty: no end) of one business year, at `rate` a unit."""

    over: str
    up_to: str
    rate: str


class PeriodRow(NamedTuple):
    """Bands in force from `starts` (inclusive) until the next period begins."""

    starts: date
    bands: tuple[BandRow, ...]
    source: str


_UK_CAR_2011 = (BandRow("0", "10000", "0.45"), BandRow("10000", "", "0.25"))
_UK_CAR_2026 = (BandRow("0", "10000", "0.55"), BandRow("10000", "", "0.25"))
_GOV_UK = "gov.uk simplified expenses: vehicles"
_UK_START = date(2011, 4, 6)

#: (country, vehicle) -> periods, oldest first
RATES: Final[dict[tuple[str, str], tuple[PeriodRow, ...]]] = {
    ("GB", "car"): (
        PeriodRow(_UK_START, _UK_CAR_2011, _GOV_UK),
        PeriodRow(date(2026, 4, 6), _UK_CAR_2026, "approved mileage rate from 6 April 2026 (secondary)"),
    ),
    ("GB", "motorcycle"): (PeriodRow(_UK_START, (BandRow("0", "", "0.24"),), _GOV_UK),),
    ("GB", "bicycle"): (PeriodRow(_UK_START, (BandRow("0", "", "0.20"),), "approved mileage rate (secondary)"),),
}

#: country -> (currency, unit of distance, month and day the business year begins)
TERMS: Final[dict[str, tuple[str, str, tuple[int, int]]]] = {"GB": ("GBP", "mile", (4, 6))}
