"""When a job was paid in full: the day from which a licence "on full payment" counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import Payment
    from bizkit.store.bills import Bill


def paid_in_full_on(work: Connection, job: str) -> date | None:
    """The day on which the last invoice of what was quoted was settled; None while any is open or unissued.

    Only what the quote asked for counts: an open invoice of charges beyond it holds nothing up.
    """
    return paid_days(work, job).get(job)


def paid_days(work: Connection, job: str | None = None) -> dict[str, date]:
    """Job -> the day on which it was paid in full, of one job or all; those that are not are left out."""
    from bizkit.store.bills import bills
    from bizkit.store.jobs import opened_on, stages
    from bizkit.store.payments import payments

    unbilled = {row["job"] for row in stages(work, job) if not row["invoice"]}
    papers: dict[str, list[Bill]] = defaultdict(list)
    for bill in bills(work, job):
        papers[bill.job].append(bill)
    came: dict[str, list[Payment]] = defaultdict(list)
    invoices = [bill.number for bill in papers.get(job or "", ()) if bill.kind == "invoice"]
    for one in payments(work) if job is None else [each for name in invoices for each in payments(work, name)]:
        came[one.invoice].append(one)
    found = {}
    for key, opened in opened_on(work, job).items():
        if key in unbilled:
            continue
        days = [date.fromisoformat(opened)]
        settled = [
            settled_on(bill, came[bill.number], papers[key])
            for bill in papers[key]
            if bill.kind == "invoice" and bill.bills_quote
        ]
        days += [day for day in settled if day is not None]
        if len(days) == len(settled) + 1:
            found[key] = max(days)
    return found


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
