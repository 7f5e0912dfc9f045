"""When a job was paid in full: the day from which a licence "on full payment" counts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.money import Money
from bizkit.services.earlier import bills_quote, papers_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

Document = Mapping[str, Any]


def paid_in_full_on(work: Connection, job: str) -> date | None:
    """The day on which the last invoice of what was quoted was settled; None while any is open or unissued.

    Only what the quote asked for counts: an open invoice of charges beyond it holds nothing up.
    """
    from bizkit.store.jobs import jobs, stages

    if not all(row["invoice"] for row in stages(work, job)):
        return None
    papers = papers_of(work, job)
    days = [date.fromisoformat(jobs(work, job)[0]["opened_on"])]
    for paper in papers:
        if paper["kind"] == "invoice" and bills_quote(paper):
            settled = settled_on(work, paper, papers)
            if settled is None:
                return None
            days.append(settled)
    return max(days)


def settled_on(work: Connection, invoice: Document, papers: Sequence[Document]) -> date | None:
    """The day from which nothing is left of an invoice, payments and credit notes taken off; None while some is."""
    from bizkit.store.payments import payments

    currency = invoice["currency"]
    entries = [(one.received_on.isoformat(), one.amount) for one in payments(work, invoice["number"])]
    entries += [
        (paper["issued_on"], Money(paper["gross"], currency))
        for paper in papers
        if paper["kind"] == "credit_note" and paper["credits"]["number"] == invoice["number"]
    ]
    left = Money(invoice["due"], currency)
    settled = invoice["issued_on"] if left.amount <= 0 else ""
    for day, amount in sorted(entries, key=lambda entry: entry[0]):
        left = left - amount
        settled = (settled or day) if left.amount <= 0 else ""
    return date.fromisoformat(settled) if settled else None
