"""Shoot days as worked and as moved: rows in and out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select, update

from bizkit.store.rows import row_of, rows
from bizkit.store.schema import shoot_day
from bizkit.store.schema.planning import moved_day, worked_day
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(worked_day)
@dataclass(frozen=True, slots=True)
class WorkedDay:
    """Call and wrap of a shoot day as it was, for the people named."""

    id: int
    job: str
    position: int
    on: str
    who: list[str]
    call: str
    wrap: str
    meal_minutes: int | None
    dives: int | None
    note: str
    recorded_at: str
    recorded_by: str


@row_of(moved_day)
@dataclass(frozen=True, slots=True)
class MoveRecord:
    """A shoot day that went to another date. hold: 1 where crew and kit waited in vain on the date it left.

    noticed_on: empty in books of before it was kept.
    """

    id: int
    job: str
    position: int
    moved_from: str
    moved_to: str
    why: str
    hold: int
    note: str
    recorded_at: str
    recorded_by: str
    noticed_on: str


def add_worked_day(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Write call and wrap of a day. `row["who"]` is a list of names."""
    done = {**row, "recorded_at": stamp.at, "recorded_by": stamp.who}
    work.execute(insert(worked_day).values(done))


def worked_days(work: Connection, job: str | None = None) -> dict[tuple[str, int], list[WorkedDay]]:
    """(job, position) -> what was logged for the day, one row for each set of people, the newest of each."""
    query = select(worked_day).order_by(worked_day.c.id)
    if job is not None:
        query = query.where(worked_day.c.job == job)
    newest: dict[tuple[str, int], dict[tuple[str, ...], WorkedDay]] = {}
    for one in rows(work, query, WorkedDay):
        newest.setdefault((one.job, one.position), {})[tuple(one.who)] = one
    return {day: list(found.values()) for day, found in newest.items()}


def move_day(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Give a shoot day another date (empty: open), and keep where it came from and why."""
    noted = {"noticed_on": stamp.on.isoformat(), "recorded_at": stamp.at, "recorded_by": stamp.who}
    work.execute(insert(moved_day).values({**row, **noted}))
    work.execute(
        update(shoot_day)
        .where(shoot_day.c.job == row["job"], shoot_day.c.position == row["position"])
        .values(on=row["moved_to"])
    )


def moved_days(work: Connection, job: str | None = None) -> list[MoveRecord]:
    """Every move in the order recorded, of one job or all."""
    query = select(moved_day).order_by(moved_day.c.id)
    if job is not None:
        query = query.where(moved_day.c.job == job)
    return rows(work, query, MoveRecord)
