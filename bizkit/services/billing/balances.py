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
    from bizkit.store.issued import Issued


def owed(invoice: Issued) -> Owed:
    """What payments of an invoice are set against."""
    document = invoice.document
    return Owed(
        invoice.number,
        date.fromisoformat(invoice.issued_on),
        date.fromisoformat(document["due_on"]),
        Money(document["due"], document["currency"]),
        Money(document["prepaid"], document["currency"]),
    )


def find_invoice(work: Connection, number: str) -> Issued:
    """The invoice of that number. Raises NotFound, suggesting the nearest; BadInput for a credit note."""
    from bizkit.store.issued import by_number, of_kind

    found = by_number(work, number)
    if found is not None and found.kind == "credit_note":
        raise BadInput(wanted="an invoice", got=f"{number}, the credit note of {found.document['credits']['number']}")
    if found is None or found.kind != "invoice":
        known = [one.number for one in of_kind(work, "invoice")]
        raise NotFound("invoice", number, known, hint="" if known else "None was issued yet")
    return found


def credit_notes_of(work: Connection, invoice: Issued) -> list[Issued]:
    """The credit notes of an invoice in the order issued."""
    from bizkit.store.issued import of_kind

    notes = of_kind(work, "credit_note", key=invoice.key)
    return [one for one in notes if one.document["credits"]["number"] == invoice.number]


def balance_of(work: Connection, invoice: Issued) -> Balance:
    """Where one invoice stands now."""
    from bizkit.store.payments import payments

    notes = credit_notes_of(work, invoice)
    return balance(owed(invoice), payments(work, invoice.number), [_gross(one) for one in notes])


def balances(work: Connection, job: str | None = None) -> dict[str, Balance]:
    """Where every invoice stands now, or those of one job."""
    from bizkit.store.issued import of_kind
    from bizkit.store.payments import payments

    credited: dict[str, list[Money]] = {}
    for one in of_kind(work, "credit_note", key=job):
        credited.setdefault(one.document["credits"]["number"], []).append(_gross(one))
    invoices = of_kind(work, "invoice", key=job)
    paid: dict[str, list[Payment]] = {}
    found = payments(work) if job is None else [each for one in invoices for each in payments(work, one.number)]
    for payment in found:
        paid.setdefault(payment.invoice, []).append(payment)
    return {
        one.number: balance(owed(one), paid.get(one.number, []), credited.get(one.number, [])) for one in invoices
    }


def _gross(note: Issued) -> Money:
    return Money(note.document["gross"], note.document["currency"])
