"""Costs of the business that belong to no job, and the tax inside costs of jobs: append-only rows."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.store.schema.billing import input_tax, overhead
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


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


def overheads(work: Connection) -> list[Row]:
    """Costs of the business in the order recorded; `net` and `tax` as text."""
    rows = []
    for found in work.execute(select(overhead).order_by(overhead.c.id)).mappings():
        row = dict(found)
        row["net"] = Money.from_minor(row.pop("net_minor"), row["currency"]).text
        row["tax"] = Money.from_minor(row.pop("tax_minor"), row["currency"]).text
        rows.append(row)
    return rows


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


def input_taxes(work: Connection) -> dict[int, Row]:
    """Cost -> the tax inside it as text, and whether it is goods or capital."""
    rows: dict[int, Row] = {}
    for row in work.execute(select(input_tax).order_by(input_tax.c.id)).mappings():
        rows[row["cost"]] = {
            "tax": Money.from_minor(row["tax_minor"], row["currency"]).text,
            "currency": row["currency"],
            "goods": bool(row["goods"]),
            "capital": bool(row["capital"]),
        }
    return rows
