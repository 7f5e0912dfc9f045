"""Where an invoice stands: what is credited, paid and left."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.billing.payment import Balance, Owed, balance
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import Payment
    from bizkit.store.issued import IssuedBill
    from bizkit.store.register import Entry


def owed(invoice: Entry) -> Owed:
    """What payments of an invoice are set against."""
    issued, due = date.fromisoformat(invoice.issued_on), date.fromisoformat(invoice.due_on)
    return Owed(invoice.number, issued, due, invoice.amount, invoice.prepaid)


def find_invoice(work: Connection, number: str) -> IssuedBill:
    """The invoice of that number. Raises NotFound, suggesting the nearest; BadInput for a credit note."""
    from bizkit.store.issued import by_number
    from bizkit.store.register import bills

    found = by_number(work, number)
    if found is not None and found.kind == "credit_note":
        raise BadInput(wanted="an invoice", got=f"{number}, the credit note of {found.document['credits']['number']}")
    if found is None or found.kind != "invoice":
        known = [one.number for one in bills(work) if one.kind == "invoice"]
        raise NotFound("invoice", number, known, hint="" if known else "None was issued yet")
    return found


def credit_notes_of(work: Connection, invoice: IssuedBill) -> list[IssuedBill]:
    """The credit notes of an invoice in the order issued."""
    from bizkit.store.issued import of_kind

    notes = of_kind(work, "credit_note", key=invoice.key)
    return [one for one in notes if one.document["credits"]["number"] == invoice.number]


def balance_of(work: Connection, invoice: IssuedBill) -> Balance:
    """Where one invoice stands now."""
    from bizkit.store.payments import payments

    notes = credit_notes_of(work, invoice)
    return balance(owed(invoice.entry), payments(work, invoice.number), [one.entry.amount for one in notes])


def balances(work: Connection, job: str | None = None, *, on: date | None = None) -> dict[str, Balance]:
    """Where every invoice stands now, or those of one job. on: at the end of that day instead."""
    from bizkit.store.payments import payments_of_job
    from bizkit.store.register import bills

    papers = [one for one in bills(work, job) if on is None or one.issued_on <= on.isoformat()]
    credited: dict[str, list[Money]] = {}
    for one in papers:
        if one.credits:
            credited.setdefault(one.credits, []).append(one.amount)
    invoices = [one for one in papers if one.kind == "invoice"]
    paid: dict[str, list[Payment]] = {}
    for payment in payments_of_job(work, job):
        if on is not None and payment.received_on > on:
            continue
        paid.setdefault(payment.invoice, []).append(payment)
    return {
        one.number: balance(owed(one), paid.get(one.number, []), credited.get(one.number, [])) for one in invoices
    }
