"""Persons: whose personal data is kept, on what lawful basis, for what, and until when.

A person's name stands in one row; holdings, lists and grants say `person-ID`, so that it can be taken out again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.rights.personal_data import BASES, PERSON_KINDS, keep_until
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp

Row = dict[str, Any]

ERASED = "erased person"


def same_name(name: str) -> str:
    """A name as compared: one space between words, no capitals.

    >>> same_name(" Eilidh  RENDALL")
    'eilidh rendall'
    """
    return " ".join(name.split()).casefold()


def find_person(rows: Sequence[Row], name: str) -> Row | None:
    """The person called `name`, or `person-ID`. Raises BadInput where two share the name."""
    found = [row for row in rows if not row["erased_on"] and name == subject_of(row)]
    found = found or [row for row in rows if not row["erased_on"] and same_name(row["name"]) == same_name(name)]
    if len(found) > 1:
        ids = ", ".join(subject_of(row) for row in found)
        raise BadInput(wanted="one person", got=f"{len(found)} called {name}", hint=f"Say which: {ids}")
    return found[0] if found else None


def the_person(rows: Sequence[Row], name: str) -> Row:
    """As `find_person`. Raises NotFound when there is none."""
    found = find_person(rows, name)
    if found is None:
        known = [row["name"] for row in rows if not row["erased_on"]]
        raise NotFound("person", name, known, field="PERSON", hint="" if known else "Nobody is on record")
    return found


def subject_of(row: Mapping[str, Any]) -> str:
    """What holdings and lists call a person: `person-3`."""
    return f"person-{row['id']}"


def subject_id(rows: Sequence[Row], kind: str, name: str) -> str:
    """The subject of a holding of `kind` about `name`: a known person's id, else the name as compared."""
    if kind in PERSON_KINDS:
        person = find_person(rows, name)
        if person is not None:
            return subject_of(person)
    return same_name(name)


def names(rows: Sequence[Row]) -> dict[str, str]:
    """`person-ID` -> what to call them."""
    return {subject_of(row): f"{ERASED} {row['id']}" if row["erased_on"] else row["name"] for row in rows}


def keep_person(
    work: Connection,
    stamp: Stamp,
    name: str,
    why: tuple[str, str],
    *,
    born: date | None = None,
    last_day: date | None = None,
    signed_on: date | None = None,
    contact: Mapping[str, str] | None = None,
) -> Row:
    """The row of a person, written when they are new; what is known now is added, and kept as long as is needed.

    why: lawful basis and purpose for somebody new. last_day, signed_on: of the paper they are kept for.
    """
    from bizkit.store.rights import add_person, persons, set_person

    until = keep_until(last_day, signed_on or stamp.on).isoformat()
    found = find_person(persons(work), name)
    if found is None:
        add_person(
            work,
            stamp,
            {
                "name": " ".join(name.split()),
                "born_on": born.isoformat() if born else "",
                "contact": dict(contact or {}),
                "basis": why[0],
                "purpose": why[1],
                "keep_until": until,
            },
        )
    else:
        changes: Row = {"keep_until": max(until, found["keep_until"])}
        if born:
            changes["born_on"] = born.isoformat()
        if contact:
            changes["contact"] = {**found["contact"], **contact}
        set_person(work, found["id"], **changes)
    person = find_person(persons(work), name)
    assert person is not None
    return person


def set_person_by_hand(
    folder: StudioFolder,
    name: str,
    on: date,
    *,
    basis: str = "",
    purpose: str = "",
    until: date | None = None,
    born: date | None = None,
    email: str = "",
    phone: str = "",
) -> Row:
    """Put somebody on record, or change on what basis, for what and how long what is known is kept.

    Raises BadInput for an unknown basis, a person new without basis and purpose, or a birthday to come; RuleBroken
    for an end before the day it counts for.
    """
    from bizkit.store.events import record
    from bizkit.store.rights import persons, set_person

    if basis and basis not in BASES:
        raise NotFound("lawful basis", basis, BASES, field="--basis")
    if born and born > on:
        raise BadInput(wanted=f"a date of birth on or before {on}", got=born, field="--born")
    if until and until < on:
        raise RuleBroken(f"kept until {until}, which is before {on}: erase them with bizkit person erase instead")
    stamp = folder.stamp(on)
    contact = {key: value for key, value in (("email", email), ("phone", phone)) if value}
    with folder.book.work() as work:
        person = find_person(persons(work), name)
        if person is None:
            for value, field in ((basis, "--basis"), (purpose, "--purpose")):
                if not value:
                    raise BadInput(wanted="why their data is kept, for somebody new", got="nothing", field=field)
            person = keep_person(work, stamp, name, (basis, purpose))
        changes = {"basis": basis, "purpose": purpose, "keep_until": until.isoformat() if until else ""}
        said: Row = {key: value for key, value in changes.items() if value}
        said |= {"born_on": born.isoformat()} if born else {}
        said |= {"contact": {**person["contact"], **contact}} if contact else {}
        if said:
            set_person(work, person["id"], **said)
        record(work, stamp, "person kept", subject_of(person), **changes)
        return next(row for row in person_rows(work, on) if row["id"] == person["id"])


def person_rows(work: Connection, on: date) -> list[Row]:
    """Everybody on record: basis, purpose, until when, and the papers that name them."""
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    papers = holdings(work)
    rows = []
    for person in persons(work):
        about = [row["id"] for row in papers if named_in(row, person) and row["status"] != "void"]
        rows.append(
            {
                "id": person["id"],
                "name": names([person])[subject_of(person)],
                "born_on": person["born_on"],
                "contact": person["contact"],
                "basis": person["basis"],
                "purpose": person["purpose"],
                "keep_until": person["keep_until"],
                "overdue": not person["erased_on"] and person["keep_until"] < on.isoformat(),
                "erased_on": person["erased_on"],
                "papers": about,
            }
        )
    return rows


def named_in(holding: Row, person: Row) -> bool:
    """Whether a paper is about a person, or signed by them for somebody else."""
    data = holding["data"]
    signers = [same_name(one["name"]) for one in data.get("signers", ())]
    return holding["subject"] == subject_of(person) or same_name(person["name"]) in signers


def list_persons(folder: StudioFolder, on: date) -> list[Row]:
    """Everybody whose data is kept."""
    with folder.book.read() as work:
        return person_rows(work, on)
