"""Money received: payments of invoices, and the sums they came in. Append-only rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import permutations
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.billing.payment import Payment
from bizkit.domain.money import Money
from bizkit.store.ahead import of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import payment, register
from bizkit.store.schema.billing import money_in
from bizkit.store.stamp import Stamp


@row_of(money_in)
@dataclass(frozen=True, slots=True)
class MoneyIn:
    """A sum as it came in, or below zero went back, and the ids of the payments it was split into."""

    id: int
    client: str
    on: str
    amount_minor: int
    currency: str
    fee_minor: int
    account_minor: int | None
    account_currency: str
    reference: str
    payments: list[int]
    recorded_at: str
    recorded_by: str

    @property
    def amount(self) -> Money:
        """What the client's debt goes down by."""
        return Money.from_minor(self.amount_minor, self.currency)

    @property
    def fee(self) -> Money:
        """What a bank kept of it."""
        return Money.from_minor(self.fee_minor, self.currency)

    @property
    def account(self) -> Money | None:
        """What reached the account, where that is another currency."""
        return None if self.account_minor is None else Money.from_minor(self.account_minor, self.account_currency)


def add_payment(work: Connection, stamp: Stamp, one: Payment) -> int:
    """Record a payment, or a refund (a negative amount); returns its id."""
    done = work.execute(
        insert(payment)
        .values(
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
        .returning(payment.c.id)
    )
    return int(done.scalar_one())


def payments(work: Connection, invoice: str | None = None) -> list[Payment]:
    """Payments in the order recorded, of one invoice or all."""
    query = select(payment).order_by(payment.c.id)
    if invoice is not None:
        query = query.where(payment.c.invoice == invoice)
    return [_payment(row) for row in work.execute(query).mappings()]


def deposits(work: Connection) -> list[tuple[str, Payment]]:
    """Money that came before the invoice that was issued for it, with the client it came from, by that invoice.

    With `payments` it is all money that came in; no row of a payment says it again.
    """
    query = select(register).where(register.c.kind == "invoice", register.c.deposit_minor != 0)
    return [
        (
            row["client"],
            Payment(
                row["number"],
                date.fromisoformat(row["deposit_on"]),
                Money.from_minor(row["deposit_minor"], row["currency"]),
            ),
        )
        for row in work.execute(query.order_by(register.c.position)).mappings()
    ]


def payments_of_job(work: Connection, job: str | None = None) -> list[Payment]:
    """Payments in the order recorded, of the invoices of one job or of all."""

    def ask(job: str | None = None) -> list[tuple[str, Payment]]:
        query = select(payment, register.c.key).join(register, register.c.number == payment.c.invoice)
        query = of_job(work, query.where(register.c.kind == "invoice"), register.c.key, job).order_by(payment.c.id)
        return [(row["key"], _payment(row)) for row in work.execute(query).mappings()]

    found = of_one(work, "payments of job", job, ask, lambda one: one[0])
    return [one for _, one in (ask(job) if found is None else found)]


def payments_by_id(work: Connection) -> dict[int, Payment]:
    """Every payment by its id, each with its counterpart where what was over on one invoice went to another."""
    found = {row["id"]: _payment(row) for row in work.execute(select(payment).order_by(payment.c.id)).mappings()}
    for sum_ in rows(work, select(money_in).where(money_in.c.amount_minor == 0), MoneyIn):
        for one, other in permutations(sum_.payments, 2):
            found[one] = replace(found[one], counterpart=found[other].invoice)
    return found


def add_money_in(
    work: Connection,
    stamp: Stamp,
    *,
    client: str,
    on: date,
    amount: Money,
    fee: Money | None,
    account: Money | None,
    reference: str,
    payments: Sequence[int],
) -> int:
    """Write one sum as it came in, and the ids of the payments it was split into; returns its own id."""
    done = work.execute(
        insert(money_in)
        .values(
            {
                "client": client,
                "on": on.isoformat(),
                "amount_minor": amount.minor,
                "currency": amount.currency,
                "fee_minor": fee.minor if fee else 0,
                "account_minor": account.minor if account else None,
                "account_currency": account.currency if account else "",
                "reference": reference,
                "payments": list(payments),
                "recorded_at": stamp.at,
                "recorded_by": stamp.who,
            }
        )
        .returning(money_in.c.id)
    )
    return int(done.scalar_one())


def all_money_in(work: Connection, id_: int | None = None) -> list[MoneyIn]:
    """Sums in the order recorded, or the one of that id."""
    query = select(money_in).order_by(money_in.c.id)
    if id_ is not None:
        query = query.where(money_in.c.id == id_)
    return rows(work, query, MoneyIn)


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
