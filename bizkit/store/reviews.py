"""Files looked at, client notes and answers, and the yes or no to further rounds: rows in and out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.money import Money
from bizkit.domain.work.point import PointData
from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.delivery import file_check, note, note_answer, round_answer
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(file_check)
@dataclass(frozen=True, slots=True)
class FileCheck:
    """What looking at a file found: `points` wanted and got, `facts`; `wrong` points failed."""

    id: int
    sha256: str
    file: str
    job: str
    deliverable: str
    on: str
    wrong: int
    points: list[PointData]
    facts: dict[str, Any]
    recorded_at: str
    recorded_by: str


@row_of(note_answer)
@dataclass(frozen=True, slots=True)
class NoteAnswer:
    """What the studio said to one note: done, declined or asked."""

    id: int
    job: str
    deliverable: str
    note: int
    answer: str
    text: str
    on: str
    recorded_at: str
    recorded_by: str


@row_of(note)
@dataclass(frozen=True, slots=True)
class NoteRecord:
    """One remark of the client's, with its newest answer. at, until: timecode, empty for a note on the whole."""

    job: str
    deliverable: str
    number: int
    intake: int
    version: int
    at: str
    until: str
    frame: int | None
    text: str
    who: str
    answer: NoteAnswer | None = None


@row_of(round_answer)
@dataclass(frozen=True, slots=True)
class RoundAnswer:
    """The client's yes or no to a further round, with the price said then."""

    job: str
    deliverable: str
    number: int
    answer: str
    by: str
    on: str
    amount_minor: int
    currency: str
    reason: str
    recorded_at: str
    recorded_by: str

    @property
    def amount(self) -> Money:
        """The price of the round, before tax."""
        return Money.from_minor(self.amount_minor, self.currency)


def add_check(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Write down what looking at a file found. points and facts: JSON-ready data."""
    work.execute(insert(file_check).values({**row, **_by(stamp)}))


def checks(work: Connection, *, sha256: str | None = None, job: str | None = None) -> list[FileCheck]:
    """Looks at files in the order made, of one file by its SHA-256 or of one job when asked."""
    query = select(file_check).order_by(file_check.c.id)
    if sha256 is not None:
        query = query.where(file_check.c.sha256 == sha256)
    if job is not None:
        query = query.where(file_check.c.job == job)
    return rows(work, query, FileCheck)


def add_notes(work: Connection, rows: Iterable[Mapping[str, object]]) -> None:
    """Write notes, one row each."""
    for row in rows:
        work.execute(insert(note).values(row))


def notes(work: Connection, job: str, deliverable: str | None = None) -> list[NoteRecord]:
    """Notes by deliverable and number, of one deliverable when asked, each with its newest `answer` or None."""
    found = of_one(work, "notes", job, lambda: _notes(work), job_of)
    if found is None:
        found = _notes(work, job)
    return [row for row in found if deliverable is None or row.deliverable == deliverable]


def _notes(work: Connection, job: str | None = None) -> list[NoteRecord]:
    """The same, of one job or all."""
    query = select(note).order_by(note.c.job, note.c.deliverable, note.c.number)
    said = select(note_answer).order_by(note_answer.c.id)
    query, said = of_job(work, query, note.c.job, job), of_job(work, said, note_answer.c.job, job)
    newest = {(row.job, row.deliverable, row.note): row for row in rows(work, said, NoteAnswer)}
    remarks = rows(work, query, NoteRecord)
    return [replace(one, answer=newest.get((one.job, one.deliverable, one.number))) for one in remarks]


def add_note_answer(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Write what was said to a note."""
    work.execute(insert(note_answer).values({**row, "on": stamp.on.isoformat(), **_by(stamp)}))


def add_round_answer(work: Connection, stamp: Stamp, row: Mapping[str, object]) -> None:
    """Write the client's yes or no to a further round."""
    work.execute(insert(round_answer).values({**row, "on": stamp.on.isoformat(), **_by(stamp)}))


def round_answers(work: Connection, job: str | None = None) -> list[RoundAnswer]:
    """Every yes and no to a further round, of one job when asked."""
    found = of_one(work, "round_answers", job, lambda: round_answers(work), job_of)
    if found is not None:
        return found
    query = select(round_answer).order_by(round_answer.c.job, round_answer.c.deliverable, round_answer.c.number)
    return rows(work, of_job(work, query, round_answer.c.job, job), RoundAnswer)


def _by(stamp: Stamp) -> Row:
    return {"recorded_at": stamp.at, "recorded_by": stamp.who}
