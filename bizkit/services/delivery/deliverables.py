"""Deliverables: approve; see where each stands, what is late, and which version a file is."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.work.progress import due_date, progress
from bizkit.services.delivery.version_files import pieces
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.work.progress import DeliverableState
    from bizkit.domain.work.spec import SpecData
    from bizkit.services.delivery.reviews import ReviewStateExtraRound
    from bizkit.services.studio.fingerprint import Progress


def deliverable_rows(folder: StudioFolder, work: Connection, job: str, on: date) -> list[DeliverableRow]:
    """Each deliverable of a job with where it stands on the day `on`."""
    from bizkit.services.delivery.reviews import agreed_terms, counted, newest_at, review_state
    from bizkit.services.job.jobs import last_shoot_day
    from bizkit.store.deliveries import deliverables
    from bizkit.store.jobs import jobs, shoot_days
    from bizkit.store.reviews import notes, round_answers

    last = last_shoot_day(shoot_days(work, job))
    (job_row,) = jobs(work, job)
    terms = agreed_terms(folder, work, job)
    answers = round_answers(work, job)
    remarks = notes(work, job)
    rows: list[DeliverableRow] = []
    for one in deliverables(work, job):
        due = due_date(_day(one.due_on), one.due_days, last, folder.day_off)
        count = counted(one, terms)
        final = one.data.get("final", 0)
        reopened = bool(final) and len(one.versions) > final
        where = progress(
            versions=len(one.versions),
            noted_versions=[newest_at(each) for each in one.review_rounds],
            rounds_used=count.used,
            rounds_included=one.rounds,
            approved_on=None if reopened else _day(one.approved_on),
            due=due,
            first_sent_on=_day(one.versions[0].sent_on) if one.versions else None,
            on=on,
        )
        own = [note for note in remarks if note.deliverable == one.key]
        rows.append(
            {
                "job": job,
                "key": one.key,
                "title": one.title,
                "kind": one.kind,
                "quantity": one.quantity,
                "spec": one.spec,
                "asks": one.data.get("asks"),
                "cut_of": one.data.get("cut_of", ""),
                "state": where.state,
                "version": where.version,
                "rounds_used": where.rounds_used,
                "rounds_included": where.rounds_included,
                "rounds_extra": len(count.extra),
                "currency": job_row.currency,
                **review_state(
                    folder, one, terms, [row for row in answers if row.deliverable == one.key], on, where.state
                ),
                "due": due.isoformat() if due else "",
                "days_late": where.days_late,
                "approved_on": one.approved_on,
                "final": final,
                "versions": [
                    {
                        "number": each.number,
                        "sent_on": each.sent_on,
                        "sent_to": each.sent_to,
                        "file": each.file,
                        "bytes": each.bytes,
                        "sha256": each.sha256,
                        "note": each.note,
                        "how": each.data.get("how", ""),
                        "path": each.data.get("path", ""),
                        "reason": each.data.get("reason", ""),
                        "captions": each.data.get("captions", {}),
                        "pieces": len(pieces(each.contents)),
                    }
                    for each in one.versions
                ],
                "notes": [
                    {
                        "number": each.number,
                        "version": each.version,
                        "received_on": each.received_on,
                        "notes": each.notes,
                        "ours": bool(each.data.get("ours")),
                        "re_edit": bool(each.data.get("re_edit")),
                    }
                    for each in one.review_rounds
                ],
                "notes_open": sum(1 for note in own if note.answer is None),
            }
        )
    return rows


def list_deliverables(folder: StudioFolder, on: date, job: str | None = None) -> list[DeliverableRow]:
    """Deliverables of one job, or of every open job."""
    from bizkit.services.job.jobs import the_job
    from bizkit.store.jobs import jobs

    with folder.book.read() if job else folder.book.read_all() as work:
        keys = [the_job(work, job).key] if job else [row.key for row in jobs(work) if not row.closed_on]
        return [row for key in keys for row in deliverable_rows(folder, work, key, on)]


#: Which version a file is. `is`: those with its content; named: those that were sent under its name with another.
Identified = TypedDict(
    "Identified",
    {
        "file": str,
        "name": str,
        "bytes": int,
        "sha256": str,
        "state": str,
        "is": "list[VersionFound]",
        "named": "list[VersionFound]",
    },
)


def identify_file(folder: StudioFolder, file: Path, progress: Progress | None = None) -> Identified:
    """Which version a file is, by its checksum; what was sent under its name when it is none.

    state: "final" (the approved version), "sent", "changed" (its name was sent with other content) or "unknown".
    """
    from bizkit.services.studio.fingerprint import fingerprint
    from bizkit.store.deliveries import deliverables

    found = fingerprint(file, progress)
    same: list[VersionFound] = []
    named: list[VersionFound] = []
    with folder.book.read() as work:
        for one in deliverables(work):
            final = one.data.get("final", 0)
            for version in one.versions:
                inside = version.contents
                entry: VersionFound = {
                    "job": one.job,
                    "deliverable": one.key,
                    "title": one.title,
                    "version": version.number,
                    "final": version.number == final,
                    "newest": version.number == len(one.versions),
                    "sent_on": version.sent_on,
                    "file": version.file,
                    "sha256": version.sha256,
                }
                if found.sha256 == version.sha256 or found.sha256 in inside.values():
                    same.append(entry)
                elif found.name == version.file or found.name in (name.rpartition("/")[2] for name in inside):
                    named.append(entry)
    state = "unknown"
    if same:
        state = "final" if any(entry["final"] for entry in same) else "sent"
    elif named:
        state = "changed"
    return {
        "file": str(file),
        "name": found.name,
        "bytes": found.bytes,
        "sha256": found.sha256,
        "state": state,
        "is": same,
        "named": named,
    }


def approve_deliverable(folder: StudioFolder, job: str, key: str, on: date, *, by: str = "") -> Approved:
    """Record the client's approval of the newest version. Raises RuleBroken when nothing was sent, or twice."""
    from bizkit.services.delivery.last_look import last_look
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
                ": give the day of the approval with --on"
            )
        approve(work, row["job"], key, on.isoformat(), row["version"])
        record(work, stamp, "approved", row["job"], deliverable=key, version=row["version"], by=by)
        warnings = not_as_many(work, row["job"], row["quantity"], row["versions"][-1]["pieces"])
        look = last_look(work, row, row["versions"][-1]["sha256"])
        if look and look.wrong:
            warnings.append(f"found wrong on {look.on}: bizkit deliverable show {job} {key}")
        if row["notes_open"]:
            warnings.append(f"notes without an answer: {row['notes_open']}")
        return {**the_deliverable(folder, work, job, key, on), "warnings": warnings}


