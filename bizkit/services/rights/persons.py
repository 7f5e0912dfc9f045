"""Persons: whose personal data is kept, on what lawful basis, for what, and until when.

A person's name stands in one row; holdings, lists and grants say `person-ID`, so that it can be taken out again.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.names import Spelling, alphabets, near_name, same_name, shown
from bizkit.domain.rights.personal_data import PERSON_KINDS, keep_until
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import PaperOnFile
    from bizkit.store.rights import Person
    from bizkit.store.stamp import Stamp

ERASED = "erased person"

_ID = re.compile(r"person-\d+")


def find_person(rows: Sequence[Person], name: str) -> Person | None:
    """The person called `name`, or `person-ID`. Raises BadInput where two share the name."""
    found = [row for row in rows if not row.erased_on and name == subject_of(row)]
    found = found or [row for row in rows if not row.erased_on and same_name(row.name) == same_name(name)]
    if len(found) > 1:
        ids = ", ".join(subject_of(row) for row in found)
        raise BadInput(wanted="one person", got=f"{len(found)} called {name}", hint=f"Say which: {ids}")
    return found[0] if found else None


def the_person(rows: Sequence[Person], name: str) -> Person:
    """As `find_person`. Raises NotFound when there is none."""
    found = find_person(rows, name)
    if found is None:
        known = [row.name for row in rows if not row.erased_on]
        raise NotFound("person", name, known, field="PERSON", hint="" if known else "Nobody is on record")
    return found


def named(work: Connection, name: str) -> str:
    """Somebody by their name, where they were named by `person-ID`."""
    from bizkit.store.rights import persons

    person = find_person(persons(work), name) if _ID.fullmatch(name.strip()) else None
    return person.name if person else name


def subject_of(row: Person) -> str:
    """What holdings and lists call a person: `person-3`."""
    return f"person-{row.id}"


def subject_id(rows: Sequence[Person], kind: str, name: str) -> str:
    """The subject of a holding of `kind` about `name`: a known person's id, else the name as compared."""
    if kind in PERSON_KINDS:
        person = find_person(rows, name)
        if person is not None:
            return subject_of(person)
    return same_name(name)


def compared(subject: str) -> str:
    """A subject as compared, also where an older book wrote it down otherwise: `person-ID`, or a thing's name."""
    return subject if subject.startswith("person-") else same_name(subject)


def names(rows: Sequence[Person]) -> dict[str, str]:
    """`person-ID` -> what to call them."""
    return {subject_of(row): f"{ERASED} {row.id}" if row.erased_on else row.name for row in rows}


@dataclass(frozen=True, slots=True)
class People:
    """Everybody on record, for reading papers. called: `person-ID` -> name. births: `person-ID` -> date of birth.

    by_name: a name as compared -> the latest date of birth on record under it: of two people of one name the younger.
    erased: `person-ID` -> the day they were erased. young, young_by_name: who -> the last day on which they were
    under 18, as a paper signed for them that day says.
    """

    called: Mapping[str, str]
    births: Mapping[str, date]
    by_name: Mapping[str, date]
    erased: Mapping[str, date] = field(default_factory=dict)
    young: Mapping[str, date] = field(default_factory=dict)
    young_by_name: Mapping[str, date] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        rows: Sequence[Person],
        minors: Sequence[tuple[str, str, str]] = (),
        erased: Mapping[str, date] | None = None,
    ) -> People:
        """From the persons of the book. minors: subject, name and day of the papers signed for somebody under 18."""
        born = {subject_of(row): date.fromisoformat(row.born_on) for row in rows if row.born_on}
        by_name: dict[str, date] = {}
        for row in rows:
            if row.born_on:
                name = same_name(row.name)
                by_name[name] = max(born[subject_of(row)], by_name.get(name, date.min))
        young: dict[str, date] = {}
        young_by_name: dict[str, date] = {}
        for subject, name, day in minors:
            signed = date.fromisoformat(day)
            young[subject] = max(signed, young.get(subject, date.min))
            young_by_name[same_name(name)] = max(signed, young_by_name.get(same_name(name), date.min))
        return cls(names(rows), born, by_name, dict(erased or {}), young, young_by_name)


def people_of(work: Connection) -> People:
    """Everybody on record."""
    from bizkit.store.ahead import kept
    from bizkit.store.jobs import signed_for_minors
    from bizkit.store.rights import persons

    return kept(work, "people", lambda: People.of(persons(work), signed_for_minors(work), _erased(work)))


