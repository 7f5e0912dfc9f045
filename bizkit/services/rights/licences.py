"""Licences granted, and those promised by an accepted quote: as the rights rules read them."""

from __future__ import annotations

import gc
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final, TypedDict

from bizkit.domain.errors import BizkitError, NotFound
from bizkit.domain.rights.clearance import resting_on
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.plain_words import begins_and_ends
from bizkit.domain.rights.rest import Rest
from bizkit.domain.rights.term import Term
from bizkit.services.billing.paid import paid_periods
from bizkit.services.billing.suspension import rests
from bizkit.services.job.called_off import cancellations
from bizkit.services.rights.origins import inside_of, made_in, with_clips_of
from bizkit.services.rights.works import licensed_works
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.rights.licence import LicenceState
    from bizkit.store.jobs import Job
    from bizkit.store.rights import Grant


def granted(
    work: Connection,
    *,
    job: str | None = None,
    number: str | None = None,
    ending: tuple[date, date] | None = None,
    works: Collection[str] | None = None,
) -> list[Licence]:
    """Licences in the order granted, with what became of them; of one job, or one of them, when asked.

    ending: only those that may end from the first of these days to the last. works: only those of any of these.
    """
    from bizkit.store.rights import each_licence, licences

    if job is not None or number is not None:
        return [licence_of(work, row) for row in licences(work, job=job, number=number)]
    paid, resting, cancelled = paid_periods(work), rests(work), cancellations(work)
    days = (ending[0].isoformat(), ending[1].isoformat()) if ending else None
    with _nothing_collected():
        return [
            _licence(row, paid.get(row.job, ()), resting.get(row.job, ()), cancelled.get(row.job))
            for row in each_licence(work, ending=days, works=works)
        ]


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """While thousands of values are made that all stay: looking for garbage among them took half of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def licence_of(work: Connection, row: Grant) -> Licence:
    """A grant as it stands: its payment, its changes, its rests and the end of its job taken in."""
    job = row.job
    paid, resting = paid_periods(work, job).get(job, ()), rests(work, job).get(job, ())
    return _licence(row, paid, resting, cancellations(work, job).get(job))


def _licence(row: Grant, paid: tuple[Term, ...], resting: tuple[Rest, ...], cancelled: date | None) -> Licence:
    data = dict(row.data)
    paid = paid if data["request"]["on_full_payment"] else ()
    if paid and not data["paid_on"]:
        data["paid_on"] = paid[0].start.isoformat()
    for change in row.changes:
        if change.change == "first used":
            data["first_used_on"] = change.on
        else:
            data["ended_after"], data["ended_because"] = change.on, change.why
    licence = Licence.from_data(data)
    if paid and licence.paid_on and licence.paid_on < paid[0].start:  # granted as paid: a charge of before came later
        paid = (Term(licence.paid_on, paid[0].end), *paid[1:])
    licence = replace(licence, rests=resting, paid=paid) if resting or paid else licence
    return licence.with_job_cancelled(cancelled) if cancelled else licence


def promised(folder: StudioFolder, work: Connection, on: date, works: Collection[str] | None = None) -> list[Licence]:
    """Licences of accepted quotes that are not granted yet, under the key of their job: they bind as well.

    works: only those of any of these.
    """
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.rights import ungranted_jobs

    rows = [row for row in ungranted_jobs(work) if works is None or _may_be_of(row, works)]
    with reading_ahead(work) if len(rows) > MANY else nullcontext():
        found = [licence_to_grant(folder, work, row, on, key=row.key) for row in rows]
    return [one for one in found if works is None or one.pieces & set(works)]


#: From how many jobs on all of the book is read at once, rather than job by job.
MANY: Final = 20


def _may_be_of(job: Job, works: Collection[str]) -> bool:
    """Whether a job's licence can be of any of some works: its own, or those it names. A quick look."""
    own = f"{job.key}/"
    promised = job.licence or {}
    return bool(promised.get("clips") or promised.get("works")) or any(name.startswith(own) for name in works)


def all_that_bind(
    folder: StudioFolder, work: Connection, on: date, works: Collection[str] | None = None
) -> list[Licence]:
    """Granted and promised, of some works when asked, and of what clips of those are in; with what is inside each."""
    works = None if works is None else with_clips_of(work, works)
    return with_reach(work, [*granted(work, works=works), *promised(folder, work, on, works)])


