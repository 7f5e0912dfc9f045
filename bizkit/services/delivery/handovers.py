"""Handing over: a folder or drive gets its list of checksums and a delivery note; checked again on any later day."""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.work.manifest import compare, read_manifest, write_manifest
from bizkit.services.delivery.before_reading import refuse, refuse_before_reading, refuse_earlier
from bizkit.services.delivery.cleared_to_leave import cleared_to_leave, promised_here
from bizkit.services.delivery.delivery_note import note_document
from bizkit.services.delivery.folder_contents import LIST_MOST_BYTES, Contents, Read
from bizkit.services.delivery.not_to_leave import of_others, refuse_studio
from bizkit.services.delivery.parcels import parcels_in, whats_worth_a_look, whats_wrong
from bizkit.services.studio.fingerprint import (
    HALF_WRITTEN,
    LITTER,
    LITTER_BEFORE,
    Progress,
    digests_of,
    files_below,
)
from bizkit.services.studio.source_file import read_source
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.store.handovers import Handover

#: Name of the list of checksums; `sha256sum --check SHA256SUMS` reads it.
MANIFEST = "SHA256SUMS"
#: The event before the files of a handover are written; "handed over" follows in the transaction that records it.
BEGUN = "handing over"


def hand_over(
    folder: StudioFolder,
    job: str,
    target: Path,
    on: date,
    *,
    to: str = "",
    how: str = "",
    reason: str = "",
    media_hash_list: bool = False,
    progress: Progress | None = None,
) -> HandedOver:
    """Write SHA256SUMS and a delivery note into the folder `target`, and record both. Every file in it is read.

    media_hash_list: write an ASC MHL beside them. What is bound to be refused is refused before a file is read.

    Raises RuleBroken when it was handed over before, it is or holds a studio, or the day is before the job was agreed
    or a version in it sent or approved; and, unless a `reason` is given, when a file is a version that is not final,
    of another job or a paper on file, a set lacks files, nothing in it is final, the licence rests for an unpaid
    invoice, or the papers on file do not cover it.
    """
    from bizkit.exchange.mhl import FOLDER as MHL_FOLDER
    from bizkit.exchange.mhl import check_names
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.filing import clear_half_written, file_paper
    from bizkit.services.studio.numbers import draw
    from bizkit.store.canonical import sha256
    from bizkit.store.events import record
    from bizkit.store.handovers import add_handover
    from bizkit.store.issued import issue

    _refuse_second(folder, target, media_hash_list)
    clear_half_written(target, target / MHL_FOLDER)
    contents = Contents.of(target)
    refuse_studio(folder, target, contents.sizes)
    if media_hash_list:
        check_names([target.resolve().name, *contents.sizes])
    stamp = folder.stamp(on)
    with folder.book.read() as work:
        refuse_before_reading(
            folder, work, the_job(work, job), contents, on, how=how, reason=reason, manifest=MANIFEST
        )
    found = contents.read(progress, sha512=media_hash_list)
    place = str(target.resolve())
    with folder.book.work() as work:
        # Should it be stopped between the files in the folder and the record, `verify` names the folder.
        record(work, stamp, BEGUN, the_job(work, job).key, place=place)
    with folder.book.work() as work:
        _refuse_list(target)  # another handover may have come first while this one read
        row = the_job(work, job)
        key = row.key
        promised = promised_here(work, row)
        parcels = parcels_in(promised, found.sha256)
        strange = of_others(work, key, found.sha256, promised=promised)
        along = {one.work for one in strange.values() if one.work}
        cleared = cleared_to_leave(folder, work, row, parcels, along, on)
        files = [*(one.whose for one in strange.values()), *whats_wrong(promised, parcels, found.sha256)]
        wrong = [*files, *cleared.why_not(on)]
        refuse_earlier(row, parcels, on)
        refuse(wrong, reason)
        document = note_document(
            folder, work, row, parcels, found.sha256, contents.sizes, on, how=how, manifest=MANIFEST
        )
        series, number = draw(work, folder.studio.numbers.delivery_note, on, practice=folder.studio.practice)
        cleared.record(work, stamp, key, reason, number)
        sent = issue(work, stamp, kind="delivery_note", series=series, number=number, key=key, document=document)
        paper = file_paper(work, stamp, folder, sent.document)
        manifest = write_manifest({**found.sha256, paper.path.name: sha256(paper.content)})
        add_handover(
            work,
            stamp,
            {
                "number": number,
                "job": key,
                "folder": target.resolve().name,
                "how": how,
                "sent_to": to,
                "manifest": manifest,
                "manifest_sha256": sha256(manifest),
            },
        )
        record(
            work, stamp, "handed over", key, number=number, files=len(found.sha256), to=to, how=how, reason=reason,
            against=files, place=place,
        )  # fmt: skip
        papers = {paper.path.name: paper.content, MANIFEST: manifest.encode()}
        if media_hash_list:
            made_at, made_by = datetime.fromisoformat(stamp.at), folder.studio.name
            papers = _media_hash_list(contents, found, papers, made_at=made_at, made_by=made_by) | papers
        # Before the commit: where a drive cannot be written to, nothing is in the book either.
        _put(target, papers, contents)
    paper.write()
    return {
        "number": number,
        "job": key,
        "folder": str(target),
        "files": len(found.sha256) + 1,
        "bytes": contents.bytes,
        "deliverables": [parcel.deliverable.key for parcel in parcels],
        "warnings": [
            *wrong,
            *whats_worth_a_look(promised, parcels, found.sha256, strange),
            *_of_the_folder(contents),
        ],
        "manifest": str(target / MANIFEST),
        "note": str(target / paper.path.name),
        "file": str(paper.path),
        "document": sent.document,
    }


