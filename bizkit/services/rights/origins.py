"""Where an archive clip comes from: the deliverable of a job of ours that it was cut out of.

A clip is one piece of footage whichever job licenses it, so it brings what its deliverable needs: everybody and
everything that is in that, by the papers of the job that made it. It is said with `bizkit rights link --from`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.errors import BadInput, NotFound
from bizkit.services.rights.works import Work, works_of_job

if TYPE_CHECKING:
    from sqlalchemy import Connection

#: The part of a clip that says it, beside who and what is in it.
FROM: Final = "from"


def origin_works(work: Connection, clips: Iterable[Work]) -> dict[str, Work]:
    """Id of a clip -> the deliverable it comes from, of those clips of which it was said."""
    from bizkit.store.jobs import jobs
    from bizkit.store.rights import origins

    said = origins(work)
    wanted = {one.id: said[one.job, one.key] for one in clips if one.kind == "clip" and (one.job, one.key) in said}
    keys = {origin.partition("/")[0] for origin in wanted.values()}
    known = {one.id: one for key in sorted(keys) for row in jobs(work, key) for one in works_of_job(work, row)}
    return {clip: known[origin] for clip, origin in wanted.items()}


def with_clips_of(work: Connection, works: Collection[str]) -> set[str]:
    """Ids of works, and of the clips that come from any of them."""
    from bizkit.store.rights import origins

    return {*works, *(f"{job}/{clip}" for (job, clip), origin in origins(work).items() if origin in works)}


def with_origins_of(work: Connection, works: Collection[str]) -> set[str]:
    """Ids of works, and of the deliverables that the clips among them come from."""
    from bizkit.store.rights import origins

    return {*works, *(origin for (job, clip), origin in origins(work).items() if f"{job}/{clip}" in works)}


def named_origin(work: Connection, clips: Sequence[Work], wanted: Sequence[str]) -> str:
    """The deliverable named as where clips come from. Raises BadInput for other works than clips, NotFound."""
    from bizkit.services.job.jobs import the_job

    if any(one.kind != "clip" for one in clips):
        raise BadInput(wanted="an archive clip by its title", got="a deliverable of this job", field="--from")
    job, slash, key = wanted[0].partition("/")
    if len(wanted) > 1 or not slash:
        raise BadInput(wanted="one deliverable as JOB/DELIVERABLE", got=", ".join(wanted), field="--from")
    made = [one for one in works_of_job(work, the_job(work, job)) if one.kind != "clip"]
    known: Mapping[str, Any] = {one.key: one for one in made}
    if key not in known:
        raise NotFound("deliverable", key, known, field="--from", where=job)
    return str(known[key].id)
