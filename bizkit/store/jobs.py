"""Jobs, their shoot days, stages and holdings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select, update

from bizkit.domain.money import Money
from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.canonical import member
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import holding, job, shoot_day, stage

Row = dict[str, Any]


@row_of(job)
@dataclass(frozen=True, slots=True)
class Job:
    """A job, by the key of its brief. licence: what the quote promised, as data; None where it promised none.

    net_minor: of the quote that was accepted. crew: the names that the brief has on its days.
    closed_on: empty while it is open.
    """

    key: str
    title: str
    client: str
    quote_number: str
    quote_revision: int
    opened_on: str
    closed_on: str
    currency: str
    net_minor: int
    licence: dict[str, Any] | None
    crew: list[str]

    @property
    def net(self) -> Money:
        """What was agreed, before tax."""
        return Money.from_minor(self.net_minor, self.currency)


@row_of(shoot_day)
@dataclass(frozen=True, slots=True)
class JobDay:
    """A day of a job. on: empty while its date is open. data: what the quote says of it."""

    job: str
    position: int
    on: str
    kind: str
    place: str
    data: dict[str, Any]


@row_of(stage)
@dataclass(frozen=True, slots=True)
class JobStage:
    """A stage of the billing plan, `net_minor` in the money of the job. invoice: empty until it is billed."""

    job: str
    position: int
    title: str
    percent: str
    due_when: str
    net_minor: int
    invoice: str


@row_of(holding)
@dataclass(frozen=True, slots=True)
class PaperOnFile:
    """A right that the studio holds, linked to a job. paper: SHA-256 of the signed copy, or empty.

    data: the holding as the rights rules read it.
    """

    id: int
    job: str
    kind: str
    subject: str
    status: str
    signed_on: str
    expires_on: str
    paper: str
    data: dict[str, Any]


def open_job(work: Connection, row: Row, *, days: list[Row], stages: list[Row]) -> None:
    """Write a job with its shoot days and billing stages. `row["licence"]` is data or None, `row["crew"]` names."""
    work.execute(insert(job).values({**row, "crew": row.get("crew", [])}))
    for position, day in enumerate(days, start=1):
        work.execute(insert(shoot_day).values({**day, "job": row["key"], "position": position}))
    for position, one in enumerate(stages, start=1):
        work.execute(insert(stage).values({**one, "job": row["key"], "position": position}))


def jobs(work: Connection, key: str | None = None) -> list[Job]:
    """Every job in the order opened, or the one of `key`."""
    found = of_one(work, "jobs", key, lambda: jobs(work), lambda row: row.key)
    if found is not None:
        return found
    query = select(job).order_by(job.c.opened_on, job.c.key)
    query = of_job(work, query, job.c.key, key)
    return rows(work, query, Job)


def job_named(work: Connection, name: str) -> Job | None:
    """The job of that key, else of the quote with that number; None without one."""
    for found in jobs(work, name):
        return found
    query = select(job).where(job.c.quote_number == name)
    return next(iter(rows(work, query, Job)), None)


def job_keys(work: Connection) -> list[str]:
    """The key of every job in the order opened."""
    return list(work.execute(select(job.c.key).order_by(job.c.opened_on, job.c.key)).scalars())


def opened_on(work: Connection, key: str | None = None) -> dict[str, str]:
    """Key -> the day the job was opened, of every job or one."""
    found = of_one(work, "opened_on", key, lambda: opened_on(work).items(), lambda one: one[0])
    if found is not None:
        return dict(found)
    query = select(job.c.key, job.c.opened_on)
    query = of_job(work, query, job.c.key, key)
    return {row.key: row.opened_on for row in work.execute(query)}


def shoot_days(work: Connection, key: str | None = None) -> list[JobDay]:
    """Shoot days in order, of one job or all."""
    found = of_one(work, "shoot_days", key, lambda: shoot_days(work), job_of)
    if found is not None:
        return found
    query = select(shoot_day).order_by(shoot_day.c.job, shoot_day.c.position)
    return rows(work, of_job(work, query, shoot_day.c.job, key), JobDay)


def stages(work: Connection, key: str | None = None) -> list[JobStage]:
    """Billing stages in order, of one job or all."""
    found = of_one(work, "stages", key, lambda: stages(work), job_of)
    if found is not None:
        return found
    query = select(stage).order_by(stage.c.job, stage.c.position)
    return rows(work, of_job(work, query, stage.c.job, key), JobStage)


def set_stage_invoice(work: Connection, key: str, position: int, number: str) -> None:
    """Tie a stage to the invoice that bills it."""
    work.execute(update(stage).where(stage.c.job == key, stage.c.position == position).values(invoice=number))


def close_job(work: Connection, key: str, on: str) -> None:
    """Mark a job as closed."""
    work.execute(update(job).where(job.c.key == key).values(closed_on=on))


def add_holding(work: Connection, row: Row) -> int:
    """Write a holding; returns its id. `row["data"]` is the holding's own data."""
    done = work.execute(insert(holding).values(row).returning(holding.c.id))
    return int(done.scalar_one())


def set_holding(work: Connection, holding_id: int, **values: Any) -> None:
    """Change columns of a holding (status, expiry, data)."""
    work.execute(update(holding).where(holding.c.id == holding_id).values(values))


def signed_for_minors(work: Connection) -> list[tuple[str, str, str]]:
    """Subject, name and day of signature of every paper signed for somebody under 18."""
    young = member(work, holding.c.data, "minor") == ("true" if work.dialect.name == "postgresql" else 1)
    signed = holding.c.status.in_(("signed", "withdrawn"))
    query = select(holding.c.subject, member(work, holding.c.data, "name"), holding.c.signed_on)
    return [(row[0], row[1], row[2]) for row in work.execute(query.where(young, signed).order_by(holding.c.id))]


def holdings(work: Connection, *, key: str | None = None, kinds: tuple[str, ...] | None = None) -> list[PaperOnFile]:
    """Holdings by id, of one job and of some kinds when asked."""
    found = of_one(work, "holdings", key, lambda: holdings(work), job_of)
    if found is not None:
        return [row for row in found if kinds is None or row.kind in kinds]
    query = select(holding).order_by(holding.c.id)
    query = of_job(work, query, holding.c.job, key)
    if kinds is not None:
        query = query.where(holding.c.kind.in_(kinds))
    return rows(work, query, PaperOnFile)
