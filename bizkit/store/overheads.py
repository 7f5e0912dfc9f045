"""Costs of the business that belong to no job, and the tax inside costs of jobs: append-only rows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.store.filed import receipts_of
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.billing import input_tax, overhead
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(overhead)
@dataclass(frozen=True, slots=True)
class Overhead:
    """A cost of the business. paid_on: a day to come while it is only expected. goods, capital: 0 or 1."""

    id: int
    on: str
    paid_on: str
    kind: str
    what: str
    supplier: str
    net_minor: int
    tax_minor: int
    currency: str
    goods: int
    capital: int
    receipt: str
    recorded_at: str
    recorded_by: str

    @property
    def net(self) -> Money:
        """Before tax; below zero takes a wrong entry back."""
        return Money.from_minor(self.net_minor, self.currency)

    @property
    def tax(self) -> Money:
        """The tax inside it."""
        return Money.from_minor(self.tax_minor, self.currency)


@row_of(input_tax)
@dataclass(frozen=True, slots=True)
class InputTax:
    """The tax inside a cost of a job. goods, capital: 0 or 1."""

    id: int
    cost: int
    tax_minor: int
    currency: str
    goods: int
    capital: int
    recorded_at: str
    recorded_by: str

    @property
    def tax(self) -> Money:
        """What of it can be reclaimed."""
        return Money.from_minor(self.tax_minor, self.currency)


def add_overhead(work: Connection, stamp: Stamp, row: Row, *, net: Money, tax: Money) -> int:
    """Write one cost of the business; returns its id."""
    values = {
        **row,
        "net_minor": net.minor,
        "tax_minor": tax.minor,
        "currency": net.currency,
        "recorded_at": stamp.at,
        "recorded_by": stamp.who,
    }
    return int(work.execute(insert(overhead).values(values).returning(overhead.c.id)).scalar_one())


def next_overhead(work: Connection) -> int:
    """The id that the next cost will have, for the receipt filed before it in the same transaction."""
    last = work.execute(select(overhead.c.id).order_by(overhead.c.id.desc()).limit(1)).scalar_one_or_none()
    return (last or 0) + 1


def overheads(work: Connection) -> list[Overhead]:
    """Costs of the business in the order recorded, each with its receipt, also one that was filed later."""
    late = receipts_of(work, "overhead")
    found = rows(work, select(overhead).order_by(overhead.c.id), Overhead)
    return [one if one.receipt or one.id not in late else replace(one, receipt=late[one.id]) for one in found]


def set_input_tax(
    work: Connection, stamp: Stamp, cost: int, tax: Money, *, goods: bool = False, capital: bool = False
) -> None:
    """Write the tax inside a cost of a job; the newest row of a cost counts."""
    work.execute(
        insert(input_tax).values(
            cost=cost,
            tax_minor=tax.minor,
            currency=tax.currency,
            goods=int(goods),
            capital=int(capital),
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
    )


def input_taxes(work: Connection) -> dict[int, InputTax]:
    """Cost -> the newest that was said of the tax inside it."""
    return {one.cost: one for one in rows(work, select(input_tax).order_by(input_tax.c.id), InputTax)}
