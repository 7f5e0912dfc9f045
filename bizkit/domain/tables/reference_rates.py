"""Reference rates that statutory interest on late payment is counted from, by the day they were in force.

Bank of England official bank rate on 30 June and 31 December (Late Payment of Commercial Debts (Rate of Interest)
(No. 3) Order 2002, SI 2002/1675: the rate in force on the one before interest starts to run). Read 2026-11-25:
2011-2023 in a published table of half-years (payontime.co.uk), the same days and 2002-2010 and 2024-06-30 to
2025-06-30 worked out from the bank's list of changes (datahub interest-rates-gb, last change 8 May 2025);
31 December 2025 from news of the decision of 18 December 2025. 30 June 2026 and later are not known here: a studio
writes them into its settings.

European Central Bank, main refinancing rate on 1 January and 1 July (Directive 2011/7/EU article 2(7)). 1 July 2024
read on enterprise.gov.ie; the others from memory, to be checked before they are relied on.

German base rate (Basiszinssatz, BGB section 247) on 1 January and 1 July, as the Deutsche Bundesbank announces it.
1 January 2025 to 1 January 2026 read in two published notices (iww.de, finanzmarktnachrichten.de); the others from
memory, to be checked before they are relied on.
"""

from datetime import date
from decimal import Decimal
from typing import Final


def _half_years(first: str, rates: str, days: tuple[str, str]) -> dict[date, Decimal]:
    """Rates in order for the two days of each year, from `first` on."""
    table = {}
    day = date.fromisoformat(first)
    for rate in rates.split():
        table[day] = Decimal(rate)
        middle = f"{day:%m-%d}" == days[0]
        day = date.fromisoformat(f"{day.year}-{days[1]}" if middle else f"{day.year + 1}-{days[0]}")
    return table


#: Day of the rate (30 June or 31 December) -> percent a year.
BANK_OF_ENGLAND: Final[dict[date, Decimal]] = _half_years(
    "2002-06-30",
    "4.00 4.00 3.75 3.75 4.50 4.75 4.75 4.50 4.50 5.00 5.50 5.50 5.00 2.00 0.50 0.50 0.50 0.50 0.50 0.50 0.50 0.50"
    " 0.50 0.50 0.50 0.50 0.50 0.50 0.50 0.25 0.25 0.50 0.50 0.75 0.75 0.75 0.10 0.10 0.10 0.25 1.25 3.50 5.00 5.25"
    " 5.25 4.75 4.25 3.75",
    ("06-30", "12-31"),
)

#: Day of the rate (1 January or 1 July) -> percent a year.
EUROPEAN_CENTRAL_BANK: Final[dict[date, Decimal]] = _half_years(
    "2017-01-01",
    "0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 2.50 4.00 4.50 4.25 3.15 2.15 2.15",
    ("01-01", "07-01"),
)

#: Day of the rate (1 January or 1 July) -> percent a year.
GERMAN_BASE_RATE: Final[dict[date, Decimal]] = _half_years(
    "2017-01-01",
    "-0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 -0.88 1.62 3.12 3.62 3.37 2.27 1.27 1.27",
    ("01-01", "07-01"),
)
