"""Money received, one append-only row each."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.store.schema import payment
from bizkit.store.stamp import Stamp


def add_payment(work: Connection, stamp: Stamp, *, invoice: str, amount: Money, reference: str) -> None:
    """Record `amount` received against `invoice` on the stamp's day."""
    work.execute(
        insert(payment).values(
            invoice=invoice,
            on=stamp.on.isoformat(),
            amount_minor=amount.minor,
            currency=amount.currency,
            reference=reference,
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
    )


def payments(work: Connection, invoice: str | None = None) -> list[dict[str, Any]]:
    """Payments in the order recorded, of one invoice or all; `amount` is Money."""
    query = select(payment).order_by(payment.c.id)
    if invoice is not None:
        query = query.where(payment.c.invoice == invoice)
    return [
        {**row, "amount": Money.from_minor(row["amount_minor"], row["currency"])}
        for row in work.execute(query).mappings()
    ]
