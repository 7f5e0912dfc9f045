"""Where a paper counts: under the job that made the pictures, for every licence of its works and of clips of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bizkit.services.rights.needs import needs_of
from bizkit.services.rights.origins import with_inside
from bizkit.services.rights.works import works_of_job
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.rights.holding import Holding
    from bizkit.store.jobs import Job


def counts_elsewhere(folder: StudioFolder, work: Connection, job: Job, holding: Holding) -> list[str]:
    """What to look at of a paper filed under a job in whose own works it is about nothing, but about what a clip
    brings from another job; a line where it is so."""
    from bizkit.store.jobs import jobs

    about = (holding.kind, holding.subject)

    def needed(row: Job) -> bool:
        mine = [one for one in inside if one.job == row.key]
        return any((need.kind, need.subject) == about for need in needs_of(folder, work, row, mine)[0])

    inside = with_inside(work, works_of_job(work, job)).works
    if needed(job):
        return []
    others = dict.fromkeys(one.job for one in inside if one.job != job.key)
    makers = [key for key in others for row in jobs(work, key) if needed(row)]
    if not makers:
        return []
    return [
        f"{holding.name} is in nothing that {job.key} made, and in what a clip brings from {' and '.join(makers)}: a "
        "paper counts under the job that made the pictures, so this one clears nothing of that. File it there"
    ]
