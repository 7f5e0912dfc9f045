"""Client notes: taken in from text or a table with their timecodes, answered one by one."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.work.notes import COLUMNS, Cut, Note, NotesRead, read_mail, read_note_rows
from bizkit.domain.work.spec import rate_of
from bizkit.domain.work.timecode import names_per_second
from bizkit.services.delivery.deliverables import DeliverableHead, DeliverableRow, DeliverableRowVersion
from bizkit.services.studio.source_file import read_source
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.delivery.deliverables import DeliverableRow, DeliverableRowVersion
    from bizkit.store.deliveries import Deliverable

#: Endings of files that hold a table.
TABLES = (".csv", ".tsv")
#: A file of notes is no larger.
NOTES_MOST_BYTES = 2_000_000
#: Frames a second where nothing says: only the frames of a timecode depend on it.
ASSUMED_RATE = Fraction(25)
#: What can be said to a note: it is done, it is not done for a reason, or a question went back.
ANSWERS = ("done", "declined", "asked")


def take_notes(
    folder: StudioFolder,
    job: str,
    key: str,
    notes: str,
    on: date,
    *,
    who: str = "",
    ours: bool = False,
    re_edit: bool = False,
    version: int | None = None,
    rate: str = "",
    columns: Mapping[str, str] | None = None,
    table: bool = False,
    where: str = "",
) -> NotesTaken:
    """Record client notes on a version, the newest without it. All notes between two sendings are one round.

    notes: plain text, or a table as CSV when `table`. ours: they are about the studio's own mistakes alone and use up
    no round. re_edit: they ask for changes to what was approved, which is a further round whatever is included. rate:
    frames a second of the timecodes, where neither a look at the file nor the spec says. columns: of the table, as of
    `read_note_rows`. A note that is on record for this version is not taken again. Raises RuleBroken when nothing was
    sent, the deliverable is final (unless `re_edit`) or all of it is on record.
    """
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.store.deliveries import add_round, deliverables
    from bizkit.store.events import record
    from bizkit.store.reviews import add_notes
    from bizkit.store.reviews import notes as notes_so_far

    if not notes.strip():
        raise BadInput(wanted="the client's notes", got="nothing", field="notes", where=where)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        about = _version(row, version, on, re_edit=re_edit)
        (one,) = [each for each in deliverables(work, row["job"]) if each.key == key]
        cut, rate_from = _cut(work, one, about, rate)
        if table:
            rows_read = read_note_rows(_rows(notes, where), cut, columns={**COLUMNS, **(columns or {})}, where=where)
            read = NotesRead(rows_read)
        else:
            read = read_mail(notes, cut, who=who, where=where)
        found = read.notes
        intake = len(row["notes"]) + 1
        so_far = notes_so_far(work, row["job"], key)
        every = [_row(note, cut, row["job"], key, intake, about["number"], 0, who) for note in found]
        of_version = [note for note in so_far if note.version == about["number"]]
        before = {_said(note.at, note.until, note.text, note.who): note.number for note in of_version}
        repeated = [note for note in every if _said_in(note) in before]
        if len(repeated) == len(every):
            raise RuleBroken(
                f"{key}: these notes on version {about['number']} are on record already, from note "
                f"{before[_said_in(every[0])]} on: nothing was added"
            )
        rows = [note for note in every if _said_in(note) not in before]
        for number, note in enumerate(rows, start=len(so_far) + 1):
            note["number"] = number
        add_round(
            work,
            {
                "job": row["job"],
                "deliverable": key,
                "number": intake,
                "version": about["number"],
                "received_on": on.isoformat(),
                "notes": notes.strip(),
                "data": {
                    **({"re_edit": True} if re_edit else {}),
                    "ours": ours,
                    "newest": row["version"],
                    "who": who,
                    "file": where,
                },
            },
        )
        add_notes(work, rows)
        record(
            work,
            stamp,
            "took notes",
            row["job"],
            deliverable=key,
            version=about["number"],
            notes=len(rows),
            ours=ours,
        )
        after = the_deliverable(folder, work, job, key, on)
    timed = any(note.frame is not None for note in found)
    return {
        **after,
        "taken": rows,
        "rate": str(cut.rate) if timed else "",
        "rate_from": rate_from if timed else "",
        "left_out": list(read.left_out),
        "unplaced": list(read.unplaced),
        "taken_before": [note["text"] for note in repeated],
        "opened_round": after["rounds_used"] > row["rounds_used"],
    }


def _said(at: str, until: str, text: str, who: str) -> tuple[str, str, str, str]:
    """What makes a note of a version that note and no other."""
    return at, until, text, who


def _said_in(row: NoteWritten) -> tuple[str, str, str, str]:
    return _said(row["at"], row["until"], row["text"], row["who"])


def read_notes_file(path: Path) -> tuple[str, bool]:
    """The text of a file of notes, and whether it is a table. Raises BadInput."""
    content = read_source(path, "a file of notes", most=NOTES_MOST_BYTES)
    utf16 = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = content.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(wanted="notes as UTF-8 text", got="other bytes", where=path.name) from None
    if "\0" in text:
        raise BadInput(wanted="notes as text", got="zero bytes in it", where=path.name)
    return text, path.suffix.lower() in TABLES


def answer_notes(
    folder: StudioFolder,
    job: str,
    key: str,
    numbers: Sequence[int],
    on: date,
    *,
    answer: str = "done",
    text: str = "",
) -> DeliverableShown:
    """Say something to notes, one answer each; without numbers to every note that has none yet.

    Raises NotFound for an unknown note, BadInput for a no or a question without words, RuleBroken when none is left.
    """
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.store.events import record
    from bizkit.store.reviews import add_note_answer, notes

    if answer not in ANSWERS:
        raise NotFound("answer", answer, ANSWERS, field="--as")
    if answer != "done" and not text.strip():
        raise BadInput(wanted="words to the client", got="nothing", field="--text")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        known = {note.number: note for note in notes(work, row["job"], key)}
        chosen = list(numbers) or [number for number, note in known.items() if note.answer is None]
        if not chosen:
            raise RuleBroken(f"{key}: every note is answered" if known else f"{key}: there are no notes to answer")
        for number in dict.fromkeys(chosen):
            if number not in known:
                raise NotFound("note", number, [str(one) for one in known], field="NOTE", where=key)
            add_note_answer(
                work,
                stamp,
                {"job": row["job"], "deliverable": key, "note": number, "answer": answer, "text": text.strip()},
            )
        record(work, stamp, "answered notes", row["job"], deliverable=key, notes=chosen, answer=answer)
    return show_deliverable(folder, job, key, on)


def show_deliverable(folder: StudioFolder, job: str, key: str, on: date) -> DeliverableShown:
    """One deliverable whole: versions and what looking at them found, notes with their answers, rounds."""
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.services.delivery.last_look import against, last_look
    from bizkit.store.reviews import notes

    with folder.book.read() as work:
        row = the_deliverable(folder, work, job, key, on)
        looks = {each["sha256"]: last_look(work, row, each["sha256"]) for each in row["versions"]}
        remarks: list[Remark] = [
            {
                "number": note.number,
                "version": note.version,
                "at": note.at,
                "until": note.until,
                "text": note.text,
                "who": note.who,
                "answer": note.answer.answer if note.answer else "",
                "answer_text": note.answer.text if note.answer else "",
                "answered_on": note.answer.on if note.answer else "",
            }
            for note in notes(work, row["job"], key)
        ]
    versions: list[VersionShown] = []
    for version in row["versions"]:
        look = looks.get(version["sha256"])
        on_, wrong = (look.on, look.wrong) if look else ("", None)
        versions.append({**version, "checked_on": on_, "wrong": wrong, "against": against(look)})
    return {**row, "versions": versions, "remarks": remarks}


def _version(row: DeliverableRow, version: int | None, on: date, *, re_edit: bool) -> DeliverableRowVersion:
    """The version that notes of the day `on` are about."""
    key = row["key"]
    if not row["versions"]:
        raise RuleBroken(f"{key}: no version was sent yet, so there is nothing to have notes on")
    if row["state"] == "approved" and not re_edit:
        price = f", at {row['currency']} {row['extra_round']} as quoted" if row["extra_round"] else ""
        raise RuleBroken(
            f"{key} was approved on {row['approved_on']}: further changes are new work to quote, or a re-edit in one "
            f"further round{price}: note it with --re-edit"
        )
    if re_edit and row["state"] != "approved":
        raise BadInput(wanted="something approved", got=f"{key}, {row['state']}", field="--re-edit")
    if re_edit and on.isoformat() < row["approved_on"]:
        raise RuleBroken(f"{key} was approved on {row['approved_on']}: {on} is before it")
    known = {one["number"]: one for one in row["versions"]}
    about = known.get(row["version"] if version is None else version)
    if about is None:
        raise NotFound("version", version, [str(number) for number in known], field="--version", where=key)
    newest = row["versions"][-1]
    if on.isoformat() < newest["sent_on"]:
        raise RuleBroken(
            f"{key} version {newest['number']} was sent on {newest['sent_on']}, after {on}: give the day of the "
            "notes with --on"
        )
    return about


def _cut(work: Connection, one: Deliverable, about: DeliverableRowVersion, rate: str) -> tuple[Cut, str]:
    """Frame rate, length and first timecode of a version, and where they are from."""
    from bizkit.store.reviews import checks

    if rate:
        try:
            return Cut(_countable(rate_of(rate))), "--rate"
        except BadInput as error:
            raise BadInput(wanted=error.wanted, got=rate, field="--rate", hint=error.hint) from None
    looks = checks(work, sha256=about["sha256"])
    picture = looks[-1].facts["picture"] if looks else None
    if picture and Fraction(picture["frame_rate"]) > 0:
        start = picture["start_timecode"]
        frames = Fraction(picture["frame_rate"])
        try:
            return Cut(_countable(frames), picture["frames"] or None, start, ";" in start), "the file"
        except BadInput:
            pass  # a rate that timecode cannot count: times on a clock can still be read
    asked = ((one.data.get("asks") or {}).get("picture") or {}).get("frame_rates", [])
    if len(asked) == 1:
        return Cut(rate_of(asked[0])), "the spec"
    return Cut(ASSUMED_RATE), "a guess"


def _countable(rate: Fraction) -> Fraction:
    names_per_second(rate)
    return rate


def _rows(text: str, where: str) -> list[dict[str, str]]:
    """The rows of a table with a heading; comma, semicolon or tab between cells."""
    head = text.partition("\n")[0]
    separator = max(",;\t", key=head.count)
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=separator, restkey="", strict=True)
        return [{name: cell for name, cell in row.items() if isinstance(cell, str)} for row in reader]
    except csv.Error as error:
        raise BadInput(wanted="a table as CSV", got=error, where=where) from None


def _row(note: Note, cut: Cut, job: str, key: str, intake: int, version: int, number: int, who: str) -> NoteWritten:
    return {
        "job": job,
        "deliverable": key,
        "number": number,
        "intake": intake,
        "version": version,
        "at": "" if note.frame is None else cut.timecode(note.frame),
        "until": "" if note.to_frame is None else cut.timecode(note.to_frame),
        "frame": note.frame,
        "text": note.text,
        "who": note.who or who,
    }


class NotesTaken(DeliverableRow):
    """A deliverable with notes just taken. rate_from: where the rate of their timecodes is known from."""

    taken: list[NoteWritten]
    rate: str
    rate_from: str
    left_out: list[str]
    unplaced: list[str]
    taken_before: list[str]
    opened_round: bool


class NoteWritten(TypedDict):
    """A note as it is written; frame: None for one without a time."""

    job: str
    deliverable: str
    number: int
    intake: int
    version: int
    at: str
    until: str
    frame: int | None
    text: str
    who: str


class DeliverableShown(DeliverableHead):
    """A deliverable whole."""

    versions: list[VersionShown]
    remarks: list[Remark]


class VersionShown(DeliverableRowVersion):
    """A version, and what the last look at it found; against: a spec held against in place of the one promised."""

    checked_on: str
    wrong: int | None
    against: str


class Remark(TypedDict):
    """A note, and what was said to it."""

    number: int
    version: int
    at: str
    until: str
    text: str
    who: str
    answer: str
    answer_text: str
    answered_on: str
