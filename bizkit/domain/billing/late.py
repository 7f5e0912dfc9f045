"""Interest and compensation on money paid late, with the working.

United Kingdom: Late Payment of Commercial Debts (Interest) Act 1998 - simple interest from the day after the debt is
due (s. 4), at 8 % over the reference rate of the half-year in which it starts (SI 2002/1675), fixed until paid;
compensation of 40, 70 or 100 pounds by the size of the debt (s. 5A). European Union: Directive 2011/7/EU - at least 8
percentage points over the reference rate of each half-year, at least 40 euro; Germany carries it out with nine points
over its base rate (BGB sections 247 and 288(2), (5)). All are for debts between businesses.

A year counts 365 days. Two roundings are in use and differ by pennies: "end" multiplies exactly and rounds once;
"day" rounds the interest of a day to the penny first, as the worked example on gov.uk does. Both are worked out, one
is charged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypedDict

from bizkit.domain.billing.payment import Owed, Payment
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, plain, total
from bizkit.domain.payment_terms import CONTRACT, NONE, STATUTORY, LateTerms
from bizkit.domain.pricing.working import Working
from bizkit.domain.tables.reference_rates import BANK_OF_ENGLAND, EUROPEAN_CENTRAL_BANK, GERMAN_BASE_RATE
from bizkit.domain.tables.vat_area import EU

if TYPE_CHECKING:
    from bizkit.domain.documents.letters import InterestBasis

#: Debt from (inclusive) -> compensation. Late Payment of Commercial Debts (Interest) Act 1998 s. 5A.
_UK_COMPENSATION: Final = ((Decimal(10000), 100), (Decimal(1000), 70), (Decimal(0), 40))


#: Where a rate comes from: agreed, or points over what a bank names.
AGREED: Final = "agreed"
OVER_BANK_OF_ENGLAND: Final = "bank_of_england"
OVER_CENTRAL_BANK: Final = "european_central_bank"
OVER_BASE_RATE: Final = "german_base_rate"

#: Percentage points over it. BGB section 288(2): nine; SI 2002/1675 and Directive 2011/7/EU: eight.
POINTS: Final = {OVER_BANK_OF_ENGLAND: Decimal(8), OVER_CENTRAL_BANK: Decimal(8), OVER_BASE_RATE: Decimal(9)}

_SOURCES: Final = {
    OVER_BANK_OF_ENGLAND: "8 % over the Bank of England rate of {day} ({reference} %), SI 2002/1675",
    OVER_CENTRAL_BANK: "8 % over the ECB rate of {day} ({reference} %), Directive 2011/7/EU",
    OVER_BASE_RATE: "9 % over the German base rate of {day} ({reference} %), BGB sections 247 and 288",
}


@dataclass(frozen=True, slots=True)
class Basis:
    """Why a rate is what it is. kind: one of the three above. day, reference: of the bank's rate, percent."""

    kind: str
    day: date | None = None
    reference: Decimal = Decimal(0)

    @property
    def text(self) -> str:
        """In English, for the working."""
        if self.kind == AGREED:
            return "agreed in the contract"
        return _SOURCES[self.kind].format(day=self.day, reference=plain(self.reference))

    def data(self) -> InterestBasis:
        """As JSON-ready data, for the paper to word."""
        if not self.day:
            return {"kind": self.kind}
        return {
            "kind": self.kind,
            "day": f"{self.day}",
            "reference": plain(self.reference),
            "points": plain(POINTS.get(self.kind, Decimal(0))),
        }


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days with one principal and one rate. first and last are inclusive; rate is percent a year."""

    first: date
    last: date
    principal: Money
    rate: Decimal
    basis: Basis

    @property
    def days(self) -> int:
        """How many days interest runs."""
        return (self.last - self.first).days + 1

    @property
    def per_day(self) -> Money:
        """Interest of one day, exact."""
        return Money(self.principal.amount * self.rate / 36500, self.principal.currency)

    @property
    def exact(self) -> Money:
        """Interest of all its days, exact."""
        return Money(self.principal.amount * self.rate * self.days / 36500, self.principal.currency)

    def data(self) -> StretchData:
        """As JSON-ready data, for the paper to word."""
        return {
            "first": self.first.isoformat(),
            "last": self.last.isoformat(),
            "days": self.days,
            "principal": self.principal.rounded().text,
            "rate": plain(self.rate),
            "basis": self.basis.data(),
        }


@dataclass(frozen=True, slots=True)
class LateInterest:
    """Interest up to a day, by both roundings. charged: the one the studio's terms choose."""

    stretches: tuple[Stretch, ...]
    rounded_at_end: Money
    rounded_by_day: Money
    charged: Money
    working: Working


