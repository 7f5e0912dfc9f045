"""Money spent on jobs, and jobs called off: append-only rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.filed import receipts_of
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.planning import called_off, cost
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(cost)
@dataclass(frozen=True, slots=True)
class Spent:
    """Money spent on a job. rate, rate_source: into the money of the job. receipt: SHA-256 of the paper, or empty.

    reverses: the id of the wrong entry that this one takes back, 0 for none.
    """

    id: int
    job: str
    on: str
    kind: str
    what: str
    supplier: str
    amount_minor: int
    currency: str
    job_minor: int
    rate: str
    rate_source: str
    receipt: str
    reverses: int
    recorded_at: str
    recorded_by: str

    @property
    def amount(self) -> Money:
        """As on the receipt; below zero takes a wrong entry back."""
        return Money.from_minor(self.amount_minor, self.currency)


@row_of(called_off)
@dataclass(frozen=True, slots=True)
class CalledOff:
    """A job cancelled or postponed (`kind`) by notice on a day. working: how the fee was reckoned, as data."""

    id: int
    job: str
    kind: str
    notice_on: str
    by: str
    reason: str
    fee_minor: int
    currency: str
    working: dict[str, Any]
    recorded_at: str
    recorded_by: str

    @property
    def fee(self) -> Money:
        """What the client is asked for it, before tax."""
        return Money.from_minor(self.fee_minor, self.currency)


def add_cost(work: Connection, stamp: Stamp, row: Mapping[str, object], *, amount: Money, in_job: Money) -> int:
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


def costs(work: Connection, job: str | None = None) -> list[Spent]:
    """Costs in the order recorded, of one job or all, each with its receipt, also one that was filed later."""
    found = of_one(work, "costs", job, lambda: costs(work), job_of)
    if found is not None:
        return found
    query = select(cost).order_by(cost.c.id)
    late = receipts_of(work, "cost")
    found = rows(work, of_job(work, query, cost.c.job, job), Spent)
    return [one if one.receipt or one.id not in late else replace(one, receipt=late[one.id]) for one in found]


def add_called_off(work: Connection, stamp: Stamp, row: Mapping[str, object], *, fee: Money) -> None:
    """Write that a job was cancelled or postponed. `row["working"]` is data."""
    work.execute(
        insert(called_off).values(
            {
                **row,
                "fee_minor": fee.minor,
                "currency": fee.currency,
                "recorded_at": stamp.at,
                "recorded_by": stamp.who,
            }
        )
    )


def called_off_jobs(work: Connection, job: str | None = None) -> list[CalledOff]:
    """Every cancelling and postponing in the order recorded, of one job or all."""
    found = of_one(work, "called_off", job, lambda: called_off_jobs(work), job_of)
    if found is not None:
        return found
    query = select(called_off).order_by(called_off.c.id)
    return rows(work, of_job(work, query, called_off.c.job, job), CalledOff)
