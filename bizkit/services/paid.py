"""When a job was paid in full: the day from which a licence "on full payment" counts."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection


def paid_in_full_on(work: Connection, job: str) -> date | None:
    """The day on which the last invoice of the job's billing plan was settled; None while any is open or unissued.

    Only what the quote asked for counts: an open invoice of charges beyond it suspends nothing.
    """
    from bizkit.store.issued import of_kind
    from bizkit.store.jobs import jobs, stages

    numbers = [row["invoice"] for row in stages(work, job)]
    if not all(numbers):
        return None
    documents = {one.number: one.document for one in of_kind(work, "invoice", key=job)}
    notes = [one.document for one in of_kind(work, "credit_note", key=job)]
    days = [date.fromisoformat(jobs(work, job)[0]["opened_on"])]
    for number in dict.fromkeys(numbers):
        settled = settled_on(work, documents[number], notes)
        if settled is None:
            return None
        days.append(settled)
    return max(days)


def settled_on(work: Connection, invoice: dict[str, Any], notes: list[dict[str, Any]]) -> date | None:
    """The day from which nothing is left of an invoice, payments and credit notes taken off; None while some is."""
    from bizkit.store.payments import payments

    currency = invoice["currency"]
    entries = [(one.received_on.isoformat(), one.amount) for one in payments(work, invoice["number"])]
    entries += [
        (note["issued_on"], Money(note["gross"], currency))
        for note in notes
        if note["corrects"]["number"] == invoice["number"]
    ]
    left = Money(invoice["due"], currency)
    settled = invoice["issued_on"] if left.amount <= 0 else ""
    for day, amount in sorted(entries, key=lambda entry: entry[0]):
        left = left - amount
        settled = (settled or day) if left.amount <= 0 else ""
    return date.fromisoformat(settled) if settled else None