def reopen_deliverable(folder: StudioFolder, job: str, key: str, on: date, *, reason: str) -> NotApproved:
    """Take back an approval that was recorded by mistake, while nothing rests on it.

    `was_final`, `was_approved_on`: what was recorded. Raises BadInput without a reason; RuleBroken for what is not
    approved, once the approved version was handed over, and once a stage that waits for delivery was invoiced.
    """
    from bizkit.domain.billing.plan import DELIVERY
    from bizkit.domain.work.manifest import read_manifest
    from bizkit.services.billing.invoices import stage_rows
    from bizkit.store.deliveries import deliverables, take_back_approval
    from bizkit.store.events import record
    from bizkit.store.handovers import handovers
    from bizkit.store.register import net_left

    if not reason.strip():
        raise BadInput(wanted="why it was no approval", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        if not row["final"]:
            raise RuleBroken(f"{key}: nothing of it is approved, so there is nothing to take back")
        (one,) = [each for each in deliverables(work, row["job"]) if each.key == key]
        final = one.versions[row["final"] - 1]
        contents = {final.sha256, *final.contents.values()}
        left = [
            f"v{row['final']} was handed over with {sent.number} on {sent.on}"
            for sent in handovers(work)
            if contents & set(read_manifest(sent.manifest).values())
        ]
        billed = net_left(work, row["job"])
        left += [
            f"{stage['invoice']} billed {stage['title']}, which waited for it: credit that first"
            for stage in stage_rows(folder, work, row["job"], on)
            if stage["when"] == DELIVERY and stage["invoice"] and billed[stage["invoice"]]
        ]
        if left:
            raise RuleBroken(
                f"{key} was approved on {row['approved_on']}, which cannot be taken back any more: {'; '.join(left)}"
            )
        take_back_approval(work, row["job"], key)
        record(
            work, stamp, "took back an approval", row["job"], deliverable=key, version=row["final"],
            approved_on=row["approved_on"], reason=reason.strip(),
        )  # fmt: skip
        now = the_deliverable(folder, work, job, key, on)
    return {**now, "was_final": row["final"], "was_approved_on": row["approved_on"], "reason": reason.strip()}


def not_as_many(work: Connection, job: str, quantity: int, there: int) -> list[str]:
    """A sentence when another number of films or stills is there than was promised: what is more is given away."""
    from bizkit.services.job.jobs import the_job

    if there == quantity:
        return []
    said = f"{quantity} promised, {there} in this version"
    if there < quantity:
        return [said]
    price = (
        f"the licence and its price are for {quantity}" if the_job(work, job).licence else "the price is for those"
    )
    return [f"{said}: {price}. Take out the {there - quantity} beyond them, or agree what they cost (a charge)"]


def the_deliverable(folder: StudioFolder, work: Connection, job: str, key: str, on: date) -> DeliverableRow:
    """The row of one deliverable. Raises NotFound."""
    from bizkit.services.job.jobs import the_job

    rows = deliverable_rows(folder, work, the_job(work, job).key, on)
    for row in rows:
        if row["key"] == key:
            return row
    raise NotFound("deliverable", key, [row["key"] for row in rows], where=job)


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


class DeliverableRowVersion(TypedDict):
    """A version sent, its file by SHA-256; `bytes` is None without one."""

    number: int
    sent_on: str
    sent_to: str
    file: str
    bytes: int | None
    sha256: str
    note: str
    how: str
    path: str
    reason: str
    captions: dict[str, str]
    pieces: int


class DeliverableRowNote(TypedDict):
    """A set of client notes; ours: about the studio's own mistakes alone; re_edit: of what was approved."""

    number: int
    version: int
    received_on: str
    notes: str
    ours: bool
    re_edit: bool


class DeliverableHead(TypedDict):
    """Where a deliverable stands on a day: its state, rounds, dates and notes."""

    job: str
    key: str
    title: str
    kind: str
    quantity: int
    spec: str
    asks: SpecData | None
    cut_of: str
    state: DeliverableState
    version: int
    rounds_used: int
    rounds_included: int
    rounds_extra: int
    currency: str
    extra_rounds: list[ReviewStateExtraRound]
    waits_for_yes: list[int]
    next_is_extra: bool
    extra_round: str
    answer_by: str
    silence: str
    due: str
    days_late: int
    approved_on: str
    final: int
    notes: list[DeliverableRowNote]
    notes_open: int


class DeliverableRow(DeliverableHead):
    """The same with the versions sent."""

    versions: list[DeliverableRowVersion]


class Approved(DeliverableRow):
    """A deliverable as it was approved. warnings: what to look at."""

    warnings: list[str]


class NotApproved(DeliverableRow):
    """A deliverable whose approval was taken back. was_final: the version that was approved."""

    was_final: int
    was_approved_on: str
    reason: str


class VersionFound(TypedDict):
    """A version in the book. newest: of its deliverable; final: the approved one."""

    job: str
    deliverable: str
    title: str
    version: int
    final: bool
    newest: bool
    sent_on: str
    file: str
    sha256: str
