"""Files looked at, client notes and answers, and the yes or no to further rounds: plain rows in and out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema.delivery import file_check, note, note_answer, round_answer
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_check(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write down what looking at a file found. points and facts: JSON-ready data."""
    work.execute(
        insert(file_check).values(
            {**row, "points": canonical(row["points"]), "facts": canonical(row["facts"]), **_by(stamp)}
        )
    )


def checks(work: Connection, *, sha256: str | None = None, job: str | None = None) -> list[Row]:
    """Looks at files in the order made, of one file by its SHA-256 or of one job when asked."""
    query = select(file_check).order_by(file_check.c.id)
    if sha256 is not None:
        query = query.where(file_check.c.sha256 == sha256)
    if job is not None:
        query = query.where(file_check.c.job == job)
    return [
        {**row, "points": parsed(row["points"]), "facts": parsed(row["facts"])}
        for row in work.execute(query).mappings()
    ]


def add_notes(work: Connection, rows: Iterable[Row]) -> None:
    """Write notes, one row each."""
    for row in rows:
        work.execute(insert(note).values(row))


def notes(work: Connection, job: str, deliverable: str | None = None) -> list[Row]:
    """Notes by deliverable and number, of one deliverable when asked, each with its newest `answer` or None."""
    found = of_one(work, "notes", job, lambda: _notes(work), job_of)
    if found is None:
        found = _notes(work, job)
    return [row for row in found if deliverable is None or row["deliverable"] == deliverable]


def _notes(work: Connection, job: str | None = None) -> list[Row]:
    """The same, of one job or all."""
    query = select(note).order_by(note.c.job, note.c.deliverable, note.c.number)
    said = select(note_answer).order_by(note_answer.c.id)
    query, said = of_job(work, query, note.c.job, job), of_job(work, said, note_answer.c.job, job)
    newest = {(row["job"], row["deliverable"], row["note"]): dict(row) for row in work.execute(said).mappings()}
    return [
        {**row, "answer": newest.get((row["job"], row["deliverable"], row["number"]))}
        for row in work.execute(query).mappings()
    ]


def add_note_answer(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write what was said to a note."""
    work.execute(insert(note_answer).values({**row, "on": stamp.on.isoformat(), **_by(stamp)}))


def add_round_answer(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write the client's yes or no to a further round."""
    work.execute(insert(round_answer).values({**row, "on": stamp.on.isoformat(), **_by(stamp)}))


def round_answers(work: Connection, job: str | None = None) -> list[Row]:
    """Every yes and no to a further round, of one job when asked."""
    found = of_one(work, "round_answers", job, lambda: round_answers(work), job_of)
    if found is not None:
        return found
    query = select(round_answer).order_by(round_answer.c.job, round_answer.c.deliverable, round_answer.c.number)
    query = of_job(work, query, round_answer.c.job, job)
    return [dict(row) for row in work.execute(query).mappings()]


def _by(stamp: Stamp) -> Row:
    return {"recorded_at": stamp.at, "recorded_by": stamp.who}
