"""Ages: what the dates of birth on record make of the papers that people signed, then or later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.rights.age import minor_when
from bizkit.domain.rights.holding import Holding
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.services.rights.persons import People

if TYPE_CHECKING:
    from sqlalchemy import Connection

GUARDIAN_SIGNS = "a parent or guardian signs; name them with --guardian"


def with_births(holding: Holding, people: People) -> Holding:
    """A paper with the dates of birth on record of whom it is about and who signed it.

    Without one, somebody who was under 18 when a later paper was signed for them was so before too.
    """
    own = people.births.get(holding.subject)
    signers = tuple(
        replace(one, born_on=own if one.role == "self" else people.by_name.get(same_name(one.name)))
        for one in holding.signers
    )
    last = people.young.get(holding.subject)
    said = own is None and last is not None and holding.signed_on is not None and holding.signed_on <= last
    return replace(holding, born_on=own, signers=signers, minor=holding.minor or said)


def check_ages(holding: Holding) -> None:
    """Refuse a paper to be filed whose signatures cannot count, for the age of who signed. Raises RuleBroken."""
    if not holding.age_fault:
        return
    guardian = next((one for one in holding.signers if one.role == "guardian"), None)
    if guardian is None:
        young = next((one for one in holding.signers if minor_when(one.born_on, holding.signed_on)), None)
        born = holding.born_on or (young.born_on if young else None)
        who = holding.name if holding.kind in PERSON_KINDS or young is None else young.name
        said = f"{who} was born {born}, so " if born else f"{who} was "
        raise RuleBroken(f"{said}under 18 when it was signed: {GUARDIAN_SIGNS}")
    if same_name(guardian.name) == same_name(holding.name):
        raise RuleBroken(f"{holding.name} is named as their own guardian: {GUARDIAN_SIGNS}, somebody else")
    if minor_when(guardian.born_on, holding.signed_on):
        raise RuleBroken(
            f"{guardian.name} was born {guardian.born_on}, so under 18 when it was signed: a guardian is of age"
        )
    raise RuleBroken(
        f"{holding.name} was born {holding.born_on}, so of age when it was signed: they sign themselves, "
        "without --guardian"
    )


def check_said_young(holding: Holding, people: People) -> None:
    """Ask for the date of birth of somebody who signs alone and was under 18 by an earlier paper. Raises BadInput."""
    if holding.kind not in PERSON_KINDS or holding.born_on is not None or holding.young:
        return
    last = people.young.get(holding.subject) or people.young_by_name.get(same_name(holding.name))
    if last is not None:
        raise BadInput(
            wanted=f"the date of birth of {holding.name}, for whom a parent or guardian signed as under 18 on {last}",
            got="nothing",
            field="--born",
        )


def under_age(work: Connection, name: str, born: date | None, on: date, said: bool) -> bool:
    """Whether somebody is under 18 on a day: by the date of birth, given or on record, else as said."""
    from bizkit.services.rights.persons import find_person
    from bizkit.store.rights import persons

    person = find_person(persons(work), name) if name and born is None else None
    if person is not None and person.born_on:
        born = date.fromisoformat(person.born_on)
    known = minor_when(born, on)
    return said if known is None else known


def coming_of_age(holding: Holding, on: date | None = None) -> Iterator[str]:
    """What a minor's paper should have somebody look at: the day they come of age, or that nobody can tell.

    on: the day it is said.
    """
    if holding.why_nothing or not holding.young:
        return
    if holding.born_on is None and holding.kind in PERSON_KINDS:
        yield (
            f"{holding.title}: signed for somebody under 18 whose date of birth is not on record, so nobody is told "
            f"when they come of age: bizkit person set '{holding.name}' --born YYYY-MM-DD"
        )
    elif holding.of_age_on is not None:
        yield f"{holding.title}: {turns_18(holding, on)}"


def turns_18(holding: Holding, on: date | None = None) -> str:
    """`turns 18 on 2035-08-02, within what paper 7 allows: ...`, for a minor who does; on: the day it is said."""
    turns = "turned" if on is not None and holding.of_age_on is not None and holding.of_age_on <= on else "turns"
    return (
        f"{turns} 18 on {holding.of_age_on}, within what paper {holding.key} allows: from then on they decide for "
        "themselves, so ask them to confirm it"
    )