def _refuse_second(folder: StudioFolder, target: Path, media_hash_list: bool) -> None:
    """Refuse what is no folder, and one that was handed over before, be it that its handover was stopped."""
    from bizkit.exchange.mhl import FOLDER
    from bizkit.store.canonical import sha256
    from bizkit.store.handovers import handovers

    if not target.is_dir():
        raise BadInput(wanted="a folder with the files to hand over", got=target, field="FOLDER")
    if (target / MANIFEST).exists():
        text = _manifest_text(target / MANIFEST)
        with folder.book.read() as work:
            known = any(row.manifest_sha256 == sha256(text) for row in handovers(work))
        notes = [] if known else _unrecorded_notes(folder, text)
        if notes:
            raise RuleBroken(
                f"{target.name} has a {MANIFEST} and {notes[0]} that the book does not know: a handover was stopped "
                "before it was recorded, then delete both there and repeat this; or this is an older copy of the book"
            )
        _refuse_list(target)
    if media_hash_list and (target / FOLDER).exists():
        raise RuleBroken(f"{target.name} has a history of media hash lists already: hand it over without --mhl")


def _refuse_list(target: Path) -> None:
    """Refuse a folder in which a list of checksums lies."""
    if (target / MANIFEST).exists():
        raise RuleBroken(
            f"{target.name} has its {MANIFEST} already: check it with bizkit handover verify, "
            "or hand over a folder of its own"
        )


def our_notes(folder: StudioFolder) -> re.Pattern[str]:
    """The file names of the studio's delivery notes."""
    from bizkit.services.studio.papers_folder import paper_names

    return re.compile(paper_names("delivery_note", folder.studio.numbers.delivery_note))


def _unrecorded_notes(folder: StudioFolder, manifest: str) -> list[str]:
    """Files of a list that are called as the studio's delivery notes are."""
    return [name for name in read_manifest(manifest, where=MANIFEST) if our_notes(folder).fullmatch(name)]


def _media_hash_list(
    contents: Contents, found: Read, papers: Mapping[str, bytes], *, made_at: datetime, made_by: str
) -> dict[str, bytes]:
    """The files of an ASC MHL over the folder and the papers written into it, by name below the folder."""
    from bizkit.exchange.mhl import FOLDER, Listed, literal, media_hash_list

    listed = [
        Listed(name, contents.sizes[name], digest)
        for name, digest in found.sha512.items()
        if FOLDER not in name.split("/")[:-1]
    ]
    listed += [Listed(name, len(content), hashlib.sha512(content).digest()) for name, content in papers.items()]
    ignored = [*LITTER, f"{LITTER_BEFORE}*", f"{HALF_WRITTEN}*", *map(literal, contents.links)]
    made = media_hash_list(contents.folder.resolve().name, listed, made_at=made_at, made_by=made_by, ignored=ignored)
    return {f"{FOLDER}/{name}": content for name, content in made.items()}


def _put(target: Path, papers: Mapping[str, bytes], contents: Contents) -> None:
    """Write the papers into the folder for others to read; none of them stays where one cannot be written, or where a
    file in the folder is not as it was listed any more."""
    from bizkit.services.studio.filing import hand_out

    written: list[Path] = []
    try:
        for name, content in papers.items():
            hand_out(target / name, content)
            written.append(target / name)
        contents.refuse_changed(but=papers)
    except BaseException as error:
        for path in written:
            path.unlink(missing_ok=True)
        if not isinstance(error, OSError):
            raise
        raise BadInput(
            wanted="a folder that can be written to", got=error.strerror or error, where=str(target)
        ) from None


def _of_the_folder(contents: Contents) -> list[str]:
    """What the client may stumble over, one sentence each."""
    looks = []
    if contents.links:
        more = f" and {len(contents.links) - 1} more" if len(contents.links) > 1 else ""
        looks.append(f"{contents.links[0]}{more}: a link to another place, left out of the list")
    closed = contents.closed()
    if closed:
        more = f" and {len(closed) - 1} more" if len(closed) > 1 else ""
        looks.append(f"{closed[0]}{more} cannot be read by others: chmod -R a+rX {contents.folder}")
    return looks


