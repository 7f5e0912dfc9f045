"""The currency table against the list another project keeps: the iso4217 package, read from ISO 4217 list one."""

import iso4217
import pytest

from bizkit.domain.money import minor_digits
from bizkit.domain.tables.currencies import MINOR_UNITS

PUBLISHED = {currency.code: currency.exponent for currency in iso4217.Currency}


def test_every_currency_with_a_minor_unit_is_in_the_table():
    assert {code for code, digits in PUBLISHED.items() if digits is not None} == set(MINOR_UNITS)


@pytest.mark.parametrize("code", sorted(MINOR_UNITS))
def test_the_minor_unit_is_that_of_iso_4217(code):
    assert minor_digits(code) == PUBLISHED[code]


@pytest.mark.parametrize(
    # Literal rows of ISO 4217 list one, the ones that software most often gets wrong (from memory).
    ("code", "digits"),
    [("GBP", 2), ("EUR", 2), ("JPY", 0), ("ISK", 0), ("KRW", 0), ("BHD", 3), ("TND", 3), ("CLF", 4), ("HUF", 2)],
)
def test_well_known_minor_units(code, digits):
    assert minor_digits(code) == digits
