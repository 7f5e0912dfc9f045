"""An amount as a bank writes it in a cell of its CSV: grouping, currency signs, brackets, a trailing minus.

What two people could read differently is refused: `1.140` of a currency with two decimals, where the point is the
decimal sign, is 1.14 to one and 1140 to the other. A currency that the cell names is never passed over.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from bizkit.domain.errors import BadInput
from bizkit.domain.money import minor_digits
from bizkit.domain.tables.currencies import MINOR_UNITS
from bizkit.domain.typed_numbers import declared_number

#: Sign -> the currencies that use it. Unicode Common Locale Data Repository, narrow currency symbols; from memory.
_SIGNS: Final = {
    "€": frozenset({"EUR"}),
    "£": frozenset({"GBP", "GIP", "FKP", "SHP", "EGP", "SSP", "LBP"}),
    "¥": frozenset({"JPY", "CNY"}),
    "$": frozenset(
        {"USD", "AUD", "CAD", "NZD", "HKD", "SGD", "TWD", "MXN", "ARS", "CLP", "COP", "BBD", "BMD", "BND", "BSD"}
        | {"BZD", "FJD", "GYD", "JMD", "KYD", "LRD", "NAD", "SBD", "SRD", "TTD", "UYU", "XCD"}
    ),
}
#: Three letters, which a figure may follow at once.
_CODE: Final = re.compile(r"(?<![^\W\d_])[A-Za-z]{3}(?![^\W\d_])")
#: Codes of currencies that are words of a heading too.
_WORDS: Final = frozenset({"ALL", "TOP", "TRY", "CUP"})
#: A dash in place of the minor units, as in 1.140,- (commercial notation in German-speaking countries).
_NO_MINOR: Final = re.compile(r"[-\u2013\u2014]{1,2}")


def read_amount(text: str, decimal_comma: bool = False, *, currency: str = "", where: str = "") -> Decimal:
    """An amount as the bank writes it: grouping, currency signs, brackets or a trailing minus for what went out.

    currency: of the movement; empty where it does not matter yet. Raises BadInput for what is no amount, could be
    read both ways, or names another currency.

    >>> read_amount("(1.234,50 €)", decimal_comma=True)
    Decimal('-1234.50')
    >>> read_amount("1.140,-", decimal_comma=True)
    Decimal('1140')
    """
    point, group = (",", ".") if decimal_comma else (".", ",")
    if currency:
        check_currency(text, currency, where=where)
    bare, negative = _bare(text, point)
    number = declared_number(bare.removesuffix(point), point=point, group=group)
    if number is None or bare[:1] in ("+", "-"):
        raise BadInput(
            wanted=f"an amount such as 1{group}234{point}50",
            got=text,
            field="amount",
            where=where,
            hint=f"Or set decimal_comma = {'false' if decimal_comma else 'true'}",
        )
    if currency:
        _check_doubt(text, bare, number, point, group, currency, where)
    return -number if negative else number


def _bare(text: str, point: str) -> tuple[str, bool]:
    """The figures of a cell, and whether it is below zero."""
    bare = re.sub(r"[\s\u00a0\u202f'’£$€¥]", "", _CODE.sub("", text.replace("\u2212", "-")))
    negative = False
    if bare.startswith("(") and bare.endswith(")"):
        bare, negative = bare[1:-1], True
    if bare.upper().endswith(("CR", "DR")):
        negative = negative != bare.upper().endswith("DR")
        bare = bare[:-2]
    whole, sign, after = bare.rpartition(point)
    if sign and _NO_MINOR.fullmatch(after):
        bare = whole
    elif bare.endswith("-"):
        bare, negative = bare[:-1], not negative
    if bare[:1] in ("+", "-"):
        negative = negative != bare.startswith("-")
        bare = bare[1:]
    return bare, negative


def _check_doubt(text: str, bare: str, ours: Decimal, point: str, group: str, currency: str, where: str) -> None:
    """Refuse what is another amount where the other sign is the decimal one, unless it is written out in full."""
    theirs = declared_number(bare, point=group, group=point)
    try:
        digits = minor_digits(currency)
    except BadInput:
        return  # the currency is named by whoever makes an amount of it
    if theirs is None or theirs == ours or _decimals(ours) == digits or _decimals(theirs) > digits:
        return
    raise BadInput(
        wanted=f"whole minor units of {currency}, written so that they can be read in one way",
        got=text,
        field="amount",
        where=where,
        hint=f"It is {ours.normalize():f} or {theirs:f}: decimal_comma says which sign is the decimal one",
    )


def _decimals(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def check_currency(text: str, currency: str, *, where: str = "") -> None:
    """Raises BadInput where a cell names another currency than `currency`, that of the movement."""
    codes = {code.upper() for code in _CODE.findall(text)}
    _check(text, codes, currency, field="amount", where=where)


def check_heading(heading: str, currency: str, *, where: str = "") -> None:
    """Raises BadInput where the heading of a column of amounts, such as "Betrag (€)", names another currency."""
    codes = set(_CODE.findall(heading)) & (set(MINOR_UNITS) - _WORDS)
    _check(heading, codes, currency, field="statement", where=where)


def _check(text: str, codes: set[str], currency: str, *, field: str, where: str) -> None:
    signs = [sign for sign in _SIGNS if sign in text]
    if codes - {currency} or any(currency not in _SIGNS[sign] for sign in signs):
        raise BadInput(
            wanted=f"{currency}, which the account is in",
            got=text,
            field=field,
            where=where,
            hint="If it is in another, say --currency, or name the column of currencies under [statement]",
        )
