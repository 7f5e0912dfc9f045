"""Numbers as people type them: every amount, percentage, quantity and rate that is given as text is read here.

The rule, in one place:

* the decimal sign is a point: `184.50`;
* a comma groups thousands, and only where it can do nothing else: groups of exactly three digits after a first one of
  one to three that does not begin with 0, in a number that makes no sense with the comma as its decimal sign. So
  `1,234.50` and `1,234,567` are read anywhere, `1,234` as an amount of a currency with two decimals (no amount of it
  has three), and never as a rate;
* what two people could read differently is refused, and both readings are named: `184,50` (184.50 or 18450), `1,234`
  as a rate (1.234 or 1234), and `1.234` as a rate or a distance too, as it is 1234 where the comma is the decimal
  sign (`1.2340` is taken). A reading that nobody can mean (over 100 %, a part of a penny) is none: `1.234` percent is
  taken;
* plain digits only: what else a computer takes for a number (`1_000`, `1e3`, `１２`, `Infinity`, `NaN`) is no amount
  to a person, and neither is one with a currency sign or a space in it.

Numbers in TOML leave no doubt (TOML 1.0: the point is the decimal sign, nothing groups but `_`), and do not come here
unless they stand in quotes. A file that says itself what its decimal sign is goes through `declared_number`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from typing import Final

from bizkit.domain.errors import BadInput
from bizkit.domain.money import LARGEST_DIGITS, Money, check_kept, minor_digits

#: Longest text that is looked at as a number: no quantity of this trade needs it.
MOST_CHARACTERS: Final = 40

_SIGNED: Final = re.compile(r"([+-]?)([0-9.,]*[0-9])", re.ASCII)


def number_of(
    text: str,
    *,
    field: str,
    where: str = "",
    wanted: str = "a number such as 12.5",
    unfit: str = "",
    least: Decimal | int | None = None,
    most: Decimal | int | None = None,
) -> Decimal:
    """An exact number from `least` to `most`, both included, by the rule above. Raises BadInput naming the field.

    wanted, unfit: what the error says was wanted of what is no number, and of one outside the limits.

    >>> number_of("0.8612", field="--rate")
    Decimal('0.8612')
    >>> number_of("1e3", field="--rate")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: --rate: wanted a number such as 12.5, got 1e3
    """

    def fits(number: Decimal) -> bool:
        return (least is None or number >= least) and (most is None or number <= most)

    return _read(text, fits, fits, wanted=wanted, unfit=unfit or wanted, field=field, where=where)


def amount_of(text: str, currency: str, field: str, *, where: str = "") -> Money:
    """An amount of `currency` in whole minor units, by the rule above. Raises BadInput naming the field.

    >>> amount_of("1,234.50", "GBP", "AMOUNT")
    Money('1234.50', 'GBP')
    >>> amount_of("0.005", "GBP", "--fee")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: --fee: wanted an amount in whole minor units of GBP, got 0.005
    """
    try:
        digits = minor_digits(currency)
    except BadInput as error:
        raise BadInput(wanted=error.wanted, got=currency, field="--currency", where=where) from None

    def whole(number: Decimal) -> bool:
        return number == number.quantize(Decimal(1).scaleb(-digits))

    def as_written(number: Decimal) -> bool:
        return whole(number) and len(f"{number:f}".partition(".")[2]) <= digits

    number = _read(
        text,
        whole,
        as_written,
        wanted=f"an amount such as {Decimal('184.5'):.{digits}f}" if digits else "an amount such as 184",
        unfit=f"an amount in whole minor units of {currency}",
        field=field,
        where=where,
    )
    return check_kept(Money(number, currency), field=field, where=where)


def declared_number(text: str, *, point: str, group: str) -> Decimal | None:
    """The number of a cell in a file that says what its decimal sign is; None for what is none, written so.

    group: what groups thousands there, empty where nothing does.

    >>> declared_number("1.234,50", point=",", group="."), declared_number("1,234", point=".", group="")
    (Decimal('1234.50'), None)
    """
    if not _grammar(point, group).fullmatch(text):
        return None
    return Decimal((text.replace(group, "") if group else text).replace(point, "."))


def _grammar(point: str, group: str) -> re.Pattern[str]:
    grouped = rf"[1-9][0-9]{{0,2}}(?:{re.escape(group)}[0-9]{{3}})+|" if group else ""
    return re.compile(rf"[+-]?(?:(?:{grouped}[0-9]+)(?:{re.escape(point)}[0-9]+)?|{re.escape(point)}[0-9]+)")


def readings(text: str) -> str:
    """What a number with a comma or a point in it may be to two people, as a sentence; empty for what is none.

    >>> readings("184,50")
    'It can be read as 184.50 or as 18450. A decimal sign is a point here'
    """
    shape = _SIGNED.fullmatch(text)
    if len(text) > MOST_CHARACTERS or not shape or not re.search("[.,]", text):
        return ""
    sign, digits = shape.groups()
    whole, _, part = digits.replace(",", ".").rpartition(".")
    whole = whole.replace(".", "")
    one_sign = not ("." in digits and "," in digits)
    readings = []
    if not one_sign or len(re.findall("[.,]", digits)) == 1:
        readings.append(f"{sign}{whole or '0'}.{part}")
    if one_sign:
        readings.append(f"{sign}{(whole + part).lstrip('0') or '0'}")
    rule = ". A decimal sign is a point here" if "," in text else ""
    return f"It can be read as {' or as '.join(readings)}{rule}"


def _alone(text: str) -> str:
    """How a number is typed that came with a currency or with spaces; empty for what is none without them.

    >>> _alone("£1,200"), _alone("5000.00GBP"), _alone("5 000"), _alone("1e3")
    ('Type it alone: 1,200', 'Type it alone: 5000.00', 'Type it alone: 5000', '')
    """
    bare = re.sub(r"^[A-Z]{3}(?![A-Za-z])|(?<![A-Za-z])[A-Z]{3}$", "", text)
    bare = "".join(sign for sign in bare if unicodedata.category(sign) not in ("Sc", "Zs"))
    return (
        f"Type it alone: {bare}" if bare != text and declared_number(bare, point=".", group=",") is not None else ""
    )


def _read(
    text: str,
    fits: Callable[[Decimal], bool],
    meant: Callable[[Decimal], bool],
    *,
    wanted: str,
    unfit: str,
    field: str,
    where: str,
) -> Decimal:
    """The one number that `text` can be. meant: whether somebody could mean the number that it is elsewhere.

    wanted: what was wanted, where it is no number; unfit: where it is one that does not fit.
    """
    bare = text.strip()
    ours = declared_number(bare, point=".", group=",")
    theirs = declared_number(bare, point=",", group=".")
    if ours is None or len(bare) > MOST_CHARACTERS or (ours and ours.adjusted() >= LARGEST_DIGITS):
        raise BadInput(wanted=wanted, got=text, field=field, where=where, hint=readings(bare) or _alone(bare))
    doubt = theirs is not None and theirs != ours and meant(theirs)
    if not fits(ours):
        raise BadInput(wanted=unfit, got=text, field=field, where=where, hint=readings(bare) if doubt else "")
    if doubt:
        advice = f": write {bare}0 if it is the first" if "," not in bare and meant is fits else ""
        raise BadInput(
            wanted=wanted,
            got=text,
            field=field,
            where=where,
            hint=readings(bare) + advice,
        )
    return ours
