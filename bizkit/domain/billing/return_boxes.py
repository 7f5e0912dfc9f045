"""The boxes of the return of a country, from what was counted in a period. Countries not named here have none.

* United Kingdom (VAT Notice 700/12, from memory): 1 tax on sales, 4 tax reclaimed, 5 the difference, 6 sales without
  tax (in the flat-rate scheme its turnover with tax, and supplies outside the scheme without: Notice 700/12 section
  3.7, secondary), 7 purchases without tax, both in whole pounds.
* Germany (Kennzahlen of the Umsatzsteuer-Voranmeldung, from memory of the form; its instructions of 2021, read in a
  secondary page, say: net amounts in whole euros, payments on account among them once their tax has arisen): 81 and
  86 what is taxed at 19 % and 7 %, 87 at 0 % (§ 12 Abs. 3), 35 and 36 another rate and its tax, 48 exempt without
  input tax (§ 4 Nr. 8 to 29), 21 services to businesses in the Union taxed there (§ 18b Satz 1 Nr. 2), 45 others not
  taxable at home, 66 input tax, 83 what is left to pay. Kennzahl 60 (reverse charge at home, § 13b Abs. 5)
  never comes about in this business; what is bought under reverse charge (46, 47, 84, 85, 67) is not in the book. The
  form works the tax out on whole euros, so that 83 may differ by cents from the tax charged.
* The recapitulative statement (Zusammenfassende Meldung, § 18a Abs. 2 and 7 Nr. 3): per VAT number of a client in the
  Union the sum of those services, in the quarter in which they count.

This is no tax advice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import Final

from bizkit.domain.money import Money, percent, total
from bizkit.domain.tables.vat_area import EU

#: Categories of what is supplied where the client belongs: outside the scope of the studio's tax.
OUTSIDE: Final = ("O", "AE")

#: Kennzahl of each usual rate in Germany, and the pair for another one.
_GERMAN_RATES: Final[Mapping[Decimal, str]] = {Decimal(19): "81", Decimal(7): "86", Decimal(0): "87"}


@dataclass(frozen=True, slots=True)
class Counted:
    """What one part of a paper brought to a period, in home money. client, tax_number, country: of its client."""

    category: str
    rate: Decimal
    base: Money
    tax: Money
    client: str = ""
    tax_number: str = ""
    country: str = ""

    @property
    def in_union(self) -> bool:
        """A service supplied to a business elsewhere in the European Union."""
        return self.category in OUTSIDE and self.country in EU


@dataclass(frozen=True, slots=True)
class Service:
    """A line of the recapitulative statement: services to one client in the Union. tax_number: empty if not known."""

    client: str
    tax_number: str
    base: Money

    def data(self) -> dict[str, str]:
        """As JSON-ready data; rounded to whole euros as the form wants it, and exact."""
        rounded = self.base.amount.quantize(Decimal(1), rounding="ROUND_HALF_UP")
        return {"client": self.client, "tax_number": self.tax_number, "base": self.base.text, "whole": str(rounded)}


def whole(amount: Money) -> str:
    """Without pence or cents, which returns drop.

    >>> whole(Money("31322.99", "EUR")), whole(Money("-0.40", "EUR"))
    ('31322', '0')
    """
    return str(int(amount.amount.quantize(Decimal(1), rounding=ROUND_DOWN)))


def british(sales: Money, tax: Money, purchases: Money, reclaimed: Money, due: Money) -> dict[str, str]:
    """The boxes of the United Kingdom return (VAT Notice 700/12), those for goods moved from Northern Ireland empty.

    Box 5 has no sign: which way it goes is `due`.
    """
    nothing = Money(0, due.currency).rounded().text
    difference = Money(abs(due.amount), due.currency).text
    return {
        "1": tax.text, "2": nothing, "3": tax.text, "4": reclaimed.text, "5": difference, "6": whole(sales),
        "7": whole(purchases), "8": "0", "9": "0",
    }  # fmt: skip


def german(counted: Iterable[Counted], reclaimed: Money) -> dict[str, str]:
    """The Kennzahlen of the German advance return that this business fills; those of nothing are left out but for
    81, 66 and 83."""
    zero = Money(0, reclaimed.currency)
    bases: dict[str, Money] = {"81": zero}
    others: dict[Decimal, Money] = {}
    for part in counted:
        if part.category == "S" and part.rate not in _GERMAN_RATES:
            others[part.rate] = others.get(part.rate, zero) + part.base
            continue
        name = _kennzahl(part)
        bases[name] = bases.get(name, zero) + part.base
    tax = zero
    for rate, name in _GERMAN_RATES.items():
        tax = tax + percent(Money(int(whole(bases.get(name, zero))), zero.currency), rate)
    boxes: dict[str, str] = {
        name: whole(bases[name]) for name in ("81", "86", "87", "48", "21", "45") if name in bases
    }
    if others:
        other = total((percent(base, rate) for rate, base in others.items()), zero.currency)
        boxes |= {"35": whole(total(others.values(), zero.currency)), "36": other.text}
        tax = tax + other
    boxes["66"] = reclaimed.text
    boxes["83"] = (tax - reclaimed).rounded().text
    return boxes


def _kennzahl(part: Counted) -> str:
    if part.category == "S":
        return _GERMAN_RATES[part.rate]
    if part.category == "Z":
        return "87"
    if part.category in OUTSIDE:
        return "21" if part.in_union else "45"
    return "48"


def union_services(counted: Iterable[Counted], home: str) -> tuple[Service, ...]:
    """What the recapitulative statement lists: services to businesses elsewhere in the Union, per VAT number."""
    sums: dict[tuple[str, str], Money] = {}
    for part in counted:
        if part.in_union:
            key = (part.tax_number, part.client)
            sums[key] = sums.get(key, Money(0, home)) + part.base
    return tuple(Service(client, number, base.rounded()) for (number, client), base in sorted(sums.items()) if base)
