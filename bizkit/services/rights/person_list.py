"""Everybody on record: why they are, until when, and the papers that name them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.rights.personal_data import AS_LONG_AS_IT_RUNS
from bizkit.services.rights.keeping import needed_until
from bizkit.services.rights.persons import names, papers_naming, subject_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.rights import Person


def list_persons(folder: StudioFolder, on: date) -> list[PersonRow]:
    """Everybody whose data is kept."""
    with folder.book.read_all() as work:
        return person_rows(folder, work, on)


def person_rows(
    folder: StudioFolder, work: Connection, on: date, only: Sequence[Person] | None = None
) -> list[PersonRow]:
    """Everybody on record, or some: basis, purpose, until when, and the papers that name them.

    They are kept as their papers say, and as long as a licence that rests on one of those may be disputed.
    """
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    whose = persons(work) if only is None else only
    naming = papers_naming(holdings(work), whose)
    papers = {row.id: row for found in naming.values() for row in found}
    needed = needed_until(folder, work, papers.values(), on, every=only is None)
    rows: list[PersonRow] = []
    for person in whose:
        mine = naming[person.id]
        until = person.keep_until
        if not person.erased_on:
            until = max([until, *(needed[row.id] for row in mine if row.id in needed)])
        rows.append(
            {
                "id": person.id,
                "name": names([person])[subject_of(person)],
                "born_on": person.born_on,
                "contact": person.contact,
                "basis": person.basis,
                "purpose": person.purpose,
                "keep_until": None if until == AS_LONG_AS_IT_RUNS else until,
                "overdue": not person.erased_on and until < on.isoformat(),
                "erased_on": person.erased_on,
                "papers": [row.id for row in mine],
            }
        )
    return rows


class PersonRow(TypedDict):
    """Somebody on record and the papers that name them. keep_until: null where a licence without an end needs it."""

    id: int
    name: str
    born_on: str
    contact: dict[str, Any]
    basis: str
    purpose: str
    keep_until: str | None
    overdue: bool
    erased_on: str
    papers: list[int]