def late_interest(
    owed: Owed,
    payments: Sequence[Payment],
    until: date,
    *,
    country: str,
    terms: LateTerms,
    credits: Sequence[tuple[date, Money]] = (),
) -> LateInterest:
    """Interest on what was left of an invoice from the day after it was due up to and including `until`.

    A payment or credit stops interest on its amount after its own day; what was paid back beyond what was overpaid
    bears none, see `moves_of`. country: whose law holds (the studio's).
    Raises BadInput when the reference rate of a needed day is not known, RuleBroken where no statutory rule is.
    """
    currency = owed.due.currency
    starts = owed.due_on + timedelta(days=1)
    moves = moves_of(owed, payments, credits)
    edges = {starts, until + timedelta(days=1)}
    edges |= {day + timedelta(days=1) for day, _ in moves}
    if terms.interest == STATUTORY and country != "GB":
        edges |= {date(year, month, 1) for year in range(starts.year, until.year + 1) for month in (1, 7)}
    days = sorted(day for day in edges if starts <= day <= until + timedelta(days=1))
    stretches = []
    for first, following in pairwise(days):
        gone = total((amount for day, amount in moves if day < first), currency)
        principal = owed.due - gone
        if principal.amount > 0 and terms.interest != NONE:
            rate, basis = rate_for(country, starts, first, terms)
            stretches.append(Stretch(first, following - timedelta(days=1), principal, rate, basis))
    at_end = total((stretch.exact for stretch in stretches), currency).rounded()
    by_day = total((stretch.per_day.rounded() * stretch.days for stretch in stretches), currency).rounded()
    charged = by_day if terms.rounding == "day" else at_end
    return LateInterest(tuple(stretches), at_end, by_day, charged, _working(owed, until, stretches, charged, terms))


def moves_of(
    owed: Owed, payments: Sequence[Payment], credits: Sequence[tuple[date, Money]]
) -> list[tuple[date, Money]]:
    """What an invoice goes down by for the reckoning of lateness: day and amount, in order.

    Money that went back counts only where it was overpaid. What the studio paid back beyond that is owed again, but
    the studio gave it away: nobody is late with it. A payment that is taken back for its own day never came.
    """
    nothing = Money(0, owed.due.currency)
    came: dict[date, Money] = {}
    for payment in payments:
        came[payment.received_on] = came.get(payment.received_on, nothing) + payment.amount
    off: dict[date, Money] = {}
    for day, amount in credits:
        off[day] = off.get(day, nothing) + amount
    left, moves = owed.due, []
    for day in sorted({*came, *off}):
        left = left - off.get(day, nothing)
        sum_ = came.get(day, nothing)
        if sum_ < nothing:
            sum_ = -min(-sum_, max(-left, nothing))
        left = left - sum_
        moves.append((day, off.get(day, nothing) + sum_))
    return moves


def rate_for(country: str, starts: date, on: date, terms: LateTerms) -> tuple[Decimal, Basis]:
    """Percent a year on day `on` of interest that started on `starts`, and where it comes from."""
    if terms.interest == CONTRACT:
        if terms.rate is None:
            raise BadInput(wanted="the agreed rate", got="nothing", field="late.rate", where="studio.toml")
        return terms.rate, Basis(AGREED)
    if country == "GB":
        day = date(starts.year, 6, 30) if starts.month > 6 else date(starts.year - 1, 12, 31)
        reference = _reference(BANK_OF_ENGLAND, day, terms, "Bank of England")
        return POINTS[OVER_BANK_OF_ENGLAND] + reference, Basis(OVER_BANK_OF_ENGLAND, day, reference)
    if country in EU:
        law = terms.law or _law_of(country)
        table, name = _BY_HALF_YEAR[law]
        day = date(on.year, 7 if on.month > 6 else 1, 1)
        reference = _reference(table, day, terms, name)
        return POINTS[law] + reference, Basis(law, day, reference)
    raise RuleBroken(f"no statutory interest of {country} is known here: agree a rate and write it under [late]")


