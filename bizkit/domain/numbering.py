"""How the numbers of papers look. Drawing the next one is the store's business; this is only the pattern.

A pattern is a Python format string with two names: `{year}` and `{number}`, such as `GL-{year}-{number:04}`.
With the year in the pattern a series may start again every year; without it the series runs on for ever.
Source of the need for one unbroken series: SI 1995/2518 regulation 14(1)(a) and Directive 2006/112/EC article
226(2): a sequential number, based on one or more series, which uniquely identifies the document.
"""

import string
from dataclasses import dataclass
from typing import Annotated, Final

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key, keys_of
from bizkit.domain.inputs.reading import Table

_WANTED: Final = "a pattern such as GL-{year}-{number:04}"
_NAMES: Final = ("year", "number")
#: Longest number that a bank reference still carries (EN 16931 has no limit; SEPA end-to-end ids hold 35).
MOST_CHARACTERS: Final = 35


def format_number(pattern: str, year: int, number: int) -> str:
    """The number of a paper. Raises BadInput for a pattern that could give two papers the same number.

    >>> format_number("GL-{year}-{number:04}", 2027, 1)
    'GL-2027-0001'
    >>> format_number("GL-{year}", 2027, 1)
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: numbers: wanted a pattern such as GL-{year}-{number:04}, got GL-{year}. No {number}
    """
    check_pattern(pattern)
    if not 1000 <= year <= 9999:
        raise BadInput(wanted="a year of four digits", got=year, field="year")
    if number < 1:
        raise BadInput(wanted="a number of 1 or more", got=number, field="number")
    return pattern.format(year=year, number=number)


def restarts_yearly(pattern: str) -> bool:
    """Whether the pattern holds the year, so that the series may begin at 1 again each year."""
    return "year" in _parts(pattern, "numbers")


def check_pattern(pattern: str, *, field: str = "numbers", where: str = "") -> None:
    """Refuse a pattern that could repeat a number or that banks and files cannot carry. Raises BadInput."""

    def wrong(hint: str) -> BadInput:
        return BadInput(wanted=_WANTED, got=pattern, field=field, where=where, hint=hint)

    if not pattern.isprintable() or pattern != pattern.strip() or not pattern.isascii():
        raise wrong("Only plain printable letters, digits and signs, without space at the ends")
    bare = pattern.replace("{number:", "{number")
    if any(sign in bare for sign in '/\\:*?"<>|') or ".." in bare or bare[:1] in ".-":
        raise wrong('It becomes a file name: leave out / \\ : * ? " < > | and .., and begin with a letter or digit')
    parts = _parts(pattern, field, where)
    if parts.count("number") == 0:
        raise wrong("No {number}")
    if parts.count("number") > 1 or parts.count("year") > 1:
        raise wrong("Use {number} once and {year} at most once")
    # A year has four digits and zero-filling never cuts, so two different pairs never print the same.
    if len(pattern.format(year=2027, number=99999)) > MOST_CHARACTERS:
        raise wrong(f"Keep numbers within {MOST_CHARACTERS} characters, so that bank references carry them")


def _parts(pattern: str, field: str, where: str = "") -> list[str]:
    """Names used in the pattern, in order. Raises BadInput for unknown names and formats other than zero-filled."""
    names = []
    try:
        pieces = list(string.Formatter().parse(pattern))
    except ValueError:
        raise BadInput(wanted=_WANTED, got=pattern, field=field, where=where, hint="A brace is open") from None
    for _, name, spec, conversion in pieces:
        if name is None:
            continue
        if name not in _NAMES or conversion or (spec and not (spec.isdigit() and spec[0] == "0" and int(spec) <= 9)):
            raise BadInput(
                wanted=_WANTED,
                got=pattern,
                field=field,
                where=where,
                hint="Only {year}, {number} and zero-filled widths such as {number:04} are known",
            )
        names.append(name)
    return names


def _pattern(text: str) -> str:
    check_pattern(text, field="")
    return text


@dataclass(frozen=True, slots=True)
class Numbers:
    """The pattern of each series. Each must differ, so that no two kinds of paper share a number."""

    invoice: Annotated[str, Key("Of invoices.", rule=_pattern, wanted=_WANTED)] = "INV-{year}-{number:04}"
    quote: Annotated[str, Key("Of quotes.", rule=_pattern, wanted=_WANTED)] = "Q-{year}-{number:04}"
    credit_note: Annotated[str, Key("Of credit notes.", rule=_pattern, wanted=_WANTED)] = "CN-{year}-{number:04}"
    licence: Annotated[str, Key("Of certificates of licences.", rule=_pattern, wanted=_WANTED)] = (
        "LC-{year}-{number:04}"
    )
    delivery_note: Annotated[str, Key("Of delivery notes.", rule=_pattern, wanted=_WANTED)] = "DN-{year}-{number:04}"
    form: Annotated[str, Key("Of forms to be signed.", rule=_pattern, wanted=_WANTED)] = "F-{year}-{number:04}"

    def settled(self, at: Table) -> "Numbers":
        """No two series may print the same number."""
        printed: dict[str, str] = {}
        for key in (one.name for one in keys_of(Numbers)):
            pattern = getattr(self, key)
            number = format_number(pattern, 2027, 1)
            if number in printed:
                at.problem(key, f"a pattern that differs from {printed[number]}'s", pattern)
            printed.setdefault(number, key)
        return self
