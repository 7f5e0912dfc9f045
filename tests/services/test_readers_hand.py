"""Figures inside items and sentences, as the reader of a paper writes them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bizkit.domain.money import Money
from bizkit.domain.pricing.sentences import money_in, number_in
from bizkit.services.studio.hand import AT_HAND, hand_of
from bizkit.services.studio.wording import Wording


@pytest.mark.parametrize(("locale", "currency"), AT_HAND)
def test_what_is_at_hand_is_what_the_library_of_locales_says(locale, currency):
    assert AT_HAND[locale, currency] == hand_of(locale, currency)


@pytest.mark.parametrize(
    ("locale", "amount", "money", "number"),
    [
        # CLDR 48, as babel 2.18 has it; the Swiss apostrophe is typographic there and plain in babel 2.19.
        ("en_GB", Money("1312.452", "GBP"), "£1,312.45", "4.75"),
        ("en_GB", Money("1312.452", "EUR"), "€1,312.45", "4.75"),
        ("de_DE", Money("1312.452", "EUR"), "1.312,45 €", "4,75"),
        ("de_CH", Money("1312.452", "CHF"), "CHF 1'312.45", "4.75"),
        ("fr_FR", Money("1312.452", "EUR"), "1 312,45 €", "4,75"),
        ("ja_JP", Money("131245", "JPY"), "￥131,245", "4.75"),
    ],
)
def test_amounts_and_numbers(locale, amount, money, number):
    words = hand_of(locale, amount.currency)
    said = money_in(words, amount).replace("\u00a0", " ").replace("\u202f", " ").replace("’", "'")
    assert said == money
    assert number_in(words, Decimal("4.75")) == number


def test_days_in_a_text_are_written_out_and_numbers_that_look_like_them_are_left():
    words = Wording({}, {}, "de_DE", "de")
    assert words.dated("Kamera, 2027-05-11 bis 2027-06-01") == "Kamera, 11. Mai 2027 bis 1. Juni 2027"
    for text in ("Rechnung GL-2027-05-11", "2027-13-01", "12027-05-11", "2027-05-11-a", "kein Tag"):
        assert words.dated(text) == text
