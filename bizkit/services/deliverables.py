"""Deliverables: send a version, take the client's notes, approve; see what is late."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.work.progress import due_date, progress
from bizkit.services.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def sha256_of_file(path: Path) -> tuple[str, int]:
    """SHA-256 and size in bytes of a file, read in pieces. Raises BadInput when it is not there."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while piece := file.read(1 << 20):
                digest.update(piece)
            return digest.hexdigest(), file.tell()
    except FileNotFoundError:
        raise BadInput(wanted="a file to send", got="no such file", where=str(path)) from None
    except OSError as error:
        raise BadInput(wanted="a file to send", got=error.strerror, where=str(path)) from None


def deliverable_rows(folder: StudioFolder, work: Connection, job: str, on: date) -> list[dict[str, Any]]:
    """Each deliverable of a job with where it stands on the day `on`."""
    from bizkit.services.jobs import last_shoot_day
    from bizkit.services.reviews import agreed_terms, counted, newest_at, review_state
    from bizkit.store.deliveries import deliverables
    from bizkit.store.jobs import jobs, shoot_days
    from bizkit.store.reviews import notes, round_answers

    last = last_shoot_day(shoot_days(work, job))
    (job_row,) = jobs(work, job)
    terms = agreed_terms(folder, work, job)
    answers = round_answers(work, job)
    remarks = notes(work, job)
    rows = []
    for one in deliverables(work, job):
        due = due_date(_day(one["due_on"]), one["due_days"], last, folder.day_off)
        count = counted(one, terms)
        final = one["data"].get("final", 0)
        reopened = bool(final) and len(one["versions"]) > final
        where = progress(
            versions=len(one["versions"]),
            noted_versions=[newest_at(each) for each in one["review_rounds"]],
            rounds_used=count.used,
            rounds_included=one["rounds"],
            approved_on=None if reopened else _day(one["approved_on"]),
            due=due,
            first_sent_on=_day(one["versions"][0]["sent_on"]) if one["versions"] else None,
            on=on,
        )
        own = [note for note in remarks if note["deliverable"] == one["key"]]
        rows.append(
            {
                "job": job,
                "key": one["key"],
                "title": one["title"],
                "kind": one["kind"],
                "quantity": one["quantity"],
                "spec": one["spec"],
                "state": where.state,
                "version": where.version,
                "rounds_used": where.rounds_used,
                "rounds_included": where.rounds_included,
                "rounds_extra": where.rounds_extra,
                "currency": job_row["currency"],
                **review_state(
                    folder, one, terms, [row for row in answers if row["deliverable"] == one["key"]], on, where.state
                ),
                "due": due.isoformat() if due else "",
                "days_late": where.days_late,
                "approved_on": one["approved_on"],
                "final": final,
                "versions": [
                    {k: each[k] for k in ("number", "sent_on", "sent_to", "file", "bytes", "sha256", "note")}
                    for each in one["versions"]
                ],
                "notes": [
                    {
                        **{k: each[k] for k in ("number", "version", "received_on", "notes")},
                        "ours": bool(each["data"].get("ours")),
                    }
                    for each in one["review_rounds"]
                ],
                "notes_open": sum(1 for note in own if note["answer"] is None),
            }
        )
    return rows


def list_deliverables(folder: StudioFolder, on: date, job: str | None = None) -> list[dict[str, Any]]:
    """Deliverables of one job, or of every open job."""
    from bizkit.services.jobs import the_job
    from bizkit.store.jobs import jobs

    with folder.book.read() as work:
        keys = [the_job(work, job)["key"]] if job else [row["key"] for row in jobs(work) if not row["closed_on"]]
        return [row for key in keys for row in deliverable_rows(folder, work, key, on)]


def send_version(
    folder: StudioFolder, job: str, key: str, file: Path, on: date, *, to: str = "", note: str = "", reason: str = ""
) -> dict[str, Any]:
    """Record that a file was sent as the next version. Its checksum is taken now.

    Raises RuleBroken when the deliverable is approved (unless `reason` says why another is sent), or when the very
    same file was sent before.
    """
    from bizkit.store.deliveries import add_version
    from bizkit.store.events import record

    digest, size = sha256_of_file(file)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        if row["state"] == "approved" and not reason:
            raise RuleBroken(f"{key} was approved on {row['approved_on']}: say with --reason why another is sent")
        for sent in row["versions"]:
            if sent["sha256"] == digest:
                raise RuleBroken(f"{file.name} is the same file as version {sent['number']} of {key}")
        number = row["version"] + 1
        add_version(
            work,
            {
                "job": row["job"],
                "deliverable": key,
                "number": number,
                "sent_on": on.isoformat(),
                "sent_to": to,
                "file": file.name,
                "bytes": size,
                "sha256": digest,
                "note": note,
                "data": {"reason": reason} if reason else {},
            },
        )
        record(work, stamp, "sent version", row["job"], deliverable=key, version=number, sha256=digest, to=to)
        return the_deliverable(folder, work, job, key, on)


def take_notes(folder: StudioFolder, job: str, key: str, notes: str, on: date) -> dict[str, Any]:
    """Record one round of client notes on the newest version. Raises RuleBroken when nothing was sent."""
    from bizkit.store.deliveries import add_round
    from bizkit.store.events import record

    if not notes.strip():
        raise BadInput(wanted="the client's notes", got="nothing", field="notes")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        if row["version"] == 0:
            raise RuleBroken(f"{key}: no version was sent yet, so there is nothing to have notes on")
        if row["state"] == "approved":
            raise RuleBroken(f"{key} was approved on {row['approved_on']}: further changes are new work to quote")
        number = len(row["notes"]) + 1
        add_round(
            work,
            {
                "job": row["job"],
                "deliverable": key,
                "number": number,
                "version": row["version"],
                "received_on": on.isoformat(),
                "notes": notes.strip(),
                "data": {},
            },
        )
        record(work, stamp, "took notes", row["job"], deliverable=key, version=row["version"], round=number)
        return the_deliverable(folder, work, job, key, on)


def approve_deliverable(folder: StudioFolder, job: str, key: str, on: date, *, by: str = "") -> dict[str, Any]:
    """Record the client's approval of the newest version. Raises RuleBroken when nothing was sent, or twice."""
    from bizkit.store.deliveries import approve
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        if row["version"] == 0:
            raise RuleBroken(f"{key}: no version was sent yet, so there is nothing to approve")
        if row["state"] == "approved":
            raise RuleBroken(f"{key} was approved on {row['approved_on']} already")
        if on.isoformat() < row["versions"][-1]["sent_on"]:
            raise RuleBroken(
                f"{key} version {row['version']} was sent on {row['versions'][-1]['sent_on']}, after {on}"
            )
        approve(work, row["job"], key, on.isoformat(), row["version"])
        record(work, stamp, "approved", row["job"], deliverable=key, version=row["version"], by=by)
        return the_deliverable(folder, work, job, key, on)


def the_deliverable(folder: StudioFolder, work: Connection, job: str, key: str, on: date) -> dict[str, Any]:
    """The row of one deliverable. Raises NotFound."""
    from bizkit.services.jobs import the_job

    rows = deliverable_rows(folder, work, the_job(work, job)["key"], on)
    for row in rows:
        if row["key"] == key:
            return row
    raise NotFound("deliverable", key, [row["key"] for row in rows], where=job)


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None
