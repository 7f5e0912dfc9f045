"""The archive: what of a job is kept where, until when that was promised, and what ends soon."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.dates import iso_date, term_end
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def add_to_archive(
    folder: StudioFolder,
    job: str,
    what: str,
    place: str,
    on: date,
    *,
    until: str = "",
    months: int | None = None,
    note: str = "",
) -> ArchiveRow:
    """Write down that something is kept in a place, and until when (that day included) it is promised.

    until: the last day, or months: from the day `on`. Raises BadInput unless exactly one is given.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record
    from bizkit.store.handovers import add_archive

    for text, field in ((what, "--what"), (place, "--place")):
        if not text.strip():
            raise BadInput(wanted="a few words", got="nothing", field=field)
    if bool(until) == (months is not None):
        raise BadInput(wanted="either --until or --months", got="both" if until else "neither", field="--until")
    last = iso_date(until, field="--until") if until else term_end(on, months or 0)
    if last < on:
        raise BadInput(wanted=f"a last day on or after {on}", got=last, field="--until")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        key = the_job(work, job).key
        archive_id = add_archive(
            work,
            {
                "job": key,
                "what": what.strip(),
                "place": place.strip(),
                "since": on.isoformat(),
                "keep_until": last.isoformat(),
                "note": note.strip(),
                "gone_on": "",
                "gone_why": "",
            },
        )
        record(work, stamp, "archived", key, archive=archive_id, what=what, place=place, until=last.isoformat())
        return next(row for row in archive_rows(work, on, key) if row["id"] == archive_id)


def archive_rows(work: Connection, on: date, job: str | None = None) -> list[ArchiveRow]:
    """What is kept, by the day the promise ends; state: "kept", "may go" (the promise has ended) or "gone"."""
    from bizkit.store.handovers import archives

    rows: list[ArchiveRow] = []
    for row in archives(work, job):
        state = "gone" if row.gone_on else "kept" if on.isoformat() <= row.keep_until else "may go"
        rows.append(
            {
                "id": row.id,
                "job": row.job,
                "what": row.what,
                "place": row.place,
                "since": row.since,
                "keep_until": row.keep_until,
                "note": row.note,
                "gone_on": row.gone_on,
                "gone_why": row.gone_why,
                "state": state,
            }
        )
    return rows


def list_archive(folder: StudioFolder, on: date, job: str | None = None) -> list[ArchiveRow]:
    """Everything kept, of one job or all."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        return archive_rows(work, on, the_job(work, job).key if job else None)


def remove_from_archive(folder: StudioFolder, archive_id: int, on: date, *, reason: str = "") -> ArchiveRow:
    """Write down that something is gone. Before the promise ends, `reason` says why. Raises NotFound, RuleBroken."""
    from bizkit.store.events import record
    from bizkit.store.handovers import set_archive

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        rows = {row["id"]: row for row in archive_rows(work, on)}
        if archive_id not in rows:
            raise NotFound("archive entry", archive_id, [str(one) for one in rows], field="ENTRY")
        row = rows[archive_id]
        if row["state"] == "gone":
            raise RuleBroken(f"{row['what']} is gone since {row['gone_on']} already")
        if row["state"] == "kept" and not reason.strip():
            raise RuleBroken(
                f"{row['what']} was promised to be kept until {row['keep_until']}: say with --reason why it is gone"
            )
        set_archive(work, archive_id, gone_on=on.isoformat(), gone_why=reason.strip())
        record(work, stamp, "removed from the archive", row["job"], archive=archive_id, reason=reason)
        return next(each for each in archive_rows(work, on, row["job"]) if each["id"] == archive_id)


def kept_until(work: Connection, job: str) -> str:
    """The last day for which anything of a job is promised to be kept; empty where nothing is."""
    from bizkit.store.handovers import archives

    return max((row.keep_until for row in archives(work, job) if not row.gone_on), default="")


def promises_ending(work: Connection, job: str, on: date, until: date) -> list[PromiseRow]:
    """Promises that end from the day `on` to `until`, both included: `on`, `job`, `what`."""
    return [
        {"on": row["keep_until"], "job": job, "what": f"the archive promise: {row['what']} on {row['place']}"}
        for row in archive_rows(work, on, job)
        if row["state"] == "kept" and row["keep_until"] <= until.isoformat()
    ]


class ArchiveRow(TypedDict):
    """What is kept where; state: kept, may go or gone."""

    id: int
    job: str
    what: str
    place: str
    since: str
    keep_until: str
    note: str
    gone_on: str
    gone_why: str
    state: str


class PromiseRow(TypedDict):
    """A promise and the day it ends."""

    on: str
    job: str
    what: str