#: Rates that move each half-year -> their table, and what they are called.
_BY_HALF_YEAR: Final = {
    OVER_CENTRAL_BANK: (EUROPEAN_CENTRAL_BANK, "European Central Bank"),
    OVER_BASE_RATE: (GERMAN_BASE_RATE, "Deutsche Bundesbank's base"),
}


def _law_of(country: str) -> str:
    """Over whose rate statutory interest runs in a country of the European Union."""
    return OVER_BASE_RATE if country == "DE" else OVER_CENTRAL_BANK


def _reference(table: Mapping[date, Decimal], day: date, terms: LateTerms, bank: str) -> Decimal:
    own = terms.reference_rate(day)
    found = own if own is not None else table.get(day)
    if found is None:
        raise BadInput(
            wanted=f"the {bank} rate of {day}",
            got="none in the table",
            field="late.reference_rates",
            where="studio.toml",
            hint=f"Add [[late.reference_rates]] with on = {day}, rate and source",
        )
    return found


def _working(owed: Owed, until: date, stretches: Sequence[Stretch], charged: Money, terms: LateTerms) -> Working:
    parts = []
    for stretch in stretches:
        parts.append(
            Working(
                text=f"{stretch.principal} at {plain(stretch.rate)} % a year from {stretch.first} to {stretch.last}: "
                f"{stretch.days} days of {stretch.per_day.rounded()} (exactly {stretch.per_day.amount:.4f})",
                rule="late.interest",
                amount=stretch.exact,
                source=stretch.basis.text,
            )
        )
    how = "a day's interest rounded to the penny" if terms.rounding == "day" else "rounded once at the end"
    return Working(
        text=f"Interest on {owed.number}, due {owed.due_on}, up to {until}: {charged} ({how}, year of 365 days)",
        rule="late.interest",
        amount=charged,
        parts=tuple(parts),
    )


def late_law(country: str, currency: str) -> tuple[str, tuple[Money, ...]]:
    """Over whose rate statutory interest runs in a country ("" where none is known here), and the fixed sums of a
    debt in this currency, the lowest and the highest where they depend on it.

    >>> late_law("GB", "GBP")
    ('bank_of_england', (Money('40', 'GBP'), Money('100', 'GBP')))
    """
    if country == "GB":
        sums = sorted(each for _, each in _UK_COMPENSATION)
        return OVER_BANK_OF_ENGLAND, (Money(sums[0], "GBP"), Money(sums[-1], "GBP")) if currency == "GBP" else ()
    if country in EU:
        return _law_of(country), (Money(40, "EUR"),) if currency == "EUR" else ()
    return "", ()


def compensation(debt: Money, country: str) -> Money | None:
    """The fixed sum a late payer owes beside interest; None where no rule in the debt's currency is known.

    debt: what was due and not paid in time, tax included.

    >>> compensation(Money("999.99", "GBP"), "GB"), compensation(Money("1000", "GBP"), "GB")
    (Money('40', 'GBP'), Money('70', 'GBP'))
    """
    if debt.amount <= 0:
        return None
    if country == "GB" and debt.currency == "GBP":
        return next(Money(sum_, "GBP") for least, sum_ in _UK_COMPENSATION if debt.amount >= least)
    if country in EU and debt.currency == "EUR":
        return Money(40, "EUR")
    return None


class StretchData(TypedDict):
    """Days with one principal and one rate, both ends included, as JSON."""

    first: str
    last: str
    days: int
    principal: str
    rate: str
    basis: InterestBasis
