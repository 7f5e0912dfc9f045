"""Charges beyond the quote: rows in and out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.planning import charge
from bizkit.store.stamp import Stamp


@row_of(charge)
@dataclass(frozen=True, slots=True)
class Charge:
    """What a job costs the client beyond its quote. working: how it was reckoned, as data. source: the record.

    invoice: empty until it is billed. waived: why it never is, from `waived_on` on.
    """

    id: int
    job: str
    on: str
    kind: str
    section: str
    item: str
    quantity: str
    unit: str
    rate: str
    amount_minor: int
    currency: str
    working: dict[str, Any]
    source: str
    invoice: str
    waived: str
    waived_on: str
    recorded_at: str
    recorded_by: str

    @property
    def amount(self) -> Money:
        """Before tax; below zero it is given back."""
        return Money.from_minor(self.amount_minor, self.currency)


def add_charge(work: Connection, stamp: Stamp, *, job: str, kind: str, line: Line, source: str) -> int:
    """Write one charge, its day that of the stamp; returns its id. source: the record it comes from."""
    done = work.execute(
        insert(charge)
        .values(
            job=job,
            on=stamp.on.isoformat(),
            kind=kind,
            section=line.section,
            item=line.item,
            quantity=plain(line.quantity),
            unit=line.unit,
            rate=line.rate.text,
            amount_minor=line.amount.minor,
            currency=line.amount.currency,
            working=line.working.data(),
            source=source,
            invoice="",
            waived="",
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
        .returning(charge.c.id)
    )
    return int(done.scalar_one())


def charges(work: Connection, job: str | None = None, *, source: str | None = None) -> list[Charge]:
    """Charges by id, of one job or all, of one source when given."""
    found = of_one(work, ("charges", source), job, lambda: charges(work, source=source), job_of)
    if found is not None:
        return found
    query = select(charge).order_by(charge.c.id)
    query = of_job(work, query, charge.c.job, job)
    if source is not None:
        query = query.where(charge.c.source == source)
    return rows(work, query, Charge)


@dataclass(frozen=True, slots=True)
class Asked:
    """A charge the client is to pay: the day it was made, and the number of what billed it, empty while none has.

    waived_on: the day from which it is given up; None where it is not.
    """

    id: int
    job: str
    on: date
    invoice: str
    waived_on: date | None


def asked(work: Connection, job: str | None = None) -> list[Asked]:
    """Charges by id that the client is or was to pay, of one job or all: nothing of what is given back.

    Those given up in a book that did not keep the day are left out.
    """
    found = of_one(work, "asked", job, lambda: asked(work), lambda one: one.job)
    if found is not None:
        return found
    query = select(charge.c.id, charge.c.job, charge.c.on, charge.c.invoice, charge.c.waived_on)
    query = query.where((charge.c.waived == "") | (charge.c.waived_on != ""), charge.c.amount_minor > 0)
    query = of_job(work, query, charge.c.job, job)
    return [
        Asked(row.id, row.job, date.fromisoformat(row.on), row.invoice, _day(row.waived_on))
        for row in work.execute(query.order_by(charge.c.id))
    ]


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def set_charge_invoice(work: Connection, charge_id: int, number: str) -> None:
    """Tie a charge to the invoice that bills it."""
    work.execute(update(charge).where(charge.c.id == charge_id).values(invoice=number))


def waive_charge(work: Connection, stamp: Stamp, charge_id: int, reason: str) -> None:
    """Note that a charge is never billed, why, and from the day of the stamp on."""
    done = {"waived": reason, "waived_on": stamp.on.isoformat()}
    work.execute(update(charge).where(charge.c.id == charge_id).values(done))


def drop_charge(work: Connection, charge_id: int) -> None:
    """Forget a charge that stood for a part of an invoice, as the whole of it is undone."""
    work.execute(delete(charge).where(charge.c.id == charge_id))


def drop_open_charges(work: Connection, job: str, source: str) -> None:
    """Forget the charges of a source that were neither billed nor waived, as its record is written anew."""
    work.execute(
        delete(charge).where(
            charge.c.job == job, charge.c.source == source, charge.c.invoice == "", charge.c.waived == ""
        )
    )
