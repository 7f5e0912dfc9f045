"""Putting somebody on record by hand, or changing why and how long what is known is kept."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.rights.personal_data import BASES
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    pass
from bizkit.services.rights.person_list import PersonRow, person_rows
from bizkit.services.rights.persons import (
    agree_on_birth,
    find_person,
    keep_person,
    subject_of,
    without_name,
)


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
    reason: str = "",
) -> PersonSet:
    """Put somebody on record, or change on what basis, for what and how long what is known is kept.

    A date of birth decides anew about every paper they signed or that is about them: `look` says what became of them.
    reason: why another date of birth than the one on record is right; kept without their name.

    Raises BadInput for an unknown basis, a person new without basis and purpose, a birthday to come, or a second date
    of birth without a reason; RuleBroken for an end before the day it counts for.
    """
    from bizkit.services.rights.news_of_age import news_of_age
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
        if not reason.strip():
            agree_on_birth(person, born)
        corrected = born is not None and person.born_on not in ("", born.isoformat())
        changes = {"basis": basis, "purpose": purpose, "keep_until": until.isoformat() if until else ""}
        said: dict[str, object] = {key: value for key, value in changes.items() if value}
        said |= {"born_on": born.isoformat()} if born else {}
        said |= {"contact": {**person.contact, **contact}} if contact else {}
        if said:
            set_person(work, person.id, **said)
        why = {"corrected": "born_on", "reason": without_name(reason, person.name)} if corrected else {}
        record(work, stamp, "person kept", subject_of(person), **changes, **why)
        (row,) = person_rows(folder, work, on, [one for one in persons(work) if one.id == person.id])
        return {**row, "look": news_of_age(folder, work, person.id, on) if born else []}


class PersonSet(PersonRow):
    """Somebody put on record; look: what a date of birth means for papers."""

    look: list[str]
