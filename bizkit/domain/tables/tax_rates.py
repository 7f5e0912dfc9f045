"""Standard and reduced rates of value added tax, by country and by the day they took effect.

Sources
* United Kingdom standard rate 1973-2011: Finance Act 1972 and later, as listed in the Hansard written answer of
  9 December 1991 (1979, 1991) and the HM Treasury chronology on wutils.com/vat/uk-vat-history.html (1973, 1974,
  1994, 1997); 2008, 2010, 2011: VAT (Change of Rate) Order 2008 (SI 2008/3020), Finance (No. 2) Act 2010 s. 3,
  dates read in two secondary lists. All read 2026-11-25. The higher rate of 1974-1979 on petrol and luxuries is
  left out: it never met film work, except photographic equipment bought.
* European Union standard rates since 2016: European Commission "Taxes in Europe" database as republished by
  duty27 (data of 2026-10-04, CC BY 4.0) and vatnode (2026-09-29), which agree; read 2026-11-25. The table begins
  on 1 January 2016; earlier days have no answer.
* United Kingdom reduced rate: the reduced rate never covers film or photography; it is here for the odd cost.
* United States: no value added tax. State sales taxes are outside this table; say the rate in studio.toml.
* Other countries: European neighbours from the vatnode list above, valid on the day read only.
"""

from datetime import date
from decimal import Decimal
from typing import Final

#: One step of a rate: first day (inclusive) and percent.
Step = tuple[date, Decimal]


def _steps(*steps: tuple[str, str]) -> tuple[Step, ...]:
    return tuple((date.fromisoformat(day), Decimal(rate)) for day, rate in steps)


def _since_2016(rate: str, *changes: tuple[str, str]) -> tuple[Step, ...]:
    return _steps(("2016-01-01", rate), *changes)


#: country -> steps of the standard rate, oldest first
STANDARD_RATES: Final[dict[str, tuple[Step, ...]]] = {
    "GB": _steps(
        ("1973-04-01", "10"),
        ("1974-07-29", "8"),
        ("1979-06-18", "15"),
        ("1991-04-01", "17.5"),
        ("2008-12-01", "15"),
        ("2010-01-01", "17.5"),
        ("2011-01-04", "20"),
    ),
    "AT": _since_2016("20"),
    "BE": _since_2016("21"),
    "BG": _since_2016("20"),
    "CY": _since_2016("19"),
    "CZ": _since_2016("21"),
    "DE": _since_2016("19", ("2020-07-01", "16"), ("2021-01-01", "19")),
    "DK": _since_2016("25"),
    "EE": _since_2016("20", ("2024-01-01", "22"), ("2025-07-01", "24")),
    "ES": _since_2016("21"),
    "FI": _since_2016("24", ("2024-09-01", "25.5")),
    "FR": _since_2016("20"),
    "GR": _since_2016("23", ("2016-06-01", "24")),
    "HR": _since_2016("25"),
    "HU": _since_2016("27"),
    "IE": _since_2016("23", ("2020-09-01", "21"), ("2021-03-01", "23")),
    "IT": _since_2016("22"),
    "LT": _since_2016("21"),
    "LU": _since_2016("17", ("2023-01-01", "16"), ("2024-01-01", "17")),
    "LV": _since_2016("21"),
    "MT": _since_2016("18"),
    "NL": _since_2016("21"),
    "PL": _since_2016("23"),
    "PT": _since_2016("23"),
    "RO": _since_2016("20", ("2017-01-01", "19"), ("2025-08-01", "21")),
    "SE": _since_2016("25"),
    "SI": _since_2016("22"),
    "SK": _since_2016("20", ("2025-01-01", "23")),
    "CH": _steps(("2024-01-01", "8.1")),
    "IS": _steps(("2016-01-01", "24")),
    "NO": _steps(("2016-01-01", "25")),
}

#: country -> steps of the reduced rate that the studio may meet
REDUCED_RATES: Final[dict[str, tuple[Step, ...]]] = {
    "GB": _steps(("1994-04-01", "8"), ("1997-09-01", "5")),
}

#: Trades of a film-maker in the flat-rate scheme of the United Kingdom -> percent. VAT Notice 733 section 4.3: film
#: production read in two secondary pages (13 %, also in an institute's note of August 2018), photography and limited
#: costs from memory.
FLAT_RATES: Final[dict[str, Decimal]] = {
    "film, radio, television or video production": Decimal(13),
    "photography": Decimal(11),
    "limited costs": Decimal("16.5"),
}

#: Countries without a value added tax of their own: nothing is charged, and nothing need be said about it.
WITHOUT_TAX: Final[frozenset[str]] = frozenset({"US"})

#: Currency in which the tax of an invoice must also be shown.
#: United Kingdom: SI 1995/2518 reg 14(1), total VAT expressed in sterling; EU: Directive 2006/112/EC article 230.
TAX_CURRENCY: Final[dict[str, str]] = {
    "GB": "GBP", "BG": "EUR", "CZ": "CZK", "DK": "DKK", "HU": "HUF", "PL": "PLN", "RO": "RON", "SE": "SEK",
    "CH": "CHF", "IS": "ISK", "NO": "NOK",
    "AT": "EUR", "BE": "EUR", "CY": "EUR", "DE": "EUR", "EE": "EUR", "ES": "EUR", "FI": "EUR", "FR": "EUR",
    "GR": "EUR", "HR": "EUR", "IE": "EUR", "IT": "EUR", "LT": "EUR", "LU": "EUR", "LV": "EUR", "MT": "EUR",
    "NL": "EUR", "PT": "EUR", "SI": "EUR", "SK": "EUR",
}  # fmt: skip


def rate_on(steps: tuple[Step, ...], day: date) -> Decimal | None:
    """The rate in force on `day`; None when the table does not reach back that far.

    >>> rate_on(STANDARD_RATES["GB"], date(2011, 1, 3))
    Decimal('17.5')
    """
    found = None
    for first, rate in steps:
        if first > day:
            break
        found = rate
    return found
