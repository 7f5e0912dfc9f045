"""The brief and the rate card behind each revision of a quote that was sent."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, insert, select

from bizkit.store.ahead import of_job, of_one
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
            options=list(one.options),
        )
    )


def basis_of(work: Connection, number: str, revision: int) -> Basis | None:
    """What a revision was priced from; None when it was sent by a bizkit that did not keep it."""

    def ask(*where: ColumnElement[bool]) -> list[Basis]:
        query = of_job(work, select(basis).where(*where), basis.c.key, None)
        return [Basis(**{**row, "options": tuple(row["options"])}) for row in work.execute(query).mappings()]

    found = of_one(work, "basis", (number, revision), ask, lambda one: (one.number, one.revision), a_job=False)
    if found is None:
        found = ask(basis.c.number == number, basis.c.revision == revision)
    return found[0] if found else None
