"""Which files the studio keeps in its papers folder, each with its SHA-256."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, insert, select

from bizkit.store.ahead import of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import filed, holding
from bizkit.store.stamp import Stamp

#: The kind of file that is the receipt of a cost.
RECEIPT: Final = "receipt"


@row_of(filed)
@dataclass(frozen=True, slots=True)
class Filed:
    """A file of the studio. file: its path inside the studio folder, `name` as shown. about: document or holding."""

    id: int
    sha256: str
    file: str
    bytes: int
    kind: str
    about: str
    name: str
    recorded_at: str
    recorded_by: str


def add_filed(
    work: Connection, stamp: Stamp, *, sha256: str, file: str, size: int, kind: str, about: str, name: str
) -> None:
    """Record a file. file: its path inside the studio folder; about: the document number or holding it belongs to."""
    work.execute(
        insert(filed).values(
            sha256=sha256,
            file=file,
            bytes=size,
            kind=kind,
            about=about,
            name=name,
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
    )


def all_filed(work: Connection, about: str | None = None) -> list[Filed]:
    """Every file on record in the order filed, of one document or holding when `about` is given."""
    query = select(filed).order_by(filed.c.id)
    if about is not None:
        query = query.where(filed.c.about == about)
    return rows(work, query, Filed)


def receipts_of(work: Connection, kind: str) -> dict[int, str]:
    """Id -> SHA-256 of the receipt filed for a cost or overhead, with it or later. kind: which of the two."""
    query = select(filed.c.about, filed.c.sha256).where(filed.c.kind == RECEIPT, filed.c.about.startswith(f"{kind} "))
    found = work.execute(query.order_by(filed.c.id))
    return {int(about.removeprefix(f"{kind} ")): digest for about, digest in found}


def filed_names(work: Connection) -> set[str]:
    """Paths, inside the studio folder, of every file on record."""
    return set(work.execute(select(filed.c.file).distinct()).scalars())


def filed_at(work: Connection, file: str) -> dict[str, str]:
    """SHA-256 -> day of all that was ever filed at that path: a paper drawn anew has other bytes and is the paper."""
    query = select(filed.c.sha256, filed.c.recorded_at).where(filed.c.file == file).order_by(filed.c.id)
    return {row.sha256: row.recorded_at[:10] for row in work.execute(query)}


def paper_files(work: Connection, job: str | None = None) -> dict[str, str]:
    """SHA-256 -> path of the signed papers of one job or all; the newest where one was filed twice."""

    def ask(job: str | None = None) -> list[tuple[str, str, str]]:
        query = select(holding.c.job, filed.c.sha256, filed.c.file).where(holding.c.paper == filed.c.sha256)
        query = of_job(work, query, holding.c.job, job)
        return [(row.job, row.sha256, row.file) for row in work.execute(query.order_by(filed.c.id))]

    rows = of_one(work, "paper files", job, ask, lambda row: row[0])
    return {sha256: file for _, sha256, file in (ask(job) if rows is None else rows)}
