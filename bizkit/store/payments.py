"""Money received, one append-only row each."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.billing.payment import Payment
from bizkit.domain.money import Money
from bizkit.store.schema import payment
from bizkit.store.stamp import Stamp


def add_payment(work: Connection, stamp: Stamp, one: Payment) -> None:
    """Record a payment, or a refund (a negative amount)."""
    work.execute(
        insert(payment).values(
            {
                "invoice": one.invoice,
                "on": one.received_on.isoformat(),
                "amount_minor": one.amount.minor,
                "currency": one.amount.currency,
                "fee_minor": one.fee.minor if one.fee else 0,
                "received_minor": one.received.minor if one.received else None,
                "received_currency": one.received.currency if one.received else "",
                "reference": one.reference,
                "recorded_at": stamp.at,
                "recorded_by": stamp.who,
            }
        )
    )


def payments(work: Connection, invoice: str | None = None) -> list[Payment]:
    """Payments in the order recorded, of one invoice or all."""
    query = select(payment).order_by(payment.c.id)
    if invoice is not None:
        query = query.where(payment.c.invoice == invoice)
    return [_payment(row) for row in work.execute(query).mappings()]


def _payment(row: Any) -> Payment:
    currency = row["currency"]
    received = row["received_minor"]
    return Payment(
        invoice=row["invoice"],
        received_on=date.fromisoformat(row["on"]),
        amount=Money.from_minor(row["amount_minor"], currency),
        fee=Money.from_minor(row["fee_minor"], currency) if row["fee_minor"] else None,
        received=Money.from_minor(received, row["received_currency"]) if received is not None else None,
        reference=row["reference"],
    )
