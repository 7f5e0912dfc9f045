"""Licences that end: soon, with the price of going on, and all of them as a calendar."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TypedDict

from bizkit.domain.errors import BadInput, BizkitError
from bizkit.domain.money import total
from bizkit.domain.rights.grants import ending, ends
from bizkit.domain.rights.licence import Licence
from bizkit.services.rights.clearance import licensee, not_held
from bizkit.services.rights.licence_quotes import renewal_of, renewed_scope
from bizkit.services.rights.licences import LicenceRow
from bizkit.services.studio.studio_folder import StudioFolder

#: Days before the end on which a calendar reminds.
REMIND_DAYS = (90, 30)


def licences_ending(folder: StudioFolder, on: date, within_days: int) -> list[Licence]:
    """Live and coming licences whose last day is `on` or up to `within_days` later, the soonest first."""
    from bizkit.services.rights.licences import granted

    with folder.book.read() as work:
        days = (on, on + timedelta(days=within_days))
        return ending(granted(work, ending=days), on, within_days)


def list_ending(folder: StudioFolder, on: date, within_days: int) -> list[Ending]:
    """The same, each with the net price of a renewal by today's rate card, and what of it is not held."""
    from bizkit.services.rights.licences import licence_row, the_licence
    from bizkit.services.rights.works import licensed_works
    from bizkit.store.jobs import jobs

    rows: list[Ending] = []
    soon = licences_ending(folder, on, within_days)
    with folder.book.read() as work:
        for licence in soon:
            (job,) = jobs(work, the_licence(work, licence.key).job)
            row: Ending = {
                **licence_row(licence, on),
                "job": job.key,
                "title": job.title,
                "net": "",
                "why_not": "",
                "currency": "",
                "days_left": (licence.term.end - on).days if licence.term else 0,
                "look": [],
            }
            try:
                row["currency"] = folder.card.currency
                lines = renewal_of(folder, licence, licensed_works(work, job), on)
                row["net"] = total((line.amount for line in lines), folder.card.currency).text
            except BizkitError as error:
                row["why_not"] = str(error)
            row["look"] = not_held(
                folder,
                work,
                renewed_scope(licence, on),
                licensed_works(work, job),
                licensee(job.client, licence.request),
                on,
            )
            rows.append(row)
    return rows


def days_within(text: str) -> int:
    """A span such as `90d`, `12w`, or plain days. Raises BadInput."""
    number, unit = (text[:-1], text[-1:]) if text[-1:] in ("d", "w") else (text, "d")
    if not (number.isascii() and number.isdigit() and len(number) < 6):
        raise BadInput(wanted="a number of days such as 90d, or weeks such as 12w", got=text, field="--within")
    return int(number) * (7 if unit == "w" else 1)


def write_ends(folder: StudioFolder, path: Path) -> EndsWritten:
    """Write the last day of every licence that has one as a calendar file, with reminders."""
    from bizkit.exchange.calendar import Event, calendar
    from bizkit.services.rights.licences import granted
    from bizkit.services.studio.out_file import write_out
    from bizkit.store.rights import licence_names

    with folder.book.read() as work:
        by_day = ends(granted(work))
        job_of = {number: job for number, (job, _) in licence_names(work).items()}
    events = [
        Event(
            uid=f"licence-{licence.key}@bizkit",
            title=f"Licence {licence.key} ends: {licence.licensee}",
            first=day,
            text=f"{job_of[licence.key]}. Renew it with: bizkit rights renew {licence.key}",
            categories=("licences",),
            remind_days=tuple(days for days in REMIND_DAYS if day - timedelta(days=days) > licence.granted_on),
        )
        for day, licences_ending in by_day.items()
        for licence in licences_ending
    ]
    content = calendar(f"{folder.studio.name}: ends of licences", events, made_at=datetime.now(UTC))
    write_out(folder, path, content, field="--calendar")
    return {"file": str(path), "events": len(events)}


class Ending(LicenceRow):
    """A licence that ends, what its renewal costs net, and what of that is not held; why_not: why it has no price."""

    job: str
    title: str
    net: str
    why_not: str
    currency: str
    days_left: int
    look: list[str]


class EndsWritten(TypedDict):
    """The calendar file that was written."""

    file: str
    events: int
