"""Calendars: a job's days and deadlines, or those of the whole studio, as one iCalendar file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import BizkitError
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.work.schedule import PlannedStep
    from bizkit.exchange.calendar import Event
    from bizkit.services.delivery.archive import ArchiveRow
    from bizkit.store.jobs import Job

Row = dict[str, Any]

#: Days ahead of which a deadline reminds.
REMIND_DAYS = (2,)


def write_calendar(folder: StudioFolder, out: Path, on: date, *, job: str = "") -> CalendarWritten:
    """Write the calendar of one job, or of every job with something to come or a licence not over, to `out`.

    An entry keeps its identity from one file to the next, so that a calendar that reads the file again moves what has
    moved. What a cancelled job had to come is CANCELLED (RFC 5545 section 3.8.1.11), in the file of all jobs too as
    long as it is to come. Raises NotFound.
    """
    from bizkit.exchange.calendar import CANCELLED, calendar
    from bizkit.services.job.called_off import cancellations
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.out_file import write_out
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.jobs import jobs
    from bizkit.store.unfinished import unfinished

    stamp = folder.draft_stamp(on)
    with folder.book.read() as work:
        cancelled = cancellations(work)
        keys = {the_job(work, job).key} if job else unfinished(work, on, date.max) | set(cancelled)
        events: list[Event] = []
        with reading_ahead(work, keys):
            found = [row for key in keys for row in jobs(work, key)]
            rows = sorted(found, key=lambda row: (row.opened_on, row.key))
            for row in rows:
                gone = cancelled.get(row.key)
                for event in job_events(folder, work, row, on):
                    called_off = bool(gone and event.last and event.last > gone)
                    if job or not gone or (called_off and event.last and event.last >= on):
                        events.append(replace(event, status=CANCELLED) if called_off else event)
    name = rows[0].title if job else folder.studio.name
    content = calendar(name, events, made_at=datetime.fromisoformat(stamp.at))
    write_out(folder, out, content)
    return {"file": str(out), "jobs": [row.key for row in rows], "events": len(events)}


def job_events(folder: StudioFolder, work: Connection, job: Job, on: date) -> Iterator[Event]:
    """Shoot days, holds, the steps of the plan, due dates, answers expected, first and last day of the licence."""
    from bizkit.exchange.calendar import CONFIRMED, TENTATIVE, Event
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.services.job.jobs import days_by_date
    from bizkit.store.events import how_many

    key, title = job.key, job.title
    at = re.sub(r"[^a-z0-9]+", "-", folder.studio.name.lower()).strip("-") or "studio"
    # Everything that happens to a job is one more event in its history: later files outrank earlier ones.
    sequence = how_many(work, key)

    def entry(what: str, words: str, first: str, last: str = "", **more: Any) -> Event:
        return Event(
            uid=f"{key}.{what}@{at}",
            title=f"{title}: {words}",
            first=date.fromisoformat(first),
            last=date.fromisoformat(last or first),
            sequence=sequence,
            **more,
        )

    for day in days_by_date(work, key):
        if day.on:
            yield entry(
                f"day-{day.position}",
                f"{day.kind} day",
                day.on,
                place=day.place,
                text=day.data.get("note", ""),
                status=TENTATIVE if day.kind == "hold" else CONFIRMED,
                categories=(day.kind,),
            )
    for step in _steps(folder, work, job, on):
        yield entry(f"step-{step['key']}", step["title"], step["starts"], step["ends"], categories=("plan",))
    for row in deliverable_rows(folder, work, key, on):
        if row["due"] and row["state"] != "approved":
            yield entry(
                f"due-{row['key']}", f"{row['title']} due", row["due"], categories=("due",), remind_days=REMIND_DAYS
            )
        if row["answer_by"]:
            yield entry(
                f"answer-{row['key']}-v{row['version']}",
                f"answer on {row['title']} v{row['version']}",
                row["answer_by"],
                text="Without an answer by then: remind the client.",
                categories=("answer",),
            )
    licence = job.licence or {}
    for member, words in (("starts", "licence begins"), ("ends", "licence ends")):
        if licence.get(member):
            yield entry(f"licence-{member}", words, licence[member], categories=("licence",))
    for kept in _archive(work, key, on):
        yield entry(
            f"archive-{kept['id']}",
            f"{kept['what']} kept until today ({kept['place']})",
            kept["keep_until"],
            categories=("archive",),
        )


def _steps(folder: StudioFolder, work: Connection, job: Job, on: date) -> list[PlannedStep]:
    """Steps of the plan that stand nowhere else; none where nothing can be planned yet."""
    from bizkit.services.shooting.scheduling import current_plan

    try:
        plan, _ = current_plan(folder, work, job, on)
    except BizkitError:
        return []
    return [each.data() for each in plan.planned if each.step.fixed_on is None]


def _archive(work: Connection, key: str, on: date) -> list[ArchiveRow]:
    from bizkit.services.delivery.archive import archive_rows

    return [row for row in archive_rows(work, on, key) if row["state"] == "kept"]


class CalendarWritten(TypedDict):
    """A calendar written."""

    file: str
    jobs: list[str]
    events: int
