"""Persons, who and what is in each work, licences and their changes: rows in and out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from bizkit.domain.rights.licence_request import clip_piece
from bizkit.store.ahead import job_of, kept, of_job, of_one
from bizkit.store.canonical import member, parsed
from bizkit.store.jobs import Job
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import job as job_table
from bizkit.store.schema.rights import licence, licence_change, person, shown
from bizkit.store.stamp import Stamp

Row = dict[str, Any]

#: As many names as are asked for one by one rather than by reading everything.
FEW = 2000


@row_of(person)
@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of whom data is kept. born_on, keep_until: empty where nobody said. erased_on: empty while known."""

    id: int
    name: str
    born_on: str
    contact: dict[str, Any]
    basis: str
    purpose: str
    keep_until: str
    erased_on: str
    recorded_at: str
    recorded_by: str


@row_of(shown)
@dataclass(frozen=True, slots=True)
class Shown:
    """Who or what of one part is in a work: all there are."""

    job: str
    work: str
    part: str
    subjects: list[str]


@row_of(licence_change)
@dataclass(frozen=True, slots=True)
class LicenceChange:
    """What became of a licence: first used on a day, or ended early after one."""

    id: int
    licence: str
    change: str
    on: str
    why: str
    recorded_at: str
    recorded_by: str


@row_of(licence)
@dataclass(frozen=True, slots=True)
class Grant:
    """A licence as granted, and what became of it since. data: the licence as the rights rules read it."""

    number: str
    job: str
    client: str
    granted_on: str
    data: dict[str, Any]
    recorded_at: str
    recorded_by: str
    changes: tuple[LicenceChange, ...] = ()


def add_person(work: Connection, stamp: Stamp, row: Row) -> int:
    """Write a person; returns the id. `row["contact"]` is data."""
    values = {**row, "erased_on": ""}
    values |= {"recorded_at": stamp.at, "recorded_by": stamp.who}
    return int(work.execute(insert(person).values(values).returning(person.c.id)).scalar_one())


def set_person(work: Connection, person_id: int, **values: Any) -> None:
    """Change columns of a person."""
    work.execute(update(person).where(person.c.id == person_id).values(values))


def persons(work: Connection) -> list[Person]:
    """Every person by id, erased ones included."""
    query = select(person).order_by(person.c.id)
    return kept(work, "persons", lambda: rows(work, query, Person))


def put_shown(work: Connection, job: str, name: str, part: str, subjects: Iterable[str]) -> None:
    """Say who or what of one part is in a work, in place of what was said before."""
    work.execute(delete(shown).where(shown.c.job == job, shown.c.work == name, shown.c.part == part))
    work.execute(insert(shown).values(job=job, work=name, part=part, subjects=list(subjects)))


def shown_in(work: Connection, job: str) -> dict[tuple[str, str], list[str]]:
    """(work, part) -> subjects, where somebody said."""

    def ask(job: str | None = None) -> list[Shown]:
        query = select(shown).order_by(shown.c.work, shown.c.part)
        return rows(work, of_job(work, query, shown.c.job, job), Shown)

    found = of_one(work, "shown", job, ask, job_of)
    return {(row.work, row.part): row.subjects for row in (ask(job) if found is None else found)}


def origins(work: Connection) -> dict[tuple[str, str], str]:
    """(job, clip) -> the id of the deliverable it comes from, where somebody said."""
    query = select(shown).where(shown.c.part == "from")
    return kept(
        work,
        "origins",
        lambda: {(row.job, row.work): one for row in rows(work, query, Shown) for one in row.subjects},
    )


def add_licence(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write a grant. `row["data"]` is data; the sentences stand on its certificate, not here."""
    request = {name: value for name, value in row["data"]["request"].items() if name != "sentences"}
    values = {**row, "data": {**row["data"], "request": request}}
    work.execute(insert(licence).values({**values, "recorded_at": stamp.at, "recorded_by": stamp.who}))


def licences(work: Connection, *, number: str | None = None, job: str | None = None) -> list[Grant]:
    """Grants in the order granted, each with its `changes`; one of them, or those of a job, when asked."""
    found = of_one(work, "licences", job, lambda: each_licence(work), job_of)
    if found is not None:
        return [row for row in found if number in (None, row.number)]
    return list(each_licence(work, number=number, job=job))


def each_licence(
    work: Connection,
    *,
    number: str | None = None,
    job: str | None = None,
    ending: tuple[str, str] | None = None,
    works: Collection[str] | None = None,
) -> Iterator[Grant]:
    """The same one by one, for who keeps less of each than all of its data.

    ending: a first and a last day; licences that surely end on none of them are passed over. works: only grants of
    any of these, as in `Licence.pieces`.
    """
    wanted = None
    if works is not None:
        wanted = {name for name, of, _ in licensed_works(work) if not of.isdisjoint(works)}
        if not wanted:
            return
    query = select(licence).order_by(licence.c.granted_on, licence.c.number)
    changed = select(licence_change).order_by(licence_change.c.id)
    if number is not None:
        query = query.where(licence.c.number == number)
        changed = changed.where(licence_change.c.licence == number)
    query = of_job(work, query, licence.c.job, job)
    if ending is not None:
        ends = member(work, licence.c.data, "request", "ends")
        query = query.where(
            (ends == "") | ends.between(*ending) | licence.c.number.in_(select(licence_change.c.licence))
        )
    changes: dict[str, list[LicenceChange]] = {}
    for change in rows(work, changed, LicenceChange):
        changes.setdefault(change.licence, []).append(change)
    if wanted is not None and len(wanted) <= FEW:
        query = query.where(licence.c.number.in_(wanted))
    for row in work.execute(query):
        if wanted is None or row.number in wanted:
            one = Grant(*row)
            yield replace(one, changes=tuple(changes[one.number])) if one.number in changes else one


def licensed_works(work: Connection) -> list[tuple[str, frozenset[str], str]]:
    """Number, works (as in `Licence.pieces`) and exclusivity of every grant."""
    works = member(work, licence.c.data, "works")
    clips = member(work, licence.c.data, "request", "clips")
    exclusivity = member(work, licence.c.data, "request", "exclusivity")
    rows = work.execute(select(licence.c.number, works, clips, exclusivity))
    return [
        (
            number,
            frozenset(parsed(of)) | _clips(shown) if len(shown or "") > len("[]") else frozenset(parsed(of)),
            kind,
        )
        for number, of, shown, kind in rows
    ]


def _clips(text: str) -> frozenset[str]:
    return frozenset(clip_piece(clip["title"]) for clip in parsed(text))


def licence_names(work: Connection) -> dict[str, tuple[str, str]]:
    """Number -> job and client, of every grant."""
    rows = work.execute(select(licence.c.number, licence.c.job, licence.c.client))
    return {row.number: (row.job, row.client) for row in rows}


def ungranted_jobs(work: Connection) -> list[Job]:
    """The open jobs that promise a licence and never granted it, in the order opened."""
    query = select(job_table).where(
        job_table.c.licence != "null", job_table.c.closed_on == "", job_table.c.key.not_in(select(licence.c.job))
    )
    return rows(work, query.order_by(job_table.c.opened_on, job_table.c.key), Job)


def add_change(work: Connection, stamp: Stamp, number: str, change: str, on: str, why: str) -> None:
    """Write down what became of a licence."""
    values = {"licence": number, "change": change, "on": on, "why": why}
    work.execute(insert(licence_change).values({**values, "recorded_at": stamp.at, "recorded_by": stamp.who}))