def _delivered(target: Path) -> list[Path]:
    """Every file in the folder but those of a media hash list."""
    return [path for path in files_below(target) if "ascmhl" not in path.relative_to(target).parts[:-1]]


def list_handovers(folder: StudioFolder, job: str | None = None) -> list[HandoverRow]:
    """What was handed over when, to whom and how, and against what a reason stood."""
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.overrides import override_rows
    from bizkit.store.events import of_verb
    from bizkit.store.handovers import handovers

    with folder.book.read() as work:
        key = the_job(work, job).key if job else None
        rows = handovers(work, key)
        told = {event.data["number"]: event.data for event in of_verb(work, "handed over")}
        lacked: dict[str, list[str]] = defaultdict(list)
        for one in override_rows(work, key):
            lacked[one["handover"]] += one["against"]
    return [
        {
            "number": row.number,
            "job": row.job,
            "on": row.on,
            "folder": row.folder,
            "how": row.how,
            "sent_to": row.sent_to,
            "manifest_sha256": row.manifest_sha256,
            "files": len(read_manifest(row.manifest)),
            "reason": told.get(row.number, {}).get("reason", ""),
            "against": [*told.get(row.number, {}).get("against", ()), *lacked[row.number]],
        }
        for row in rows
    ]


def verify_folder(
    target: Path, *, folder: StudioFolder | None = None, note: str = "", progress: Progress | None = None
) -> FolderHeld:
    """Hold the files in `target` against its SHA256SUMS, and that against the book where there is one.

    note: the number of a delivery note whose list is taken from the book instead. state: "whole" or "changed"; "list
    changed" where the list itself is not the one handed over; "not recorded" where it is the studio's by the name of
    its note and no handover of it is on record.
    """
    from bizkit.store.canonical import sha256
    from bizkit.store.handovers import handovers

    if not target.is_dir():
        raise BadInput(wanted="a folder that was handed over", got=target, field="FOLDER")
    known: list[Handover] = []
    if folder is not None:
        with folder.book.read() as work:
            known = handovers(work)
    if note:
        chosen = [row for row in known if row.number == note]
        if not chosen:
            raise NotFound("delivery note", note, [row.number for row in known], field="--note")
        text = chosen[0].manifest
    else:
        text = _manifest_text(target / MANIFEST)
    wanted = read_manifest(text, where=note or MANIFEST)
    hashes, _ = digests_of(target, [path for path in _delivered(target) if path.name != MANIFEST], progress)
    outcome = compare(wanted, hashes)
    handed = [row for row in known if row.manifest_sha256 == sha256(text)]
    by_note = [row for row in known if row.number + ".pdf" in wanted]
    state = "whole" if outcome.whole else "changed"
    if by_note and not handed:
        state = "list changed"
    elif folder is not None and not handed and _unrecorded_notes(folder, text):
        state = "not recorded"
    return {
        "folder": str(target),
        "state": state,
        "intact": list(outcome.intact),
        "changed": list(outcome.changed),
        "missing": list(outcome.missing),
        "moved": [list(pair) for pair in outcome.moved],
        "extra": list(outcome.extra),
        "number": handed[0].number if handed else "",
        "job": handed[0].job if handed else "",
        "on": handed[0].on if handed else "",
        "in_book": bool(handed),
    }


def _manifest_text(path: Path) -> str:
    if not path.exists():
        raise BadInput(
            wanted=f"{MANIFEST} in the folder",
            got="none",
            where=str(path.parent),
            hint="Name its delivery note with --note",
        )
    content = read_source(path, f"a {MANIFEST}", most=LIST_MOST_BYTES)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        raise BadInput(wanted=f"{MANIFEST} as UTF-8 text", got="other bytes", where=str(path)) from None


class HandoverRow(TypedDict):
    """A handover, by the number of its delivery note. against: what it was handed over in spite of, for `reason`."""

    number: str
    job: str
    on: str
    folder: str
    how: str
    sent_to: str
    manifest_sha256: str
    files: int
    reason: str
    against: list[str]


class HandedOver(TypedDict):
    """A folder handed over; note: the paper in it, file: the one in the studio."""

    number: str
    job: str
    folder: str
    files: int
    bytes: int
    deliverables: list[str]
    warnings: list[str]
    manifest: str
    note: str
    file: str
    document: Mapping[str, object]


class FolderHeld(TypedDict):
    """A folder held against the list it was handed over with; moved: pairs of then and now."""

    folder: str
    state: str
    intact: list[str]
    changed: list[str]
    missing: list[str]
    moved: list[list[str]]
    extra: list[str]
    number: str
    job: str
    on: str
    in_book: bool
