"""Where a book in a file has been worked in: events of the history, under a subject that no job or client can have.

The first of them names the book. A book from before they were kept is named after its first document, so that all of
its copies are called alike.
"""

from __future__ import annotations

import json
import os
import secrets
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, func, select

from bizkit.store.events import Event, history, record
from bizkit.store.schema import filed, issued
from bizkit.store.schema.rights import form
from bizkit.store.stamp import Stamp

#: What the events are about: a key has no space in it.
SUBJECT: Final = "the book"
#: A place taken unasked (where it was made, moved to, or one of those known), and one taken by somebody's word.
USED, TAKEN_OVER = "used in", "taken over in"

#: Kinds of filed papers that carry a number of their own.
NUMBERED: Final = (
    "quote",
    "invoice",
    "credit_note",
    "licence_certificate",
    "delivery_note",
    "receipt",
    "lost_number",
)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a book was: the machine's mark and name, the file, its inode as text; by whom and when (ISO, UTC)."""

    machine: str
    host: str
    file: str
    inode: str
    by: str = ""
    at: str = ""


def places(work: Connection) -> list[Place]:
    """Every place on record, the newest last."""
    return [_place(one) for one in history(work, SUBJECT) if one.verb in (USED, TAKEN_OVER)]


def lost_by_words(work: Connection) -> list[str]:
    """Numbers that were known to be issued by another copy when a place was taken over, the oldest first."""
    taken = [one for one in history(work, SUBJECT) if one.verb == TAKEN_OVER]
    return list(dict.fromkeys(number for one in taken for number in one.data.get("lost", ())))


def take_place(work: Connection, stamp: Stamp, place: Place, *, verb: str = USED, **more: Any) -> None:
    """Write down that the book is worked in at `place` from now on."""
    name = book_name(work) or secrets.token_hex(16)
    record(
        work, stamp, verb, SUBJECT, book=name, machine=place.machine, host=place.host, file=place.file,
        inode=place.inode, **more,
    )  # fmt: skip


def book_name(work: Connection) -> str:
    """What the book is called among copies; empty for one in which nothing was ever numbered, from before places."""
    first = next(iter(history(work, SUBJECT)), None)
    if first is not None:
        return str(first.data["book"])
    return work.execute(select(issued.c.sha256).where(issued.c.position == 1)).scalar_one_or_none() or ""


def last_issued_at(work: Connection) -> str:
    """When a document was last issued (ISO, UTC); empty where none was."""
    return work.execute(select(func.max(issued.c.recorded_at))).scalar_one() or ""


def name_in(file: Path) -> str:
    """What a book in another file is called, read without writing there; empty where there is no book.

    Raises OSError or sqlite3.Error where that cannot be told.
    """
    if not os.path.exists(file):
        file.stat()  # not there, or not to be seen: they differ
        return ""
    with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=2)) as other:
        if not other.execute("SELECT 1 FROM sqlite_master WHERE name = 'issued'").fetchone():
            return ""
        row = other.execute("SELECT data FROM event WHERE subject = ? ORDER BY id LIMIT 1", (SUBJECT,)).fetchone()
        if row:
            return str(json.loads(row[0])["book"])
        row = other.execute("SELECT sha256 FROM issued WHERE position = 1").fetchone()
        return str(row[0]) if row else ""


def newest_numbered(work: Connection) -> list[tuple[str, str, str]]:
    """The newest paper of each kind that carries a number: number, path in the studio folder, SHA-256.

    Of a form, which is written anywhere, the SHA-256 is that of what it prints.
    """
    newest = select(func.max(filed.c.id)).where(filed.c.kind.in_(NUMBERED)).where(filed.c.file.not_like("%/scans/%"))
    query = select(filed).where(filed.c.id.in_(newest.group_by(filed.c.kind))).order_by(filed.c.id)
    found = []
    for row in work.execute(query):
        number = row.name.removesuffix(".pdf") if row.kind == "receipt" else row.about.partition("/")[0]
        found.append((number, row.file, row.sha256))
    written = select(form).order_by(form.c.recorded_at.desc(), form.c.number.desc()).limit(1)
    return [*found, *((row.number, "", row.data["sha256"]) for row in work.execute(written))]


def has_paper(work: Connection, number: str, file: str, sha256: str) -> bool:
    """Whether a paper that `newest_numbered` named is one of this book, or its number is put down as lost."""
    if not file:
        row = work.execute(select(form.c.data).where(form.c.number == number)).one_or_none()
        return row is not None and row.data["sha256"] == sha256
    known = select(filed.c.id).where(filed.c.file == file, filed.c.sha256 == sha256).limit(1)
    lost = select(issued.c.position).where(issued.c.number == number, issued.c.kind == "lost_number")
    return any(work.execute(query).first() for query in (known, lost))


def has_another(work: Connection, number: str, file: str) -> bool:
    """Whether such a paper is on file, of whatever bytes: what is being issued in this transaction is not yet."""
    if not file:
        return work.execute(select(form.c.number).where(form.c.number == number)).first() is not None
    return work.execute(select(filed.c.id).where(filed.c.file == file).limit(1)).first() is not None


def has_number(work: Connection, number: str) -> bool:
    """Whether anything of this book carries a number: a document, a form or a receipt."""
    queries = (
        select(issued.c.position).where(issued.c.number == number),
        select(form.c.number).where(form.c.number == number),
        select(filed.c.id).where(filed.c.name == f"{number}.pdf", filed.c.kind == "receipt"),
    )
    return any(work.execute(query.limit(1)).first() for query in queries)


def _place(one: Event) -> Place:
    names = ("machine", "host", "file", "inode")
    machine, host, file, inode = (str(one.data.get(name, "")) for name in names)
    return Place(machine, host, file, inode, one.by, one.at)
