"""When a job was paid in full: the days on which a licence "on full payment" counts.

They begin when nothing is left of any invoice issued by then, everything quoted was invoiced, and no charge made by
then waits for its invoice; one that is given up waits until that day. What is billed later does not end them. Money
taken back does, and so does a credit note that has what was billed by then billed again, until that is paid; the days
before stay what they were. Of a job paid in full before it was cancelled, nothing of the quote is asked for any more.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import accumulate
from typing import TYPE_CHECKING

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.rights.term import Term
from bizkit.services.job.called_off import cancellations

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import Payment
    from bizkit.store.charges import Asked
    from bizkit.store.register import Entry


@dataclass(frozen=True, slots=True)
class Account:
    """Invoices and credit notes by job, payments by invoice."""

    bills: Mapping[str, Sequence[Entry]]
    payments: Mapping[str, Sequence[Payment]]


def read_account(work: Connection, job: str | None = None) -> Account:
    """What one job or all were billed and what came in."""
    from bizkit.store.payments import payments_of_job
    from bizkit.store.register import bills

    papers: dict[str, list[Entry]] = defaultdict(list)
    for bill in bills(work, job):
        papers[bill.key].append(bill)
    came: dict[str, list[Payment]] = defaultdict(list)
    for one in payments_of_job(work, job):
        came[one.invoice].append(one)
    return Account(papers, came)


def paid_periods(work: Connection, job: str | None = None) -> dict[str, tuple[Term, ...]]:
    """Job -> the days on which it was paid in full, of one job or all; those that never were are left out.

    A day that has passed keeps its answer, whatever is recorded of later ones.
    """
    from bizkit.store.charges import asked
    from bizkit.store.jobs import opened_on, stages

    cancelled = cancellations(work, job)
    account = read_account(work, job)
    charged: dict[str, list[Asked]] = defaultdict(list)
    for one in asked(work, job):
        charged[one.job].append(one)
    staged: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for row in stages(work, job):
        staged[row.job].append((row.position, row.invoice))
    found = {}
    for key, opened in opened_on(work, job).items():
        ledger = _Ledger.of(
            account.bills.get(key, ()), account.payments, staged[key], charged[key], cancelled.get(key)
        )
        periods = ledger.paid(date.fromisoformat(opened))
        if periods:
            found[key] = periods
    return found


@dataclass(frozen=True, slots=True)
class _Ledger:
    """What one job owes, asked day by day.

    left: invoice -> what is left of it from each of these days on. issued: number -> day, of credit notes as well.
    undone: invoice -> the day from which what it billed was to be billed again. stages: position and what bills it.
    """

    left: Mapping[str, Sequence[tuple[date, Decimal]]]
    issued: Mapping[str, date]
    undone: Mapping[str, date]
    invoices: Sequence[Entry]
    stages: Sequence[tuple[int, str]]
    charged: Sequence[Asked]
    cancelled: date | None

    @classmethod
    def of(
        cls,
        bills: Sequence[Entry],
        payments: Mapping[str, Sequence[Payment]],
        stages: Sequence[tuple[int, str]],
        charged: Sequence[Asked],
        cancelled: date | None,
    ) -> _Ledger:
        invoices = [bill for bill in bills if bill.kind == "invoice"]
        return cls(
            {one.number: _left(one, payments.get(one.number, ()), bills) for one in invoices},
            {bill.number: date.fromisoformat(bill.issued_on) for bill in bills},
            {bill.credits: date.fromisoformat(bill.issued_on) for bill in bills if bill.undoes},
            invoices,
            stages,
            charged,
            cancelled,
        )

    def paid(self, opened: date) -> tuple[Term, ...]:
        """The days on which nothing is owed of what was made by the first of them; the last may have no end."""
        moves = {day for each in self.left.values() for day, _ in each}
        days = {opened, *moves, *self.issued.values(), *(one.on for one in self.charged)}
        days |= {one.waived_on for one in self.charged if one.waived_on is not None}
        found: list[Term] = []
        since = None
        for day in sorted({max(day, opened) for day in days}):
            quoted = self.cancelled is None or day < self.cancelled or not (found or since)
            if since is None:
                since = None if self._owes(day, day, quoted) else day
            elif self._owes(day, since, quoted):
                found.append(Term(since, day - ONE_DAY))
                since = None
        return (*found, Term(since)) if since else tuple(found)

    def _owes(self, day: date, made_by: date, quoted: bool) -> bool:
        """Whether anything made by a day is owed at the end of `day`. quoted: with what is left of the quote."""
        if any(self.issued[number] <= made_by and self._open(number, day) for number in self.left):
            return True
        for position, number in self.stages if quoted else ():
            before = (one.number for one in self.invoices if one.stage_position == position or one.final)
            if not self._settles(number, before, day):
                return True
        for charge in self.charged:
            if charge.on > made_by or (charge.waived_on is not None and charge.waived_on <= day):
                continue
            before = (one.number for one in self.invoices if charge.id in one.charges)
            if not self._settles(charge.invoice, before, day):
                return True
        return False

    def _settles(self, number: str, before: Iterable[str], day: date) -> bool:
        """Whether something was billed and paid at the end of `day`: by what bills it now, or by one undone since."""
        if number and self.issued[number] <= day and not self._open(number, day):
            return True
        return any(
            self.issued[one] <= day < self.undone[one] and not self._open(one, day)
            for one in before
            if one in self.undone
        )

    def _open(self, number: str, day: date) -> bool:
        """Whether something is left of an invoice at the end of `day`; never of a credit note."""
        left = Decimal(0)
        for since, amount in self.left.get(number, ()):
            if since > day:
                break
            left = amount
        return left > 0


def owed(invoice: Entry, payments: Sequence[Payment], papers: Sequence[Entry]) -> list[tuple[date, date | None]]:
    """The times at which something is left of an invoice: first day, and the day from which nothing is, or None."""
    found: list[tuple[date, date | None]] = []
    since = None
    for day, left in _left(invoice, payments, papers):
        if left > 0 and since is None:
            since = day
        elif left <= 0 and since is not None:
            found.append((since, day))
            since = None
    return [*found, (since, None)] if since else found


def _left(invoice: Entry, payments: Sequence[Payment], papers: Sequence[Entry]) -> list[tuple[date, Decimal]]:
    """What is left of an invoice at the end of each day on which that changed, payments and credits taken off."""
    moves: dict[date, Decimal] = defaultdict(Decimal)
    moves[date.fromisoformat(invoice.issued_on)] += invoice.amount.amount
    for payment in payments:
        moves[payment.received_on] -= payment.amount.amount
    for paper in papers:
        if paper.credits == invoice.number:
            moves[date.fromisoformat(paper.issued_on)] -= paper.amount.amount
    days = sorted(moves)
    return list(zip(days, accumulate(moves[day] for day in days), strict=True))
