"""Money: exact, never mixed, rounded once, half away from zero."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, percent, plain, round_half_away, total

CURRENCIES = ["GBP", "EUR", "JPY", "TND"]

currencies = some.sampled_from(CURRENCIES)
whole_minor = some.integers(min_value=-(10**14), max_value=10**14)
exact_amounts = some.decimals(min_value=-(10**9), max_value=10**9, places=6)
weights = some.lists(
    some.one_of(some.integers(0, 10**6), some.decimals(min_value=0, max_value=1000, places=4)),
    min_size=1,
    max_size=30,
).filter(any)


@pytest.mark.parametrize(
    ("base", "rate", "tax"),
    [
        # CEN EN 16931 validation artefacts, unit tests of rule BR-CO-17 (half away from zero).
        ("6491.34", "25", "1622.84"),
        ("-6491.34", "25", "-1622.84"),
        ("2141.05", "14", "299.75"),
        # OpenPEPPOL BIS Billing 3, "Allowance-example": 25 % of 4900 (1225 of tax; the other 1000 are exempt).
        ("4900", "25", "1225.00"),
        # Archived HMRC "Calculating VAT": 20 % of 100 net is 20.
        ("100", "20", "20.00"),
    ],
)
def test_tax_is_rounded_half_away_from_zero(base, rate, tax):
    assert percent(Money(base, "EUR"), Decimal(rate)).text == tax


@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        # Arithmetic; the digits are ISO 4217 list one: GBP 2, JPY 0, TND 3.
        ("0.005", "GBP", "0.01"),
        ("-0.005", "GBP", "-0.01"),
        ("0.0049999", "GBP", "0.00"),
        ("2.675", "GBP", "2.68"),
        ("1.005", "EUR", "1.01"),
        ("0.5", "JPY", "1"),
        ("-2.5", "JPY", "-3"),
        ("1.0005", "TND", "1.001"),
        # Lines of the invoice that passes the CEN rules: 2.5 x 450 + 7.25 x 65, and 3 x 33.33.
        ("1596.25", "GBP", "1596.25"),
        ("99.99", "GBP", "99.99"),
    ],
)
def test_an_amount_is_rounded_to_the_minor_unit(amount, currency, rounded):
    assert Money(amount, currency).rounded().text == rounded


@given(exact_amounts, some.integers(0, 4))
def test_rounding_agrees_with_exact_fractions(amount, digits):
    scaled = Fraction(amount) * 10**digits
    nearest = int(abs(scaled) + Fraction(1, 2)) * (1 if scaled >= 0 else -1)
    assert Fraction(round_half_away(amount, digits)) == Fraction(nearest, 10**digits)


@given(exact_amounts, currencies)
def test_rounding_moves_by_half_a_minor_unit_at_most_and_only_once(amount, currency):
    money = Money(amount, currency)
    once = money.rounded()
    assert abs(once.amount - money.amount) * 2 <= Money.from_minor(1, currency).amount
    assert once.rounded() == once
    assert -((-money).rounded()) == once


@given(whole_minor, weights, currencies)
def test_parts_add_up_to_the_whole(minor, shares, currency):
    whole = Money.from_minor(minor, currency)
    parts = whole.allocate(shares)
    assert len(parts) == len(shares)
    assert total(parts, currency) == whole


@given(whole_minor, weights, currencies)
def test_each_part_is_its_exact_share_give_or_take_less_than_a_minor_unit(minor, shares, currency):
    whole = sum(Fraction(share) for share in shares)
    for part, share in zip(Money.from_minor(minor, currency).allocate(shares), shares, strict=True):
        exact = Fraction(minor) * Fraction(share) / whole
        assert abs(part.minor - exact) < 1
        assert part.minor == exact or exact.denominator > 1


@given(some.integers(0, 10**9), weights)
def test_a_greater_weight_never_gets_less_and_no_weight_gets_nothing(minor, shares):
    parts = [part.minor for part in Money.from_minor(minor, "GBP").allocate(shares)]
    in_order = [part for _, part in sorted(zip(shares, parts, strict=True))]
    assert in_order == sorted(in_order)
    assert all(part == 0 for part, share in zip(parts, shares, strict=True) if share == 0)


@pytest.mark.parametrize(
    ("amount", "shares", "parts"),
    [
        # Arithmetic, largest remainder.
        ("100.00", [1, 1, 1], ["33.34", "33.33", "33.33"]),
        ("-100.00", [1, 1, 1], ["-33.34", "-33.33", "-33.33"]),
        ("0.01", [50, 50], ["0.01", "0.00"]),
        ("1955.49", [50, 50], ["977.75", "977.74"]),
        ("1000.00", [Decimal("33.3"), Decimal("33.3"), Decimal("33.4")], ["333.00", "333.00", "334.00"]),
        ("10.00", [0, 3, 7], ["0.00", "3.00", "7.00"]),
    ],
)
def test_an_amount_is_split_by_largest_remainder(amount, shares, parts):
    assert [part.text for part in Money(amount, "GBP").allocate(shares)] == parts


@pytest.mark.parametrize("shares", [[], [0, 0], [1, -1], [2, Decimal("-0.5")]])
def test_a_split_without_usable_weights_is_refused(shares):
    with pytest.raises(RuleBroken, match="weights"):
        Money("10", "GBP").allocate(shares)


def test_a_split_of_parts_of_a_penny_is_refused():
    with pytest.raises(RuleBroken, match="round it first"):
        Money("10.005", "GBP").allocate([1, 1])


@given(some.lists(exact_amounts, max_size=40), currencies)
def test_adding_up_never_drifts(amounts, currency):
    added = total((Money(amount, currency) for amount in amounts), currency)
    assert Fraction(added.amount) == sum((Fraction(amount) for amount in amounts), Fraction(0))
    taken_off = added
    for amount in amounts:
        taken_off = taken_off - Money(amount, currency)
    assert taken_off == Money(0, currency)


@given(exact_amounts, some.decimals(min_value=0, max_value=10000, places=4))
def test_a_product_is_exact(amount, factor):
    assert Fraction((Money(amount, "EUR") * factor).amount) == Fraction(amount) * Fraction(factor)


def test_a_tenth_ten_times_is_one():
    assert total([Money("0.1", "GBP")] * 10, "GBP") == Money(1, "GBP")


@given(exact_amounts, exact_amounts)
def test_amounts_of_one_currency_are_ordered_as_their_numbers(one, other):
    assert (Money(one, "GBP") < Money(other, "GBP")) == (one < other)
    assert (Money(one, "GBP") <= Money(other, "GBP")) == (one <= other)
    assert (Money(one, "GBP") > Money(other, "GBP")) == (one > other)
    assert (Money(one, "GBP") >= Money(other, "GBP")) == (one >= other)


@pytest.mark.parametrize(
    "mix",
    [
        lambda a, b: a + b,
        lambda a, b: a - b,
        lambda a, b: a < b,
        lambda a, b: a <= b,
        lambda a, b: a > b,
        lambda a, b: a >= b,
        lambda a, b: total([a, b], a.currency),
        lambda a, b: total([b], a.currency),
    ],
)
@given(exact_amounts, exact_amounts)
def test_two_currencies_never_mix(mix, one, other):
    with pytest.raises(RuleBroken, match="do not mix"):
        mix(Money(one, "GBP"), Money(other, "EUR"))


def test_the_same_number_in_another_currency_is_not_the_same_money():
    assert Money(1, "GBP") != Money(1, "EUR")
    assert Money("1.0", "GBP") == Money("1.00", "GBP")


@pytest.mark.parametrize("number", [0.1, 1.0, True, False, None, [1]])
def test_floats_and_flags_are_refused(number):
    with pytest.raises(BadInput, match="wanted an exact number"):
        Money(number, "GBP")
    with pytest.raises(BadInput, match="wanted an exact number"):
        Money(1, "GBP") * number


@pytest.mark.parametrize("number", ["NaN", "sNaN", "Infinity", "-Infinity"])
def test_numbers_that_are_none_are_refused(number):
    with pytest.raises(BadInput, match="finite"):
        decimal(number)


@pytest.mark.parametrize("number", ["", "ten", "1,5", "1.2.3", "£5", "0x10"])
def test_text_that_is_no_number_is_refused(number):
    with pytest.raises(BadInput, match="wanted an exact number"):
        decimal(number)


@pytest.mark.parametrize("code", ["GBX", "gbp", "", "POUND", "XAU", "£"])
def test_a_currency_that_is_not_in_use_is_refused(code):
    with pytest.raises(BadInput, match="currency: wanted an ISO 4217 currency code"):
        Money(1, code)


@given(whole_minor, currencies)
def test_minor_units_go_there_and_back(minor, currency):
    money = Money.from_minor(minor, currency)
    assert money.minor == minor
    assert Money(money.text, currency) == money


def test_money_cannot_be_changed():
    money = Money(1, "GBP")
    with pytest.raises(AttributeError):
        money.amount = Decimal(2)


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("10.5", "GBP", "10.50"),
        ("1E+3", "GBP", "1000.00"),
        ("10", "JPY", "10"),
        ("0.0625", "EUR", "0.0625"),
        ("7", "TND", "7.000"),
    ],
)
def test_text_has_the_digits_of_the_currency_or_more(amount, currency, text):
    assert Money(amount, currency).text == text
    assert str(Money(amount, currency)) == f"{currency} {text}"


@pytest.mark.parametrize("currency", CURRENCIES)
def test_nothing_has_no_sign(currency):
    assert not Money("-0.0001", currency).rounded().text.startswith("-")
    assert not Money("-0.00", currency).text.startswith("-")
    assert not (-Money(0, currency)).text.startswith("-")
    assert percent(Money("-0.01", currency), Decimal(1)).text == Money(0, currency).text


@pytest.mark.parametrize("number", ["1e30", "-1e26", "99999999999999999999999999999"])
def test_an_amount_too_large_to_stay_exact_is_refused(number):
    with pytest.raises(BadInput, match="18 digits or fewer"):
        Money(number, "GBP")


@pytest.mark.parametrize(
    ("number", "text"),
    [("2.50", "2.5"), ("1E+2", "100"), ("0.10", "0.1"), ("100", "100"), ("0", "0"), ("7.000", "7")],
)
def test_a_quantity_is_written_short_and_whole(number, text):
    assert plain(Decimal(number)) == text


@given(some.decimals(min_value=-(10**9), max_value=10**9, places=6))
def test_a_quantity_written_is_the_quantity_read(number):
    assert Decimal(plain(number)) == number
