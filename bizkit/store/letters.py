"""Receipts, statements, reminders and pro formas as sent: append-only rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Text, func, insert, select, type_coerce

from bizkit.store.ahead import kept, of_one
from bizkit.store.canonical import canonical, member, sha256
from bizkit.store.rows import row_of, rows
from bizkit.store.schema.billing import letter
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(letter)
@dataclass(frozen=True, slots=True)
class Letter:
    """A letter as it was sent. about: the invoice, client or job. name: of its PDF, without the ending.

    sha256: of the document as canonical JSON.
    """

    id: int
    kind: str
    about: str
    name: str
    on: str
    document: dict[str, Any]
    sha256: str
    recorded_at: str
    recorded_by: str


def add_letter(
    work: Connection, stamp: Stamp, *, kind: str, about: str, name: str, document: Mapping[str, Any]
) -> int:
    """Write a letter as it is sent; returns its id. name: of its PDF, without the ending."""
    done = work.execute(
        insert(letter)
        .values(
            kind=kind,
            about=about,
            name=name,
            on=stamp.on.isoformat(),
            document=document,
            sha256=sha256(canonical(document)),
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
        .returning(letter.c.id)
    )
    return int(done.scalar_one())


def letters(work: Connection, *, kind: str | None = None, about: str | None = None) -> list[Letter]:
    """Letters in the order sent, of one kind or about one invoice, client or job when asked."""
    found = of_one(
        work, ("letters", kind), about, lambda: letters(work, kind=kind), lambda row: row.about, a_job=False
    )
    if found is not None:
        return found
    query = select(letter).order_by(letter.c.id)
    if kind is not None:
        query = query.where(letter.c.kind == kind)
    if about is not None:
        query = query.where(letter.c.about == about)
    return rows(work, query, Letter)


def suspending_reminders(work: Connection) -> dict[str, str]:
    """Invoice -> the day of its first reminder that says its licence rests from then on."""
    said = member(work, letter.c.document, "licence_suspended")
    query = select(letter.c.about, func.min(letter.c.on).label("on")).where(letter.c.kind == "reminder")
    yes = "true" if work.dialect.name == "postgresql" else 1
    query = query.where(said == yes).group_by(letter.c.about).order_by(letter.c.about)
    return kept(work, "suspending", lambda: {row.about: row.on for row in work.execute(query)})


def letter_named(work: Connection, name: str) -> Letter | None:
    """The letter of that name, or None."""
    return next(iter(rows(work, select(letter).where(letter.c.name == name), Letter)), None)


def newest_letter(work: Connection, *, kind: str, about: str) -> tuple[str, str] | None:
    """Name and day of the letter of a kind about one thing that was written last, or None."""
    query = select(letter.c.name, letter.c.on).where(letter.c.kind == kind, letter.c.about == about)
    row = work.execute(query.order_by(letter.c.id.desc()).limit(1)).one_or_none()
    return (row.name, row.on) if row else None


def count_letters(work: Connection, kind: str, about: str | None = None) -> int:
    """How many letters of a kind there are, or of those about one thing."""
    query = select(func.count()).select_from(letter).where(letter.c.kind == kind)
    if about is not None:
        query = query.where(letter.c.about == about)
    return int(work.execute(query).scalar_one())


def letter_is_intact(row: Letter) -> bool:
    """Whether the document of a letter is what was sent."""
    return sha256(canonical(row.document)) == row.sha256


def altered_letters(work: Connection) -> list[str]:
    """Names of letters whose document is not what was sent."""
    text = type_coerce(letter.c.document, Text).label("text")
    found = work.execute(select(letter.c.name, text, letter.c.sha256))
    return [row.name for row in found if sha256(row.text) != row.sha256]
