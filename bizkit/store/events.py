"""The history: one append-only row for everything that happened."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, insert, select

from bizkit.store.ahead import of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import event
from bizkit.store.stamp import Stamp


@row_of(event)
@dataclass(frozen=True, slots=True)
class Event:
    """Something done: the moment (ISO, UTC), who, what to which job, document, person or client, and details."""

    id: int
    at: str
    by: str
    verb: str
    subject: str
    data: dict[str, Any]


def record(work: Connection, stamp: Stamp, verb: str, subject: str, /, **data: Any) -> None:
    """Write down that `stamp.who` did `verb` to `subject` (a job key, a document number); if dated ahead, why."""
    if stamp.ahead:
        data["dated_ahead"] = stamp.ahead
    work.execute(insert(event).values(at=stamp.at, by=stamp.who, verb=verb, subject=subject, data=data))


def history(work: Connection, subject: str) -> list[Event]:
    """Everything that happened to `subject`, oldest first."""
    return rows(work, select(event).where(event.c.subject == subject).order_by(event.c.id), Event)


def newest(work: Connection, verb: str, subject: str) -> Event | None:
    """The last time that `verb` was done to `subject`, or None."""
    found = of_one(work, ("events", verb), subject, lambda: of_verb(work, verb), lambda row: row.subject, a_job=False)
    if found is not None:
        return found[-1] if found else None
    query = select(event).where(event.c.subject == subject, event.c.verb == verb).order_by(event.c.id.desc()).limit(1)
    return next(iter(rows(work, query, Event)), None)


def how_many(work: Connection, subject: str) -> int:
    """How much happened to `subject`."""
    counted = select(event.c.subject, func.count()).group_by(event.c.subject)
    found = of_one(
        work, "how_many", subject, lambda: [tuple(row) for row in work.execute(counted)], lambda row: row[0]
    )
    if found is not None:
        return found[0][1] if found else 0
    return work.execute(select(func.count()).where(event.c.subject == subject)).scalar_one()


def of_verb(work: Connection, *verbs: str) -> list[Event]:
    """Everything of these kinds that ever happened, oldest first."""
    return rows(work, select(event).where(event.c.verb.in_(verbs)).order_by(event.c.id), Event)
