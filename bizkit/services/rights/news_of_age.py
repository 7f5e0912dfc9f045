"""What a date of birth that becomes known changes about papers on file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from bizkit.services.rights.persons import People, people_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.licences import LicenceRow
from bizkit.services.rights.ages import coming_of_age


def births_on_record(work: Connection) -> Mapping[str, date]:
    """`person-ID` -> date of birth, of everybody whose is known."""

    return people_of(work).births


def news_of_births(
    folder: StudioFolder, work: Connection, before: Mapping[str, date], on: date, *, but: int
) -> list[str]:
    """`news_of_age` of everybody whose date of birth is another than `before`, of other papers than `but`."""
    changed = [subject for subject, born in births_on_record(work).items() if before.get(subject) != born]
    return [
        line
        for subject in changed
        for line in news_of_age(folder, work, int(subject.removeprefix("person-")), on, but=but)
    ]


def news_of_age(folder: StudioFolder, work: Connection, person_id: int, on: date, *, but: int = 0) -> list[str]:
    """What the date of birth of a person means for the papers about them or signed by them, one line each.

    but: the number of a paper to leave out.

    Licences that rest on a paper which turns out to hold nothing are named, for somebody to decide about.
    """
    from bizkit.services.rights.holdings import holding_of
    from bizkit.services.rights.licences import resting_on_subject
    from bizkit.services.rights.person_file import papers_of
    from bizkit.store.rights import persons

    rows = persons(work)
    (person,) = [row for row in rows if row.id == person_id]
    people = People.of(rows)
    lines: list[str] = []
    live: dict[str, LicenceRow] = {}
    for row in papers_of(work, person):
        if row.status not in ("signed", "withdrawn") or row.id == but:
            continue
        holding = holding_of(row, people)
        if holding.age_fault:
            lines.append(f"paper {holding.key}, {holding.title}, holds nothing: {holding.age_fault}")
            subject = (holding.kind, holding.subject)
            live |= {one["number"]: one for one in resting_on_subject(folder, work, row.job, subject, on)}
        lines += coming_of_age(holding)
    return lines + [f"decide about {one['number']}, {one['licensee']}: {one['state']}" for one in live.values()]
