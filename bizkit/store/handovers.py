"""Handovers, what is kept where, and saved schedules: rows in and out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select, update

from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.delivery import archive, handover, schedule
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(handover)
@dataclass(frozen=True, slots=True)
class Handover:
    """Files handed over, under the number of their delivery note. manifest: as written beside the files."""

    number: str
    job: str
    on: str
    folder: str
    how: str
    sent_to: str
    manifest: str
    manifest_sha256: str
    recorded_at: str
    recorded_by: str


@row_of(archive)
@dataclass(frozen=True, slots=True)
class Archived:
    """What of a job is kept where and until when it was promised. gone_on: empty while it is there."""

    id: int
    job: str
    what: str
    place: str
    since: str
    keep_until: str
    note: str
    gone_on: str
    gone_why: str


@row_of(schedule)
@dataclass(frozen=True, slots=True)
class SavedPlan:
    """A plan of a job as it was saved. steps: each with its dates."""

    id: int
    job: str
    on: str
    due: str
    steps: list[dict[str, Any]]
    why: str
    recorded_at: str
    recorded_by: str


def add_handover(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Write down that files were handed over."""
    work.execute(
        insert(handover).values(
            {**row, "on": stamp.on.isoformat(), "recorded_at": stamp.at, "recorded_by": stamp.who}
        )
    )


def handovers(work: Connection, job: str | None = None) -> list[Handover]:
    """Handovers by number of their delivery note, of one job when asked."""
    found = of_one(work, "handovers", job, lambda: handovers(work), job_of)
    if found is not None:
        return found
    query = select(handover).order_by(handover.c.on, handover.c.number)
    return rows(work, of_job(work, query, handover.c.job, job), Handover)


def add_archive(work: Connection, row: Row) -> int:
    """Write down what is kept where; returns its id."""
    return int(work.execute(insert(archive).values(row).returning(archive.c.id)).scalar_one())


def set_archive(work: Connection, archive_id: int, **values: Any) -> None:
    """Change columns of a row: until when it is kept, or that it is gone."""
    work.execute(update(archive).where(archive.c.id == archive_id).values(values))


def archives(work: Connection, job: str | None = None) -> list[Archived]:
    """What is kept, by the day the promise ends, of one job when asked."""
    found = of_one(work, "archives", job, lambda: archives(work), job_of)
    if found is not None:
        return found
    query = select(archive).order_by(archive.c.keep_until, archive.c.id)
    return rows(work, of_job(work, query, archive.c.job, job), Archived)


def save_schedule(work: Connection, stamp: Stamp, *, job: str, due: str, steps: list[Row], why: str) -> None:
    """Save a job's plan, in place of the one before, which stays in the book."""
    work.execute(
        insert(schedule).values(
            job=job,
            on=stamp.on.isoformat(),
            due=due,
            steps=steps,
            why=why,
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
    )


def saved_schedule(work: Connection, job: str) -> SavedPlan | None:
    """The plan of a job saved last, or None."""
    mine = of_one(work, "schedules", job, lambda: _schedules(work), job_of)
    if mine is None:
        newest = select(schedule).where(schedule.c.job == job).order_by(schedule.c.id.desc()).limit(1)
        mine = rows(work, newest, SavedPlan)
    return mine[-1] if mine else None


def _schedules(work: Connection) -> list[SavedPlan]:
    return rows(work, of_job(work, select(schedule).order_by(schedule.c.id), schedule.c.job, None), SavedPlan)
