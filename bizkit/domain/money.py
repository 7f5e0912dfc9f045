"""Money: an exact amount in a named currency.

The rules, in one place:

* the currency is always said; two currencies never mix;
* floats and bools are refused; an amount may carry more digits than the currency has until it is rounded;
* one rounding per printed line, half away from zero, to the ISO 4217 minor unit; totals are sums of rounded lines;
* `allocate` splits so that the parts add up to the whole.

Half away from zero is what the EN 16931 validation tests expect of tax amounts, negative ones included.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.tables.currencies import MINOR_UNITS

#: Digits before the point; with the 28 that Decimal keeps, ten are left behind it.
LARGEST_DIGITS = 18

#: Digits before the point of an amount that is typed or read from a bank's file. The book keeps minor units in 64
#: bits: hundreds of the largest still add up in it.
AMOUNT_DIGITS = 13
MOST_MINOR = 2**63 - 1


def decimal(value: Decimal | int | str) -> Decimal:
    """An exact Decimal from text, int or Decimal. Floats, bools, infinities and giants are refused.

    >>> decimal("0.1")
    Decimal('0.1')
    >>> decimal(0.1)
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: wanted an exact number (text, whole number or decimal), got 0.1
    """
    if type(value) is Decimal:
        number = value
    elif isinstance(value, bool) or not isinstance(value, (Decimal, int, str)):
        raise BadInput(wanted="an exact number (text, whole number or decimal)", got=value)
    else:
        try:
            if isinstance(value, str) and ("_" in value or not value.isascii() or value != value.strip()):
                raise InvalidOperation  # Python reads 1_000 and full-width digits; nobody else does
            number = Decimal(value)
        except InvalidOperation:
            raise BadInput(wanted="an exact number (text, whole number or decimal)", got=value) from None
    if not number.is_finite():
        raise BadInput(wanted="a finite number", got=value)
    if number and number.adjusted() >= LARGEST_DIGITS:
        raise BadInput(wanted=f"a number of {LARGEST_DIGITS} digits or fewer before the point", got=value)
    return number


def minor_digits(currency: str) -> int:
    """Decimals of the currency's minor unit by ISO 4217 (GBP 2, JPY 0, TND 3)."""
    try:
        return MINOR_UNITS[currency]
    except KeyError:
        raise BadInput(
            wanted="an ISO 4217 currency code such as GBP or EUR", got=currency, field="currency"
        ) from None


def currency_code(text: str) -> str:
    """The code of a currency in capitals (ISO 4217). Raises BadInput for one that is none."""
    minor_digits(text.upper())
    return text.upper()


def round_half_away(number: Decimal, digits: int) -> Decimal:
    """`number` with `digits` decimals, halves going away from zero.

    >>> round_half_away(Decimal("-0.125"), 2)
    Decimal('-0.13')
    """
    return number.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP)