def with_reach(work: Connection, licences: Iterable[Licence]) -> list[Licence]:
    """Licences with what is inside their works: what clips were cut out of."""
    from bizkit.store.rights import origins

    jobs_with_clips = {job for job, _ in origins(work)}
    if not jobs_with_clips:
        return list(licences)
    found, made = [], made_in(work)
    for one in licences:
        if not jobs_with_clips.isdisjoint(name.partition("/")[0] for name in one.works):
            inside = inside_of(work, one.works, made) - one.pieces
            one = replace(one, inside=inside) if inside else one
        found.append(one)
    return found


def all_that_may_conflict(folder: StudioFolder, work: Connection, on: date) -> list[Licence]:
    """Granted and promised, of the works of which anything exclusive is."""
    from bizkit.store.rights import licensed_works as works_of_grants

    waiting = promised(folder, work, on)
    exclusive = {name for _, of, kind in works_of_grants(work) if kind != "none" for name in of}
    exclusive |= {name for one in waiting if one.request.exclusivity != "none" for name in one.pieces}
    exclusive = with_clips_of(work, exclusive)
    found = [*granted(work, works=exclusive), *(one for one in waiting if one.pieces & exclusive)]
    return with_reach(work, found)


def licence_of_job(folder: StudioFolder, work: Connection, job: Job, on: date) -> Licence | None:
    """The licence of a job as it stands: the newest granted, else the one its quote promises under its key."""
    if not job.licence:
        return None
    own = granted(work, job=job.key)
    return own[-1] if own else licence_to_grant(folder, work, job, on, key=job.key)


def licence_to_grant(folder: StudioFolder, work: Connection, job: Job, on: date, *, key: str) -> Licence:
    """What a grant of a job's licence would be, under `key`. The job must have one."""
    assert job.licence is not None
    request = LicenceRequest.from_data(job.licence)
    paid = paid_periods(work, job.key).get(job.key, ()) if request.on_full_payment else ()
    licence = Licence(
        key=key,
        licensee=job.licence["licensee"],
        works=frozenset(one.id for one in licensed_works(work, job)),
        request=request,
        granted_on=on,
        licensee_sector=_sector(folder, work, job),
        paid_on=paid[0].start if paid else None,
        paid=paid,
    )
    gone = cancellations(work, job.key).get(job.key)
    return licence.with_job_cancelled(gone) if gone else licence


def the_licence(work: Connection, name: str) -> Grant:
    """The row of a licence by its number, or the newest of a job by its key or number. Raises NotFound."""
    from bizkit.store.jobs import jobs
    from bizkit.store.rights import licence_names, licences

    found = licences(work, number=name) or licences(work, job=name)
    if not found:
        found = [row for job in jobs(work) if job.quote_number == name for row in licences(work, job=job.key)]
    if found:
        return found[-1]
    everyone = licence_names(work)
    known = [*everyone, *(job for job, _ in everyone.values())]
    hint = "" if known else "Grant one first: bizkit rights grant JOB"
    raise NotFound("licence (number or job)", name, known, field="LICENCE", hint=hint)


def resting_on_subject(
    folder: StudioFolder, work: Connection, job: str, subject: tuple[str, str], on: date
) -> list[LicenceRow]:
    """Grants not over yet that rest on what is held about one (kind, subject) of a job."""
    from bizkit.services.rights.needs import works_that_need

    works = works_that_need(folder, work, job, subject)
    return [licence_row(licence, on) for licence in resting_on(granted(work, works=works), on)]


def licence_row(licence: Licence, on: date) -> LicenceRow:
    """One grant for people and programs."""
    term, paid_on = licence.term, licence.paid_since(on)
    begins, until = begins_and_ends(licence)
    return {
        "number": licence.key,
        "licensee": licence.licensee,
        "state": licence.state(on),
        "works": sorted(licence.works),
        "starts": term.start.isoformat() if term else "",
        "ends": None if term and term.open else term.end.isoformat() if term else "",
        "begins": begins,
        "until": until,
        "exclusivity": licence.request.exclusivity,
        "granted_on": licence.granted_on.isoformat(),
        "paid_on": paid_on.isoformat() if paid_on else "",
        "ended_because": licence.ended_because,
    }


def _sector(folder: StudioFolder, work: Connection, job: Job) -> str:
    from bizkit.services.job.job_client import client_of_job

    try:
        return client_of_job(folder, work, job).sector
    except BizkitError:  # an older job whose client's file is gone: it stands, its line of business is not known
        return ""


class LicenceRow(TypedDict):
    """A grant and how it stands on a day.

    starts, ends: first and last day, both included, the widest that it may come to while its first use is not
    recorded; empty while nobody can know, ends null where it has none. begins, until: the same in words.
    """

    number: str
    licensee: str
    state: LicenceState
    works: list[str]
    starts: str
    ends: str | None
    begins: str
    until: str
    exclusivity: str
    granted_on: str
    paid_on: str
    ended_because: str
