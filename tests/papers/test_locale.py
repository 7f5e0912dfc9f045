"""Amounts and dates as locales write them, with ISO 4217's digits.

Forms of locales: Unicode CLDR as babel carries it. Minor units: ISO 4217, list one.
"""

from __future__ import annotations

import pytest

from bizkit.domain.errors import BadInput
from bizkit.papers.locale import Drawn

NBSP = "\N{NO-BREAK SPACE}"


@pytest.mark.parametrize(
    ("locale", "amount", "currency", "drawn"),
    [
        ("en_GB", "1955.49", "GBP", "£1,955.49"),
        ("en_GB", "-50.00", "GBP", "−£50.00"),
        ("de_DE", "1955.49", "EUR", f"1.955,49{NBSP}€"),
        ("en_US", "1955.49", "USD", "$1,955.49"),
        ("sv_SE", "1955.49", "SEK", f"1{NBSP}955,49{NBSP}kr"),
        # The zero minor units of the yen, the three of the dinars. CLDR gives the last two no decimals at all.
        ("en_GB", "1955", "JPY", "JP¥1,955"),
        ("en_GB", "1.5", "TND", f"TND{NBSP}1.500"),
        ("en_GB", "1.5", "IQD", f"IQD{NBSP}1.500"),
        ("en_GB", "1.5", "AFN", f"AFN{NBSP}1.50"),
        # A rate may be finer than the minor unit, and is never rounded on paper.
        ("en_GB", "0.455", "GBP", "£0.455"),
        ("en_GB", "0.125", "GBP", "£0.125"),
        ("en_GB", "-0.00", "GBP", "£0.00"),
        ("en_GB", "123456789012345678.12", "GBP", "£123,456,789,012,345,678.12"),
    ],
)
def test_money_is_drawn_as_the_locale_writes_it(locale, amount, currency, drawn):
    assert Drawn(locale, "en").money(amount, currency) == drawn


def test_quantities_percents_and_dates():
    british, german = Drawn("en_GB", "en"), Drawn("de-DE", "de")
    assert (british.number("7.25"), german.number("7.25"), british.number("1250.00")) == ("7.25", "7,25", "1,250")
    assert (british.percent("20"), british.percent("17.5"), german.percent("7.50")) == ("20%", "17.5%", f"7,5{NBSP}%")
    assert (british.date("2027-03-03"), german.date("2027-03-03")) == ("3 March 2027", "3. März 2027")
    assert british.weekday("2027-05-10") == "Mon, 10 May 2027"
    assert (british.country("DE"), german.country("DE"), british.country("XX")) == ("Germany", "Deutschland", "XX")


@pytest.mark.parametrize(("chance", "drawn"), [("0.903744", "90%"), ("0.8999", "89%"), ("1", "100%"), ("0", "0%")])
def test_a_chance_is_never_rounded_up(chance, drawn):
    assert Drawn("en_GB", "en").share(chance) == drawn


@pytest.mark.parametrize("name", ["", "zz_ZZ", "en-", "../en", "x" * 300])
def test_an_unknown_locale_is_refused(name):
    with pytest.raises(BadInput, match="locale: wanted a locale such as en_GB or de_DE"):
        Drawn(name, "en")
