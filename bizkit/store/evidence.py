"""What shows that a client abroad is a business: append-only rows."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, insert, select

from bizkit.store.rows import row_of, rows
from bizkit.store.schema.billing import evidence
from bizkit.store.stamp import Stamp


@row_of(evidence)
@dataclass(frozen=True, slots=True)
class Evidence:
    """A piece seen on a day. paper: SHA-256 of the filed copy, or empty."""

    id: int
    client: str
    on: str
    what: str
    paper: str
    recorded_at: str
    recorded_by: str


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


def all_evidence(work: Connection, client: str | None = None) -> list[Evidence]:
    """Every piece in the order recorded, of one client or all."""
    query = select(evidence).order_by(evidence.c.id)
    if client is not None:
        query = query.where(evidence.c.client == client)
    return rows(work, query, Evidence)


def newest_evidence(work: Connection, client: str) -> Evidence | None:
    """The piece recorded last, or None."""
    found = all_evidence(work, client)
    return found[-1] if found else None
