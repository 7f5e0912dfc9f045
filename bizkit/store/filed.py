"""Which files the studio keeps in its papers folder, each with its SHA-256."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.store.ahead import of_one
from bizkit.store.schema import filed
from bizkit.store.stamp import Stamp


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


def all_filed(work: Connection, about: str | None = None) -> list[dict[str, Any]]:
    """Every file on record in the order filed, of one document or holding when `about` is given."""
    found = of_one(work, "filed", about, lambda: all_filed(work), lambda row: row["about"])
    if found is not None:
        return found
    query = select(filed).order_by(filed.c.id)
    if about is not None:
        query = query.where(filed.c.about == about)
    return [dict(row) for row in work.execute(query).mappings()]


def filed_names(work: Connection) -> set[str]:
    """Paths, inside the studio folder, of every file on record."""
    return set(work.execute(select(filed.c.file).distinct()).scalars())


def filed_at(work: Connection, file: str) -> dict[str, str]:
    """SHA-256 -> day of all that was ever filed at that path: a paper drawn anew has other bytes and is the paper."""
    query = select(filed.c.sha256, filed.c.recorded_at).where(filed.c.file == file).order_by(filed.c.id)
    return {row.sha256: row.recorded_at[:10] for row in work.execute(query)}
