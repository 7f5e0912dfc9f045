"""Granting licences, and what becomes of them: first use, an early end."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.rights.licence import OVER
from bizkit.services.rights.licences import LicenceRow
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.documents.work import Effect


def grant_licence(folder: StudioFolder, job: str, on: date, *, override: str = "") -> Granted:
    """Grant the licence of a job: recorded for ever, its certificate issued.

    It takes effect as its own terms say, on full payment too. Raises RuleBroken where the job licenses nothing, has
    a licence that is not over, or something stands against it (unless `override` says why it is granted all the
    same).
    """
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.job.job_client import printed_client
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.certificates import KIND, issue_certificate
    from bizkit.services.rights.clearance import check_licence
    from bizkit.services.rights.conditions import conditions_of
    from bizkit.services.rights.licences import granted, licence_row, licence_to_grant
    from bizkit.services.rights.overrides import record_override
    from bizkit.services.rights.shoot_papers import shoot_looks
    from bizkit.services.studio.numbers import draw
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record
    from bizkit.store.rights import add_licence

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        key = row.key
        refuse_unwritten(folder, work, kind=KIND, about=key)
        if not row.licence:
            raise RuleBroken(f"{key}: its quote licenses nothing, so there is nothing to grant")
        if gone := cancelled_on(work, key):
            raise RuleBroken(
                f"{key} was cancelled on {gone}: its licence is not granted any more. License what was made all the "
                f"same with a quote of its own: bizkit rights offer {key}"
            )
        before = granted(work, job=key)
        if before and before[-1].state(on) == "ended":
            raise RuleBroken(f"{key}: {before[-1].key} has run out: renew it with bizkit rights renew {key}")
        if before and before[-1].state(on) != "ended early":
            raise RuleBroken(f"{key}: {before[-1].key} is granted already and {before[-1].state(on)}")
        asked = licence_to_grant(folder, work, row, on, key=key)
        checked = check_licence(folder, work, row, asked, on)
        against = checked.require("grant this licence", override)
        series, number = draw(work, folder.studio.numbers.licence, on, practice=folder.studio.practice)
        licence = replace(asked, key=number)
        add_licence(
            work,
            stamp,
            {
                "number": number,
                "job": key,
                "client": row.client,
                "granted_on": on.isoformat(),
                "data": licence.data(),
            },
        )
        if against is not None:
            record_override(work, stamp, key, {**against, "licence": number})
        paper, document = issue_certificate(folder, work, stamp, row, licence, series=series)
        record(work, stamp, "granted", key, licence=number, override=override.strip())
        inside = conditions_of(folder, work, licence.works).inside
        called = _called_otherwise(key, printed_client(work, row)["name"], licence.licensee)
        look = [*checked.looks, *called, *shoot_looks(work, row)]
    paper.write()
    return {
        **licence_row(licence, on),
        "job": key,
        "override": override.strip() if against else "",
        "inside": inside,
        "look": look,
        "file": str(paper.path),
        "sentences": document["licence"]["sentences"],
        "effect": document["effect"],
    }


def _called_otherwise(job: str, client: str, licensee: str) -> list[str]:
    """What to look at where the client's name changed since the quote: a new name, or somebody else."""
    if same_name(client) == same_name(licensee):
        return []
    return [
        f"granted to {licensee}, as its quote was accepted; the job's client is called {client} by now: a new name "
        "of the same client changes nothing; somebody else gets a client file of their own and a licence quoted to "
        f"them with bizkit rights offer {job} --to CLIENT"
    ]


def end_licence(folder: StudioFolder, name: str, on: date, *, reason: str, after: date | None = None) -> EndedEarly:
    """End a licence early, for non-payment or another reason. after: the last day (inclusive) it allows anything.

    `look` says what of the time before `on` it was in force for and is no longer.
    Raises RuleBroken when it is over already; BadInput without a reason or with a day before the grant.
    """
    from bizkit.services.rights.licences import licence_of, licence_row, the_licence
    from bizkit.store.events import record
    from bizkit.store.rights import add_change

    if not reason.strip():
        raise BadInput(wanted="why it ends early", got="nothing", field="--reason")
    last = after or on
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_licence(work, name)
        licence = licence_of(work, row)
        if licence.state(on) in OVER or licence.ended_after is not None:
            raise RuleBroken(f"{licence.key} is over already")
        if last < licence.granted_on:
            raise BadInput(wanted=f"a day on or after the grant ({licence.granted_on})", got=last, field="--after")
        if licence.term is not None and last > licence.term.end:
            raise BadInput(wanted=f"a day on or before {licence.term.end}, its last", got=last, field="--after")
        add_change(work, stamp, licence.key, "ended", last.isoformat(), reason.strip())
        record(work, stamp, "licence ended", row.job, licence=licence.key, after=last.isoformat(), reason=reason)
        ended = licence_of(work, the_licence(work, licence.key))
    look = []
    if licence.term is not None and licence.state(last + ONE_DAY) == "live" and last + ONE_DAY < on:
        look.append(
            f"it was in force from {last + ONE_DAY} to {on - ONE_DAY}, and by this it was not: what the client "
            "used then "
            "was allowed when they used it"
        )
    return {
        **licence_row(ended, on), "job": row.job, "after": last.isoformat(), "reason": reason.strip(), "look": look
    }  # fmt: skip


def use_first(folder: StudioFolder, name: str, on: date, *, reason: str = "") -> FirstUsed:
    """Record the day of first use, from which a licence "from first use" counts.

    reason: why the day recorded before is not the right one; the newest counts.
    Raises RuleBroken for a licence that counts otherwise, or whose first use is recorded or lies before the grant.
    """
    from bizkit.services.rights.licences import licence_of, licence_row, the_licence
    from bizkit.store.events import record
    from bizkit.store.rights import add_change

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_licence(work, name)
        licence = licence_of(work, row)
        if licence.request.first_use_by is None:
            raise RuleBroken(f"{licence.key} does not count from first use")
        if licence.first_used_on is not None and (not reason.strip() or licence.first_used_on == on):
            raise RuleBroken(
                f"{licence.key} was first used on {licence.first_used_on} already: if that was another day, say "
                "why it "
                "was recorded so with --reason"
            )
        if on < licence.granted_on:
            raise RuleBroken(f"{licence.key} was granted on {licence.granted_on}: it was not used before, on {on}")
        add_change(work, stamp, licence.key, "first used", on.isoformat(), reason.strip())
        record(work, stamp, "first used", row.job, licence=licence.key)
        counted = licence_of(work, the_licence(work, licence.key))
    return {**licence_row(counted, on), "job": row.job}


class FirstUsed(LicenceRow):
    """A licence whose first use was recorded."""

    job: str


class Granted(LicenceRow):
    """A licence just granted. override: why it was, although something stood against it."""

    job: str
    override: str
    inside: list[str]
    look: list[str]
    file: str
    sentences: list[str]
    effect: Effect


class EndedEarly(LicenceRow):
    """A licence just ended. after: the last day it allows anything."""

    job: str
    after: str
    reason: str
    look: list[str]