def _erased(work: Connection) -> dict[str, date]:
    """`person-ID` -> the first day on which somebody was erased, also where papers of theirs had to stay."""
    from bizkit.store.events import of_verb

    found: dict[str, date] = {}
    for event in of_verb(work, "erased"):
        found.setdefault(event.subject, date.fromisoformat(event.data.get("on") or event.at[:10]))
    return found


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
) -> Person:
    """The row of a person, written when they are new; what is known now is added, and kept as long as is needed.

    why: lawful basis and purpose for somebody new. last_day, signed_on: of the paper they are kept for. Raises
    BadInput for another date of birth than is on record: it may be somebody else; NotFound for an unknown person-ID.
    """
    from bizkit.store.rights import add_person, persons, set_person

    until = keep_until(last_day, signed_on or stamp.on).isoformat()
    known = persons(work)
    found = find_person(known, name)
    if found is None:
        if _ID.fullmatch(name.strip()):
            raise NotFound("person", name, [subject_of(row) for row in known if not row.erased_on])
        _check_new_name(known, name)
        add_person(
            work,
            stamp,
            {
                "name": " ".join(shown(name).split()),
                "born_on": born.isoformat() if born else "",
                "contact": dict(contact or {}),
                "basis": why[0],
                "purpose": why[1],
                "keep_until": until,
            },
        )
    else:
        changes: dict[str, Any] = {"keep_until": max(until, found.keep_until)}
        agree_on_birth(found, born)
        if born:
            changes["born_on"] = born.isoformat()
        if contact:
            changes["contact"] = {**found.contact, **contact}
        set_person(work, found.id, **changes)
    person = find_person(persons(work), name)
    assert person is not None
    return person


def _check_new_name(known: Sequence[Person], name: str) -> None:
    """Refuse the name of somebody new that is no name, or all but that of somebody on record. Raises BadInput."""
    if not near_name(name):
        raise BadInput(wanted="a name", got=name.strip() or "nothing", field="the name")
    mixed = alphabets(name)
    if len(mixed) > 1:
        raise BadInput(
            wanted="a name in one alphabet",
            got=f"{name}, with letters of {' and '.join(mixed)}",
            field="the name",
            hint="It looks like another name and is none: type it anew",
        )
    for row in known:
        if not row.erased_on and near_name(row.name) == near_name(name):
            raise BadInput(
                wanted=f"a name that is told from {row.name}, {subject_of(row)}, who is on record",
                got=name,
                field="the name",
                hint=f"The same person: say {subject_of(row)}. Somebody else: tell them apart by a word behind the "
                f"name, as in '{name} (the younger)'",
            )


def agree_on_birth(person: Person, born: date | None) -> None:
    """Refuse a second date of birth for one person. Raises BadInput that says both ways on."""
    if born is None or person.born_on in ("", born.isoformat()):
        return
    who, name = subject_of(person), person.name
    raise BadInput(
        wanted=f"the date of birth that {who}, {name}, has on record ({person.born_on})",
        got=born,
        field="--born",
        hint=f"Somebody else of that name: tell them apart by a word behind it, as in '{name} (the younger)'. "
        f"Wrong on record: bizkit person set {who} --born {born} --reason WHY",
    )


def without_name(text: str, name: str) -> str:
    """A text with a person's name taken out, however it is written there, and each word of it on its own.

    >>> without_name("ZOË ASH asked; Zoë was clear", "Zoë Ash")
    'this person asked; this person was clear'
    """
    plain = " ".join(text.split())
    for one in (name, *(word for word in name.split() if len(word) > 2)):
        plain = Spelling(one).taken_out(plain, "this person")
    return plain


def papers_naming(papers: Iterable[PaperOnFile], whose: Iterable[Person]) -> dict[int, list[PaperOnFile]]:
    """Id of each person -> the papers by id that are about them, or signed by them; as `named_in` tells."""
    about: dict[str, dict[int, PaperOnFile]] = defaultdict(dict)
    named: dict[str, dict[int, PaperOnFile]] = defaultdict(dict)
    for row in papers:
        if row.status == "void":
            continue
        about[row.subject][row.id] = row
        called = [one["name"] for one in row.data.get("signers", ())]
        for name in [*called, *([row.subject] if row.kind in SHOOT_PAPER_KINDS else [])]:
            named[same_name(name)][row.id] = row
    found = {}
    for person in whose:
        both = {**about.get(subject_of(person), {}), **named.get(same_name(person.name), {})}
        found[person.id] = [both[number] for number in sorted(both)]
    return found


def named_in(holding: PaperOnFile, person: Person) -> bool:
    """Whether a paper is about a person, or signed by them for somebody else."""
    name = same_name(person.name)
    signers = [same_name(one["name"]) for one in holding.data.get("signers", ())]
    return is_about(holding, person) or name in signers


def is_about(holding: PaperOnFile, person: Person) -> bool:
    """Whether a paper is a person's own: about them, or theirs to carry on the shoot (an ID, a diver's medical)."""
    carried = holding.kind in SHOOT_PAPER_KINDS and same_name(holding.subject) == same_name(person.name)
    return holding.subject == subject_of(person) or carried