@dataclass(frozen=True, slots=True, order=False)
class Money:
    """An exact amount of one currency.

    >>> Money("10.005", "GBP").rounded()
    Money('10.01', 'GBP')
    >>> Money("1", "GBP") + Money("1", "EUR")
    Traceback (most recent call last):
    bizkit.domain.errors.RuleBroken: GBP and EUR do not mix: convert one at a recorded rate first
    """

    amount: Decimal
    currency: str

    def __init__(self, amount: Decimal | int | str, currency: str) -> None:
        if currency not in MINOR_UNITS:
            minor_digits(currency)  # says what is wrong
        exact = decimal(amount)
        object.__setattr__(self, "amount", exact if exact else exact.copy_abs())  # nothing has no sign
        object.__setattr__(self, "currency", currency)

    @classmethod
    def from_minor(cls, minor: int, currency: str) -> Money:
        """From whole minor units (pence, cents): `Money.from_minor(1050, "GBP")` is GBP 10.50."""
        return cls(Decimal(minor).scaleb(-minor_digits(currency)), currency)

    @property
    def minor(self) -> int:
        """Whole minor units, as the book keeps them.

        Raises RuleBroken when the amount was not rounded first, BadInput for one that 64 bits do not hold.
        """
        scaled = self.amount.scaleb(minor_digits(self.currency))
        if abs(scaled) > MOST_MINOR:
            raise BadInput(wanted=f"an amount of {AMOUNT_DIGITS} digits or fewer before the point", got=self)
        if scaled != scaled.to_integral_value():
            raise RuleBroken(f"{self.amount} {self.currency} has parts of a minor unit: round it first")
        return int(scaled)

    def rounded(self) -> Money:
        """To the minor unit, half away from zero."""
        return Money(round_half_away(self.amount, minor_digits(self.currency)), self.currency)

    def _same(self, other: Money) -> None:
        if self.currency != other.currency:
            raise RuleBroken(f"{self.currency} and {other.currency} do not mix: convert one at a recorded rate first")

    def __add__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.amount + other.amount, self.currency)

    def __sub__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.amount - other.amount, self.currency)

    def __mul__(self, factor: Decimal | int) -> Money:
        return Money(self.amount * decimal(factor), self.currency)

    def __neg__(self) -> Money:
        return Money(-self.amount, self.currency)

    def __lt__(self, other: Money) -> bool:
        self._same(other)
        return self.amount < other.amount

    def __le__(self, other: Money) -> bool:
        self._same(other)
        return self.amount <= other.amount

    def __gt__(self, other: Money) -> bool:
        self._same(other)
        return self.amount > other.amount

    def __ge__(self, other: Money) -> bool:
        self._same(other)
        return self.amount >= other.amount

    def __bool__(self) -> bool:
        return self.amount != 0

    def __repr__(self) -> str:
        return f"Money('{self.amount}', '{self.currency}')"

    def __str__(self) -> str:
        """`GBP 10.50`, plain and the same in every locale (pages and papers use the client's own)."""
        return f"{self.currency} {self.text}"

    @property
    def text(self) -> str:
        """The amount as text with at least the currency's decimals, for JSON: '10.50'."""
        digits = minor_digits(self.currency)
        text = f"{self.amount:f}"
        point = text.find(".")
        decimals = len(text) - point - 1 if point >= 0 else 0
        return text if decimals >= digits else f"{self.amount:.{digits}f}"

    def allocate(self, weights: Sequence[Decimal | int]) -> list[Money]:
        """Split into rounded parts in proportion to `weights`, adding up to the whole exactly.

        Largest remainder: every part is rounded down, then the minor units left over go to the parts that lost
        most, the earlier part first in a tie. Raises RuleBroken for no weights, a negative one, or all zero.

        >>> [part.text for part in Money("100", "GBP").allocate([1, 1, 1])]
        ['33.34', '33.33', '33.33']
        """
        exact = [decimal(weight) for weight in weights]
        whole = sum(exact, Decimal(0))
        if not exact or min(exact) < 0 or whole == 0:
            raise RuleBroken("an amount is split by weights of zero or more that are not all zero")
        sign = -1 if self.minor < 0 else 1
        units = abs(self.minor)
        # In whole numbers, so that no decimal context cuts a digit.
        shares = [weight.as_integer_ratio() for weight in exact]
        common = math.lcm(*(denominator for _, denominator in shares))
        parts = [numerator * (common // denominator) for numerator, denominator in shares]
        total = sum(parts)
        floors = [units * part // total for part in parts]
        remainders = [units * part % total for part in parts]
        left = units - sum(floors)
        for index in sorted(range(len(parts)), key=lambda i: (-remainders[i], i))[:left]:
            floors[index] += 1
        return [Money.from_minor(sign * floor, self.currency) for floor in floors]


def check_kept(amount: Money, *, field: str = "amount", where: str = "") -> Money:
    """`amount` as the book keeps it: whole minor units, no giant. Raises BadInput."""
    if amount != amount.rounded():
        raise BadInput(wanted=f"whole minor units of {amount.currency}", got=amount, field=field, where=where)
    if amount and amount.amount.adjusted() >= AMOUNT_DIGITS:
        wanted = f"an amount of {AMOUNT_DIGITS} digits or fewer before the point"
        raise BadInput(wanted=wanted, got=amount, field=field, where=where)
    return amount.rounded()


def total(amounts: Iterable[Money], currency: str) -> Money:
    """Sum of `amounts`, all in `currency`; zero of it when there are none."""
    result = Money(0, currency)
    for amount in amounts:
        result = result + amount
    return result


def percent(amount: Money, rate: Decimal) -> Money:
    """`rate` percent of `amount`, rounded to the minor unit half away from zero.

    Source: EN 16931 BR-CO-17, CEN validation artefacts unit tests (6491.34 at 25 % is 1622.84).

    >>> percent(Money("-6491.34", "EUR"), Decimal(25))
    Money('-1622.84', 'EUR')
    """
    return (amount * rate * Decimal("0.01")).rounded()


def plain(number: Decimal) -> str:
    """A quantity or factor as short exact text: no exponent, no trailing zeros.

    >>> plain(Decimal("2.50")), plain(Decimal("1E+2"))
    ('2.5', '100')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
