"""How long what is known of people is kept: as their papers say, and while a licence resting on one may be disputed.

UK GDPR Article 5(1)(e) and Article 17(3)(e); the years are those of `domain.rights.personal_data`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.rights.licence import OVER
from bizkit.domain.rights.personal_data import AS_LONG_AS_IT_RUNS, keep_until
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.licences import LicenceRow
    from bizkit.store.jobs import PaperOnFile


def disputed_until(licence: LicenceRow) -> str:
    """The last day on which somebody may ask whether a licence was covered."""
    granted_on = date.fromisoformat(licence["granted_on"])
    if licence["state"] not in OVER and not licence["ends"]:
        return AS_LONG_AS_IT_RUNS
    return keep_until(date.fromisoformat(licence["ends"]) if licence["ends"] else None, granted_on).isoformat()


def resting_on(
    folder: StudioFolder, work: Connection, papers: Iterable[PaperOnFile], on: date, *, every: bool = False
) -> dict[int, list[LicenceRow]]:
    """Id of each paper with a scan -> licences, over or not, of works that cannot be used without such a paper.

    every: these are all the papers there are, so that all licences are read at once.
    """
    from bizkit.services.rights.licences import granted, licence_row
    from bizkit.services.rights.needs import needs_of
    from bizkit.services.rights.origins import with_clips_of
    from bizkit.services.rights.works import works_of_job
    from bizkit.store.jobs import jobs
    from bizkit.store.rights import origins

    of_job: dict[str, list[PaperOnFile]] = defaultdict(list)
    for paper in papers:
        if paper.paper:
            of_job[paper.job].append(paper)
    reused, works = set(origins(work).values()), {}
    for key, mine in of_job.items():
        (row,) = jobs(work, key)
        needs, _ = needs_of(folder, work, row, works_of_job(work, row))
        for paper in mine:
            about = (paper.kind, paper.subject)
            shown = {one for need in needs if (need.kind, need.subject) == about for one in need.works}
            works[paper.id] = shown if reused.isdisjoint(shown) else with_clips_of(work, shown)
    wanted = set().union(*works.values())
    of_work: dict[str, list[LicenceRow]] = defaultdict(list)
    for one in granted(work, works=None if every else wanted) if wanted or every else []:
        licence = licence_row(one, on)
        for name in one.works:
            of_work[name].append(licence)
    return {
        number: list({row["number"]: row for name in sorted(shown) for row in of_work.get(name, ())}.values())
        for number, shown in works.items()
    }


def needed_until(
    folder: StudioFolder, work: Connection, papers: Iterable[PaperOnFile], on: date, *, every: bool = False
) -> dict[int, str]:
    """Id of each paper that a licence rests on -> the last day on which any of those may be disputed."""
    found = resting_on(folder, work, papers, on, every=every)
    return {number: max(map(disputed_until, rows)) for number, rows in found.items() if rows}
