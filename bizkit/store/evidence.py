"""What shows that a client abroad is a business: append-only rows."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.store.schema.billing import evidence
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_evidence(work: Connection, stamp: Stamp, *, client: str, what: str, paper: str) -> int:
    """Write one piece, seen on the stamp's day; returns its id. paper: SHA-256 of the filed copy, or empty."""
    done = work.execute(
        insert(evidence)
        .values(
            client=client,
            on=stamp.on.isoformat(),
            what=what,
            paper=paper,
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
        .returning(evidence.c.id)
    )
    return int(done.scalar_one())


def all_evidence(work: Connection, client: str | None = None) -> list[Row]:
    """Every piece in the order recorded, of one client or all."""
    query = select(evidence).order_by(evidence.c.id)
    if client is not None:
        query = query.where(evidence.c.client == client)
    return [dict(row) for row in work.execute(query).mappings()]


def newest_evidence(work: Connection, client: str) -> Row | None:
    """The piece recorded last, or None."""
    found = all_evidence(work, client)
    return found[-1] if found else None
