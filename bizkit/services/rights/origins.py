"""Where an archive clip comes from: the deliverable of a job of ours that it was cut out of.

A clip is one piece of footage whichever job licenses it, so it brings what its deliverable needs: everybody and
everything that is in that, by the papers of the job that made it. It is said with `bizkit rights link --from`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, Final

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.rights.licence_request import clip_piece
from bizkit.services.rights.works import Work, works_of_job

if TYPE_CHECKING:
    from sqlalchemy import Connection

#: The part of a clip that says it, beside who and what is in it.
FROM: Final = "from"


@dataclass(frozen=True, slots=True)
class Inside:
    """Works and all that is in them. works: they, and what came with them, each once. came: id of what came -> the id
    of that of the works which brought it, or of the first of several."""

    works: tuple[Work, ...]
    came: Mapping[str, str]


#: The key of a job -> what it makes, and its clips.
Made = Callable[[str], Sequence[Work]]


def made_in(work: Connection) -> Made:
    """What each job makes, read once for all who share the answer."""
    return cache(partial(_made, work))


def with_inside(work: Connection, works: Iterable[Work], made: Made | None = None) -> Inside:
    """Works, the deliverables that the clips among them come from, the clips that are in those, and so on.

    A job's clips may be in any film of it: nobody says which, so each brings them all (the
    careful reading). made: `made_in`, shared by several questions.
    """
    from bizkit.store.rights import origins

    said = origins(work)
    found = {one.id: one for one in works}
    came: dict[str, str] = {}
    made = made or made_in(work)
    waiting = list(found.values())
    for one in waiting:  # it grows while it is walked
        if one.kind == "clip":
            origin = said.get((one.job, one.key), "")
            inside = [each for each in made(origin.partition("/")[0]) if each.id == origin] if origin else []
        else:
            inside = [each for each in made(one.job) if each.kind == "clip"]
        for each in inside:
            if each.id not in found:
                found[each.id] = each
                brought = found[came.get(one.id, one.id)]
                came[each.id] = one.id if one.kind == "clip" and brought.kind != "clip" else brought.id
                waiting.append(each)
    return Inside(tuple(found.values()), came)


def _made(work: Connection, job: str) -> list[Work]:
    """What a job makes, and its clips."""
    from bizkit.store.jobs import jobs

    return [one for row in jobs(work, job) for one in works_of_job(work, row)]


def with_clips_of(work: Connection, works: Collection[str]) -> set[str]:
    """Ids of works, of the clips that come from any of them, and of what holds clips of those in turn."""
    from bizkit.store.rights import origins

    found, said = set(works), origins(work)
    while True:
        holding_clips = {one.partition("/")[0] for one in found if tuple(one.split("/", 1)) in said}
        more = {f"{job}/{clip}" for (job, clip), origin in said.items() if origin in found}
        more |= {origin for origin in said.values() if origin.partition("/")[0] in holding_clips}
        if more <= found:
            return found
        found |= more


def inside_of(work: Connection, works: Collection[str], made: Made | None = None) -> frozenset[str]:
    """What works bring, as pieces that licences are compared by: ids of deliverables, clips by their titles."""
    made = made or made_in(work)
    brought = with_inside(work, _known(works, made), made).works
    return frozenset(clip_piece(one.key) if one.kind == "clip" else one.id for one in brought)


def _known(works: Collection[str], made: Made) -> list[Work]:
    keys = sorted({one.partition("/")[0] for one in works})
    return [one for key in keys for one in made(key) if one.id in works]


def with_origins_of(work: Connection, works: Collection[str]) -> set[str]:
    """Ids of works, and of all that the clips among them bring (`with_inside`)."""
    made = made_in(work)
    return {*works, *(one.id for one in with_inside(work, _known(works, made), made).works)}


def named_origin(work: Connection, clips: Sequence[Work], wanted: Sequence[str]) -> str:
    """The deliverable named as where clips come from.

    Raises BadInput for other works than clips, and for a deliverable that the clips themselves are in; NotFound.
    """
    from bizkit.services.job.jobs import the_job

    if any(one.kind != "clip" for one in clips):
        raise BadInput(wanted="an archive clip by its title", got="a deliverable of this job", field="--from")
    job, slash, key = wanted[0].partition("/")
    if len(wanted) > 1 or not slash:
        raise BadInput(wanted="one deliverable as JOB/DELIVERABLE", got=", ".join(wanted), field="--from")
    made = [one for one in works_of_job(work, the_job(work, job)) if one.kind != "clip"]
    known = {one.key: one for one in made}
    if key not in known:
        raise NotFound("deliverable", key, known, field="--from", where=job)
    origin = known[key]
    circle = [one for one in clips if one.job == job or one.id in _all_in(work, origin)]
    if circle:
        raise BadInput(
            wanted="a deliverable of an earlier job, which the clip was cut out of",
            got=f"{origin.id}, which {circle[0].title} goes into",
            field="--from",
        )
    return origin.id


def _all_in(work: Connection, origin: Work) -> set[str]:
    """Ids of all that is in a deliverable of another job: its job's clips, and what they bring."""
    clips = [one for one in _made(work, origin.job) if one.kind == "clip"]
    return {one.id for one in with_inside(work, clips).works}
