"""Shoot days as worked and as moved: plain rows in and out."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select, update

from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema import shoot_day
from bizkit.store.schema.planning import moved_day, worked_day
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_worked_day(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write call and wrap of a day. `row["who"]` is a list of names."""
    done = {**row, "who": canonical(row["who"]), "recorded_at": stamp.at, "recorded_by": stamp.who}
    work.execute(insert(worked_day).values(done))


def worked_days(work: Connection, job: str | None = None) -> dict[tuple[str, int], list[Row]]:
    """(job, position) -> what was logged for the day, one row for each set of people, the newest of each."""
    query = select(worked_day).order_by(worked_day.c.id)
    if job is not None:
        query = query.where(worked_day.c.job == job)
    newest: dict[tuple[str, int], dict[tuple[str, ...], Row]] = {}
    for row in work.execute(query).mappings():
        one = {**row, "who": parsed(row["who"])}
        newest.setdefault((row["job"], row["position"]), {})[tuple(one["who"])] = one
    return {day: list(rows.values()) for day, rows in newest.items()}


def move_day(work: Connection, stamp: Stamp, row: Row) -> None:
    """Give a shoot day another date (empty: open), and keep where it came from and why."""
    noted = {"noticed_on": stamp.on.isoformat(), "recorded_at": stamp.at, "recorded_by": stamp.who}
    work.execute(insert(moved_day).values({**row, **noted}))
    work.execute(
        update(shoot_day)
        .where(shoot_day.c.job == row["job"], shoot_day.c.position == row["position"])
        .values(on=row["moved_to"])
    )


def moved_days(work: Connection, job: str | None = None) -> list[Row]:
    """Every move in the order recorded, of one job or all."""
    query = select(moved_day).order_by(moved_day.c.id)
    if job is not None:
        query = query.where(moved_day.c.job == job)
    return [dict(row) for row in work.execute(query).mappings()]
