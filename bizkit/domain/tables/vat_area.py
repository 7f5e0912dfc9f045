"""Who shares the value added tax of the European Union, and how VAT numbers begin.

Member states are those of the territory table. Sources: Council Directive 2006/112/EC article 5 and the accession
treaties (Croatia joined on 1 July 2013, so days before are not answered rightly); the United Kingdom left the VAT
area at the end of 31 December 2020 (Withdrawal Agreement article 126).
"""

from datetime import date
from typing import Final

from bizkit.domain.tables.territories import GROUPINGS

#: Member states of the European Union since the end of the United Kingdom's transition.
EU: Final[frozenset[str]] = frozenset(GROUPINGS["EU"].split())

#: First day (inclusive) on which the United Kingdom was outside the VAT area of the Union.
UK_OUTSIDE_EU_FROM: Final[date] = date(2021, 1, 1)

#: VAT numbers of Greece begin with EL, not with the country's code (Directive 2006/112/EC article 215).
VAT_PREFIX: Final[dict[str, str]] = {"GR": "EL"}


def in_eu(country: str, on: date) -> bool:
    """Whether `country` is in the VAT area of the European Union on that day."""
    return country in EU or (country == "GB" and on < UK_OUTSIDE_EU_FROM)


def vat_prefix(country: str) -> str:
    """The letters a VAT number of `country` begins with."""
    return VAT_PREFIX.get(country, country)
