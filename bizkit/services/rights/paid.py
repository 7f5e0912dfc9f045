"""When a job was paid in full: the day from which a licence "on full payment" counts.

That is the first day on which nothing was left of any invoice issued by then, everything quoted was invoiced, and no
charge made by then waited for its invoice. What is billed later does not undo it; money taken back does, as there is
something left of an invoice again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import Payment
    from bizkit.store.bills import Bill
    from bizkit.store.charges import Asked


@dataclass(frozen=True, slots=True)
class Account:
    """Invoices and credit notes by job, payments by invoice."""

    bills: Mapping[str, Sequence[Bill]]
    payments: Mapping[str, Sequence[Payment]]


def read_account(work: Connection, job: str | None = None) -> Account:
    """What one job or all were billed and what came in."""
    from bizkit.store.bills import bills
    from bizkit.store.payments import payments

    papers: dict[str, list[Bill]] = defaultdict(list)
    for bill in bills(work, job):
        papers[bill.job].append(bill)
    came: dict[str, list[Payment]] = defaultdict(list)
    invoices = [bill.number for bill in papers.get(job or "", ()) if bill.kind == "invoice"]
    for one in payments(work) if job is None else [each for name in invoices for each in payments(work, name)]:
        came[one.invoice].append(one)
    return Account(papers, came)


def paid_in_full_on(work: Connection, job: str) -> date | None:
    """The day on which a job was paid in full; None while it is not."""
    return paid_days(work, job).get(job)


def paid_days(work: Connection, job: str | None = None) -> dict[str, date]:
    """Job -> the day on which it was paid in full, of one job or all; those that are not are left out."""
    from bizkit.store.charges import asked
    from bizkit.store.jobs import opened_on, stages

    unbilled = {row["job"] for row in stages(work, job) if not row["invoice"]}
    account = read_account(work, job)
    charged: dict[str, list[Asked]] = defaultdict(list)
    for one in asked(work, job):
        charged[one.job].append(one)
    found = {}
    for key, opened in opened_on(work, job).items():
        if key not in unbilled:
            day = _paid_on(date.fromisoformat(opened), account.bills.get(key, ()), account.payments, charged[key])
            if day is not None:
                found[key] = day
    return found


def _paid_on(
    opened: date, bills: Sequence[Bill], payments: Mapping[str, Sequence[Payment]], charged: Sequence[Asked]
) -> date | None:
    """Of one job whose stages are all billed: the day moves on until nothing made by then is open."""
    issued = {bill.number: date.fromisoformat(bill.issued_on) for bill in bills}
    settled = {
        bill.number: settled_on(bill, payments.get(bill.number, ()), bills)
        for bill in bills
        if bill.kind == "invoice"
    }
    quoted = {bill.number for bill in bills if bill.kind == "invoice" and bill.bills_quote}
    day = opened
    while True:
        waits_for: list[date | None] = [
            on for number, on in settled.items() if number in quoted or issued[number] <= day
        ]
        waits_for += [issued.get(charge.invoice) for charge in charged if charge.on <= day]
        if None in waits_for:
            return None
        last = max([day, *(on for on in waits_for if on is not None)])
        if last == day:
            return day
        day = last


def settled_on(invoice: Bill, payments: Sequence[Payment], papers: Sequence[Bill]) -> date | None:
    """The day from which nothing is left of an invoice, payments and credit notes taken off; None while some is."""
    entries = [(one.received_on.isoformat(), one.amount) for one in payments]
    entries += [
        (paper.issued_on, Money(paper.amount, invoice.currency))
        for paper in papers
        if paper.credits == invoice.number
    ]
    left = Money(invoice.amount, invoice.currency)
    settled = invoice.issued_on if left.amount <= 0 else ""
    for day, amount in sorted(entries, key=lambda entry: entry[0]):
        left = left - amount
        settled = (settled or day) if left.amount <= 0 else ""
    return date.fromisoformat(settled) if settled else None
