"""Money spent on jobs, and jobs called off: append-only rows."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema.planning import called_off, cost
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_cost(work: Connection, stamp: Stamp, row: Row, *, amount: Money, in_job: Money) -> int:
    """Write one cost; returns its id. in_job: the amount in the job's currency."""
    values = {
        **row,
        "amount_minor": amount.minor,
        "currency": amount.currency,
        "job_minor": in_job.minor,
        "recorded_at": stamp.at,
        "recorded_by": stamp.who,
    }
    return int(work.execute(insert(cost).values(values).returning(cost.c.id)).scalar_one())


def next_cost(work: Connection) -> int:
    """The id that the next cost will have, for the receipt filed before it in the same transaction."""
    last = work.execute(select(cost.c.id).order_by(cost.c.id.desc()).limit(1)).scalar_one_or_none()
    return (last or 0) + 1


def costs(work: Connection, job: str | None = None) -> list[Row]:
    """Costs in the order recorded, of one job or all; `amount` as text in its own currency."""
    found = of_one(work, "costs", job, lambda: costs(work), job_of)
    if found is not None:
        return found
    query = select(cost).order_by(cost.c.id)
    query = of_job(work, query, cost.c.job, job)
    rows = []
    for row in work.execute(query).mappings():
        one = dict(row)
        one["amount"] = Money.from_minor(one.pop("amount_minor"), one["currency"]).text
        rows.append(one)
    return rows


def add_called_off(work: Connection, stamp: Stamp, row: Row, *, fee: Money) -> None:
    """Write that a job was cancelled or postponed. `row["working"]` is data."""
    work.execute(
        insert(called_off).values(
            {
                **row,
                "working": canonical(row["working"]),
                "fee_minor": fee.minor,
                "currency": fee.currency,
                "recorded_at": stamp.at,
                "recorded_by": stamp.who,
            }
        )
    )


def called_off_jobs(work: Connection, job: str | None = None) -> list[Row]:
    """Every cancelling and postponing in the order recorded, of one job or all; `fee` as text."""
    found = of_one(work, "called_off", job, lambda: called_off_jobs(work), job_of)
    if found is not None:
        return found
    query = select(called_off).order_by(called_off.c.id)
    query = of_job(work, query, called_off.c.job, job)
    rows = []
    for row in work.execute(query).mappings():
        one = {**row, "working": parsed(row["working"])}
        one["fee"] = Money.from_minor(one.pop("fee_minor"), one["currency"]).text
        rows.append(one)
    return rows
