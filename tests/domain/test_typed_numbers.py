"""Typed numbers: read where they can mean one thing, refused with both readings where they can mean two."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of, declared_number, number_of

#: ISO 4217: pounds have two decimals, Tunisian dinars three, yen none.
CURRENCIES = ("GBP", "TND", "JPY")


@given(st.integers(-(10**12), 10**12), st.sampled_from(CURRENCIES))
def test_what_bizkit_prints_is_read_back_grouped_or_not(minor, currency):
    money = Money.from_minor(minor, currency)
    plain, grouped = money.text, f"{money.amount:,}"
    if currency == "TND" and 1 <= abs(money.amount) < 1000:
        plain, grouped = f"{plain}0", f"{grouped}0"  # 1.234 dinars are 1234 dinars to some
    assert amount_of(plain, currency, "x") == money
    if currency != "TND" or "." in grouped:
        assert amount_of(grouped, currency, "x") == money


@given(st.text(alphabet="0123456789.,-", max_size=12), st.sampled_from(CURRENCIES))
def test_nothing_is_read_as_an_amount_that_is_another_one_elsewhere(text, currency):
    """With point and comma in each other's place, as half of the world writes, it is the same amount or none."""
    try:
        read = amount_of(text, currency, "x")
    except BadInput:
        return
    try:
        elsewhere = amount_of(text.translate(str.maketrans(".,", ",.")), currency, "x")
    except BadInput:
        return
    assert elsewhere == read


@given(st.text(max_size=8))
def test_only_plain_digits_are_a_number(text):
    try:
        number_of(text, field="x")
    except BadInput:
        return
    assert set(text.strip()) <= set("+-0123456789.,")


@pytest.mark.parametrize(
    ("text", "currency", "said"),
    [
        ("184,50", "GBP", "It can be read as 184.50 or as 18450. A decimal sign is a point here"),
        (
            "1.234",
            "GBP",
            "wanted an amount in whole minor units of GBP, got 1.234. It can be read as 1.234 or as 1234",
        ),
        ("1,234", "TND", "It can be read as 1.234 or as 1234. A decimal sign is a point here"),
        ("1.234", "TND", "It can be read as 1.234 or as 1234"),
        ("1.234", "JPY", "It can be read as 1.234 or as 1234"),
        ("0.125", "GBP", "wanted an amount in whole minor units of GBP, got 0.125"),
        ("1" * 14, "GBP", "--amount: wanted an amount of 13 digits or fewer before the point"),
        ("1" * 19, "GBP", "wanted an amount such as 184.50"),
        ("0." + "0" * 60 + "1", "GBP", "wanted an amount such as 184.50"),
        ("12", "STG", "--currency: wanted an ISO 4217 currency code"),
    ],
)
def test_both_readings_are_named(text, currency, said):
    with pytest.raises(BadInput) as error:
        amount_of(text, currency, "--amount")
    assert said in str(error.value)


def test_three_digits_behind_a_comma_are_thousands_of_pounds():
    assert amount_of("1,000", "GBP", "x") == Money(1000, "GBP")
    with pytest.raises(BadInput, match=r"It can be read as 1.000 or as 1000"):
        amount_of("1.000", "GBP", "x")


def test_a_limit_can_take_the_doubt_away():
    assert number_of("7.125", field="x", least=0, most=100) == Decimal("7.125")
    with pytest.raises(BadInput, match=r"It can be read as 7.125 or as 7125: write 7.1250 if it is the first"):
        number_of("7.125", field="x", least=0)


@pytest.mark.parametrize(
    ("text", "point", "group", "number"),
    [
        ("1.234,50", ",", ".", "1234.50"), ("1.234", ",", ".", "1234"), ("1,234", ",", ".", "1.234"),
        ("1,234", ".", ",", "1234"), ("1,234", ".", "", None), ("12,5", ".", "", None), ("1_0", ".", ",", None),
    ],
)  # fmt: skip
def test_a_file_that_says_its_decimal_sign_leaves_no_doubt(text, point, group, number):
    assert declared_number(text, point=point, group=group) == (Decimal(number) if number else None)
