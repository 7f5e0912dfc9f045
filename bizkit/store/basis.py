"""The brief and the rate card behind each revision of a quote that was sent."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, insert, select

from bizkit.store.ahead import of_one
from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema.planning import basis


@dataclass(frozen=True, slots=True)
class Basis:
    """What a revision was priced from, as it stood when it was sent. options: the keys taken by then."""

    number: str
    revision: int
    key: str
    brief_file: str
    brief: str
    card: str
    options: tuple[str, ...]


def put_basis(work: Connection, one: Basis) -> None:
    """Keep what a revision was priced from."""
    work.execute(
        insert(basis).values(
            number=one.number,
            revision=one.revision,
            key=one.key,
            brief_file=one.brief_file,
            brief=one.brief,
            card=one.card,
            options=canonical(list(one.options)),
        )
    )


def basis_of(work: Connection, number: str, revision: int) -> Basis | None:
    """What a revision was priced from; None when it was sent by a bizkit that did not keep it."""
    query = select(basis)
    rows = of_one(work, "basis", (number, revision), lambda: work.execute(query), lambda row: (row[0], row[1]))
    if rows is None:
        rows = list(work.execute(query.where(basis.c.number == number, basis.c.revision == revision)))
    for row in rows:
        options = tuple(parsed(row.options))
        return Basis(row.number, row.revision, row.key, row.brief_file, row.brief, row.card, options)
    return None
