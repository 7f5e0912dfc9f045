"""Pieces of the sentences that say why an amount is what it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal

from bizkit.domain.money import Money, minor_digits, plain

#: For rules of the trade that no single publication is the source of.
COMMON = "common practice"

_STEPS = tuple(Decimal(1).scaleb(-digits) for digits in range(8))


def shown(amount: Money) -> str:
    """An amount for a sentence: at most two decimals more than the currency has, and none that are zeros.

    >>> shown(Money("5", "GBP")), shown(Money("39.0909090909", "GBP"))
    ('GBP 5.00', 'GBP 39.0909')
    """
    digits = minor_digits(amount.currency)
    rounded = amount.amount.quantize(_STEPS[digits], rounding=ROUND_HALF_UP)
    if rounded == amount.amount:
        return f"{amount.currency} {rounded:f}"
    longer = amount.amount.quantize(_STEPS[digits + 2], rounding=ROUND_HALF_UP)
    return f"{amount.currency} {rounded if rounded == longer else plain(longer)}"


def number_in(words: Mapping[str, str], number: Decimal | int | str) -> str:
    """A number inside an item or a sentence, with the decimal sign of the card's words.

    >>> number_in({"decimal_sign": ","}, "4.75")
    '4,75'
    """
    return plain(Decimal(number)).replace(".", words.get("decimal_sign", "."))


def money_in(words: Mapping[str, str], amount: Money) -> str:
    """An amount inside a sentence, rounded, as the card's words write money.

    >>> money_in({"decimal_sign": ",", "thousands_sign": ".", "money": "{amount} €"}, Money("1312.452", "EUR"))
    '1.312,45 €'
    """
    figure = f"{amount.rounded().amount:,.{minor_digits(amount.currency)}f}"
    signs = {",": words.get("thousands_sign", ""), ".": words.get("decimal_sign", ".")}
    written = "".join(signs.get(sign, sign) for sign in figure)
    return words.get("money", "{currency} {amount}").format(currency=amount.currency, amount=written)


def trimmed(rate: Money) -> Money:
    """A rate for print: cut to four decimals more than the currency has, where it would go on for ever.

    >>> trimmed(Money("430", "GBP")).text, trimmed(Money(Decimal(430) / 11, "GBP")).text
    ('430.00', '39.090909')
    """
    digits = minor_digits(rate.currency) + 4
    if -int(rate.amount.as_tuple().exponent) <= digits:
        return rate
    return Money(rate.amount.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP), rate.currency)


def in_hours(minutes: int | Decimal) -> str:
    """Minutes as hours: 150 is '2.5', 20 is '0.33'."""
    return plain((Decimal(minutes) / 60).quantize(_STEPS[2]))


def listed(names: Sequence[str], joined_by: str = "and") -> str:
    """Names as in a sentence.

    >>> listed(["Director", "Camera", "Editor"])
    'Director, Camera and Editor'
    """
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} {joined_by} {names[-1]}"
