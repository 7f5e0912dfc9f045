"""Works: what a licence is granted of, by an id that is the same in every grant of it (`JOB/DELIVERABLE`)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import NotFound, RuleBroken

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job


@dataclass(frozen=True, slots=True)
class Work:
    """A deliverable, or a clip from the archive that goes into one. kind: "film", "stills" or "clip".

    quantity: films like it, or stills in the set. cut_of, cut: the key of the set it is a cut of, and what tells it
    from the others ("9:16, 30 s, clean").
    """

    job: str
    key: str
    title: str
    kind: str
    quantity: int = 1
    cut_of: str = ""
    cut: str = ""

    @property
    def id(self) -> str:
        """`follow-the-kelp/stills`."""
        return f"{self.job}/{self.key}"


def works_of_job(work: Connection, job: Job) -> list[Work]:
    """What a job makes, and the archive clips its licence includes."""
    from bizkit.store.deliveries import deliverables

    found = [
        Work(
            job.key,
            row.key,
            row.title,
            row.kind,
            row.quantity,
            row.data.get("cut_of", ""),
            row.data.get("cut", ""),
        )
        for row in deliverables(work, job.key)
    ]
    clips = (job.licence or {}).get("clips", [])
    return found + [Work(job.key, clip["title"], clip["title"], "clip") for clip in clips]


def charged(works: Sequence[Work]) -> list[Work]:
    """What a licence of `works` is charged for, clips apart: the cuts of one set are one film (common practice)."""
    found: list[Work] = []
    seen: set[tuple[str, str]] = set()
    for one in works:
        if one.kind == "clip" or (one.job, one.cut_of) in seen:
            continue
        if one.cut_of:
            seen.add((one.job, one.cut_of))
            one = replace(one, title=one.title.removesuffix(f": {one.cut}"))
        found.append(one)
    return found


def licensed_works(work: Connection, job: Job) -> list[Work]:
    """The works of a job's licence: its own, or those of other jobs that it names by their ids."""
    own = works_of_job(work, job)
    if job.licence is None or not job.licence.get("works"):
        return own
    named = job.licence["works"]
    return [one for one in own if one.key in named or one.kind == "clip"] + works_elsewhere(work, job.licence)


def works_elsewhere(work: Connection, licence: Mapping[str, Any]) -> list[Work]:
    """Works of jobs that a licence names by their ids."""
    from bizkit.store.jobs import jobs

    elsewhere: dict[str, list[str]] = {}
    for name in licence.get("works", []):
        other, slash, key = name.partition("/")
        if slash:
            elsewhere.setdefault(other, []).append(key)
    return [
        one
        for other, keys in elsewhere.items()
        for row in jobs(work, other)
        for one in works_of_job(work, row)
        if one.key in keys
    ]


def made_elsewhere(work: Connection, job: Job) -> list[str]:
    """Jobs whose works a job licenses, where it makes nothing itself; none where it does."""
    if not job.licence or works_of_job(work, job):
        return []
    return list(dict.fromkeys(one.job for one in works_elsewhere(work, job.licence)))


def file_where_made(work: Connection, job: Job) -> None:
    """Refuse a paper under a job that made nothing: it would count for nothing there. Raises RuleBroken."""
    jobs = made_elsewhere(work, job)
    if jobs:
        raise RuleBroken(
            f"{job.key} licenses works that {' and '.join(jobs)} made: a paper counts under that job, for every "
            "licence of its works"
        )


def works_to_offer(work: Connection, job: Job, named: Sequence[str] = ()) -> list[Work]:
    """Works of a job that another licence can be of: what it made, or what it licenses where it made nothing.

    named: only these, by key, or by id (`JOB/KEY`) where it is another job's. Clips go with what they are in. Raises
    NotFound.
    """
    made = [one for one in works_of_job(work, job) if one.kind != "clip"]
    others = [one for one in licensed_works(work, job) if one.kind != "clip" and one.job != job.key]
    if not named:
        return made or others
    known = {one.id: one for one in (*made, *others)} | {one.key: one for one in (*others, *made)}
    for name in named:
        if name not in known:
            raise NotFound("deliverable", name, [one.key for one in (*made, *others)], where=job.key)
    return list({known[name].id: known[name] for name in named}.values())


def work_ids(work: Connection, job: Job, keys: Iterable[str]) -> list[str]:
    """Ids of works of a job by their keys. Raises NotFound."""
    known = {one.key: one.id for one in works_of_job(work, job)}
    for key in keys:
        if key not in known:
            raise NotFound("deliverable", key, known, where=job.key)
    return [known[key] for key in keys]


def titles(works: Sequence[Work]) -> dict[str, str]:
    """Id of a work -> what it is called."""
    return {one.id: one.title for one in works}
