"""Whether files that are about to leave are cleared: those of their own job, and those of others that go along."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.rights.licence import OVER
from bizkit.services.delivery.parcels import Parcel
from bizkit.services.rights.clearance import Checked, check_job, licensee
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.deliveries import Deliverable
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp


@dataclass(frozen=True, slots=True)
class Cleared:
    """What the rights say of the files of one handover. own: None where none of the job's own works is among them.

    others: key of another job -> what its works that go along lack for the use they may be put to.
    """

    own: Checked | None
    others: dict[str, Checked]

    def why_not(self, on: date) -> list[str]:
        """What stands against it, one line each."""
        lines = _against(self.own, on) if self.own else []
        return lines + [f"{job}: {line}" for job, each in self.others.items() for line in _against(each, on)]

    def record(self, work: Connection, stamp: Stamp, job: str, reason: str, number: str) -> None:
        """Write down for ever what the files of a handover lacked, and the reason. number: of its delivery note."""
        from bizkit.services.rights.overrides import record_override

        named = [("hand over the files", self.own)] if self.own else []
        named += [(f"hand over files of {job} with them", each) for job, each in self.others.items()]
        for doing, checked in named:
            override = checked.require(doing, reason) if checked else None
            if override is not None:
                record_override(work, stamp, job, {**override, "handover": number})


def _against(checked: Checked, on: date) -> list[str]:
    """Why the works of a licence should not leave on a day: it was ended or rests, or is not covered."""
    licence = checked.licence
    ended = licence is not None and licence.state(on) == "ended early"
    over = [f"{licence.key} ended after {licence.ended_after}: {licence.ended_because}"] if licence and ended else []
    return [*over, *checked.at_rest(on), *checked.why_not()]


def promised_here(work: Connection, job: Job) -> list[Deliverable]:
    """What a job promised, and what others made that its licence names: both are its to hand over."""
    from bizkit.services.rights.works import works_elsewhere
    from bizkit.store.deliveries import deliverables

    licensed = {one.id for one in works_elsewhere(work, job.licence or {})}
    made = dict.fromkeys(one.partition("/")[0] for one in sorted(licensed))
    others = [one for key in made for one in deliverables(work, key) if f"{one.job}/{one.key}" in licensed]
    return [*deliverables(work, job.key), *others]


def cleared_to_leave(
    folder: StudioFolder, work: Connection, job: Job, parcels: Sequence[Parcel], others: Collection[str], on: date
) -> Cleared:
    """Check the works in a folder by what is held on the day `on`.

    others: ids of works that are none of the job's. What the same client commissioned is held against the licence it
    was made under; the rest against the licence of this job, as nothing else says what it may be used for.
    """
    only = [parcel.deliverable.key for parcel in parcels]
    own = check_job(folder, work, job, on, only=only) if parcels else None
    found = {}
    for key in dict.fromkeys(one.partition("/")[0] for one in sorted(others)):
        keys = [one.partition("/")[2] for one in others if one.partition("/")[0] == key]
        found[key] = _check_other(folder, work, job, key, keys, on)
    return Cleared(own, {key: checked for key, checked in found.items() if checked is not None})


def _check_other(
    folder: StudioFolder, work: Connection, job: Job, key: str, keys: Sequence[str], on: date
) -> Checked | None:
    from bizkit.domain.rights.grants import granted_scope
    from bizkit.services.rights.clearing import clear_works
    from bizkit.services.rights.licences import licence_of_job
    from bizkit.services.rights.works import works_of_job
    from bizkit.store.jobs import jobs

    (other,) = jobs(work, key)
    if other.client == job.client:
        checked = check_job(folder, work, other, on, only=keys)
        if checked.licence is not None and checked.licence.state(on) not in OVER:
            return checked
    licence = licence_of_job(folder, work, job, on)
    if licence is None or licence.state(on) in OVER:
        return None
    wanted = granted_scope(licence, on)
    works = [one for one in works_of_job(work, other) if one.key in keys]
    to = licensee(job.client, licence.request)
    clearance, questions, _ = clear_works(folder, work, wanted, works, to, licence.granted_on, on)
    return Checked(key, licence, wanted, clearance, tuple(questions), tree=folder.studio.media)
