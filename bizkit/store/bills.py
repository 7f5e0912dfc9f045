"""What each invoice asks for and each credit note gives back: members of issued documents, read by the database.

Reading whole documents would take as long as parsing every line ever billed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from sqlalchemy import Connection, select

from bizkit.store.ahead import of_one
from bizkit.store.canonical import member, parsed
from bizkit.store.schema import issued


@dataclass(frozen=True, slots=True)
class Bill:
    """An invoice or a credit note. amount: what is due, or given back, gross. bills_quote: an invoice of what was
    quoted, a deposit or a final one included; position: of the stage it bills, 0 for none; final: a final one.
    charges: ids of those it bills. credits: number of the invoice a credit note is of; undoes: what that billed is
    to be billed again."""

    kind: str
    number: str
    job: str
    issued_on: str
    currency: str
    amount: str
    bills_quote: bool
    credits: str
    position: int
    final: bool
    charges: tuple[int, ...]
    undoes: bool


def bills(work: Connection, job: str | None = None) -> list[Bill]:
    """In the order issued, of one job or all."""
    found = of_one(work, "bills", job, lambda: bills(work), lambda bill: bill.job)
    if found is not None:
        return found
    said = partial(member, work, issued.c.document)
    columns = (
        issued.c.kind, issued.c.number, issued.c.key, issued.c.issued_on, said("currency"), said("due"),
        said("gross"), said("stage", "position"), said("deposit"), said("final"), said("credits", "number"),
        said("charges"), said("undoes"),
    )  # fmt: skip
    query = select(*columns).where(issued.c.kind.in_(("invoice", "credit_note"))).order_by(issued.c.position)
    if job is not None:
        query = query.where(issued.c.key == job)
    return [
        Bill(
            kind, number, key, on, currency, due if kind == "invoice" else gross,
            bool(int(position or 0) or deposit or final), credits or "", int(position or 0), bool(final),
            tuple(parsed(charges)) if charges else (), undoes in (1, "true"),
        )
        for kind, number, key, on, currency, due, gross, position, deposit, final, credits, charges, undoes
        in work.execute(query)
    ]  # fmt: skip
