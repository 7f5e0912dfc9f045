"""Every licence at a glance, and which exclude one another."""

from __future__ import annotations

from datetime import date
from typing import Any

from bizkit.domain.rights.grants import conflicts
from bizkit.services.studio.studio_folder import StudioFolder


def list_licences(folder: StudioFolder, on: date, job: str | None = None) -> dict[str, Any]:
    """Licences in the order granted, of one job or all; and conflicts among all that bind, promises included."""
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.licences import all_that_bind, licence_row
    from bizkit.store.rights import licence_names

    with folder.book.read_all() as work:
        key = the_job(work, job).key if job else None
        everyone = all_that_bind(folder, work, on)
        job_of = {number: job for number, (job, _) in licence_names(work).items()}
        found = [one for one in everyone if job_of.get(one.key) and key in (None, job_of[one.key])]
        against = conflicts(everyone, on)
    names = {one.key for one in found} | ({key} if key else set())
    return {
        "licences": [{**licence_row(one, on), "job": job_of[one.key]} for one in found],
        "conflicts": [
            {**one.data(), "text": one.text}
            for one in against
            if key is None or {one.first.key, one.second.key} & names
        ],
    }
