"""Every licence at a glance, and which exclude one another."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.rights.grants import conflicts
from bizkit.domain.rights.licence import Licence
from bizkit.services.rights.licences import LicenceRow
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def list_licences(folder: StudioFolder, on: date, job: str | None = None) -> LicencesShown:
    """Licences in the order granted, of one job or all; and conflicts among all that bind, promises included.

    not_held: what is not held of one that is not over, a line each; but what it was granted in spite of.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.licences import all_that_bind, licence_row
    from bizkit.store.rights import licence_names

    with folder.book.read_all() as work:
        key = the_job(work, job).key if job else None
        everyone = all_that_bind(folder, work, on)
        job_of = {number: job for number, (job, _) in licence_names(work).items()}
        found = [one for one in everyone if job_of.get(one.key) and key in (None, job_of[one.key])]
        against = conflicts(everyone, on)
        lacks = lacks_of(folder, work, [(one, job_of[one.key]) for one in found], on)
    names = {one.key for one in found} | ({key} if key else set())
    return {
        "licences": [{**licence_row(one, on), "job": job_of[one.key], "not_held": lacks[one.key]} for one in found],
        "conflicts": [
            {**one.data(), "text": one.text}
            for one in against
            if key is None or {one.first.key, one.second.key} & names
        ],
    }


def lacks_of(
    folder: StudioFolder, work: Connection, grants: Iterable[tuple[Licence, str]], on: date
) -> dict[str, list[str]]:
    """What is not held of licences that are not over, each with the key of its job; but what they were granted in
    spite of. Number -> a line each.
    """
    from bizkit.services.rights.clearance import check_again, gap_text
    from bizkit.services.rights.overrides import all_overridden
    from bizkit.store.jobs import jobs

    decided, found = all_overridden(work), {}
    for one, job in grants:
        (made_for,) = jobs(work, job)
        checked, known = check_again(folder, work, made_for, one, on), decided.get(one.key, set())
        gaps = [gap for gap in checked.clearance.gaps if (gap.need.kind, gap.need.subject) not in known]
        found[one.key] = [gap_text(gap, checked.tree) for gap in gaps]
    return found


class LicencesShown(TypedDict):
    """Licences in the order granted, and what of them conflicts."""

    licences: list[LicenceOfJob]
    conflicts: list[dict[str, Any]]


class LicenceOfJob(LicenceRow):
    """A licence with its job, and what of it is not held, a line each."""

    job: str
    not_held: list[str]
