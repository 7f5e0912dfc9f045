"""Checking the book against itself and against the papers folder."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.lost_numbers import LOST
from bizkit.services.studio.papers_folder import CURE, ahead, form_traces, names_in, strangers, unknown_letters
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.whereabouts import place_of_book

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.fingerprint import Progress
    from bizkit.store.filed import Filed
    from bizkit.store.issued import Issued

Row = dict[str, Any]

#: Kinds of document that are issued under a number.
_ISSUED: Final = ("quote", "invoice", "credit_note", "licence_certificate", "delivery_note")


def verify_book(folder: StudioFolder, progress: Progress | None = None) -> Verified:
    """Walk the chain of issued documents, the number series, the checksums of filed papers, and the papers folder.

    The result's `faults` is empty when nothing is wrong; otherwise one line each says what and how to mend it.
    `looks` names what is not wrong but somebody's to look at. `head` is the SHA-256 of the last document: noted
    somewhere else, it shows later whether the book was replaced. progress: told the files read and all there are.
    """
    from bizkit.services.delivery.stopped_handovers import stopped_handovers
    from bizkit.services.rights.erasing import still_to_erase
    from bizkit.store.filed import all_filed
    from bizkit.store.forms import form_numbers
    from bizkit.store.issued import START, every, faults
    from bizkit.store.letters import altered_letters
    from bizkit.store.places import has_number, lost_by_words

    # Listed first: a paper written while we read is then in neither, not in the folder alone.
    names = names_in(folder)
    found = folder.book.damage()
    with folder.book.read() as work:
        found += faults(work)
        found += [f"{name}: its content is not what was sent" for name in altered_letters(work)]
        documents = every(work)
        filed = all_filed(work)
        found += _gaps([(one.series, one.number) for one in documents if one.revision == 1])
        found += _promised(work, documents, filed)
        unknown = [*ahead(folder, work, names), *unknown_letters(names, {one.file for one in filed})]
        undone, erased = still_to_erase(folder, work)
        belongs = {one.file for one in filed} | _logos(work, documents) | form_traces(form_numbers(work))
        stopped, unseen = stopped_handovers(folder, work)
        lost = [number for number in lost_by_words(work) if not has_number(work, number)]
    found += [f"papers/{name}: the book does not know it: {CURE}" for name in unknown] + undone + stopped
    newest = {one.file: one for one in filed if one.sha256 not in erased}
    ever: dict[str, set[str]] = {}
    for one in filed:
        ever.setdefault(one.file, set()).add(one.sha256)
    for number, one in enumerate(newest.values(), start=1):
        fault = _fault_of(folder, one, ever[one.file])
        found += [fault] if fault else []
        if progress is not None:
            progress(number, len(newest))
    looks = [
        f"papers/{name}: the book does not say what it is: keep it elsewhere, or delete what a stopped command left"
        for name in strangers(names, belongs)
        if name not in unknown
    ] + unseen
    looks += [
        f"{one.number}: used by a paper of a lost copy of the book ({one.document['reason']}); its amounts are in no "
        "list and no report"
        for one in documents
        if one.kind == LOST
    ]
    looks += [
        f"{number}: issued by another copy of the book, and not in this one: repeat its command with the same --on, "
        f"or record the number as used with bizkit papers lost {number}"
        for number in lost
    ]
    here = place_of_book(folder)
    looks += [f"nothing is issued here: {here['why_not']}"] if here["why_not"] else []
    looks += [
        f"papers/{name}: left half-written by a command that was stopped: bizkit papers rebuild clears it away"
        for name in names
        if Path(name).name.startswith(HALF_WRITTEN)
    ]
    return {
        "documents": len(documents),
        "papers": len(newest),
        "faults": found,
        "looks": looks,
        "head": documents[-1].sha256 if documents else START,
    }


def _fault_of(folder: StudioFolder, filed: Filed, ever: set[str]) -> str:
    """What is wrong with a file on record; empty when it is as filed. ever: SHA-256 of all that was filed there."""
    from bizkit.papers.reading_back import is_whole_paper
    from bizkit.services.studio.fingerprint import digest_of
    from bizkit.store.places import NUMBERED

    path = folder.path / filed.file
    scan = str(filed.file).startswith("papers/scans/")
    if not path.is_file():
        cure = "restore it from a copy" if scan or filed.kind == LOST else "make it again with bizkit papers rebuild"
        return f"{filed.file}: missing: {cure}"
    if digest_of(path) not in ever:
        number = "" if scan else str(filed.about).partition("/")[0]
        if number and filed.kind in NUMBERED and is_whole_paper(path.read_bytes(), number):
            return (
                f"{filed.file}: another paper than the one that this book issued under that number on "
                f"{filed.recorded_at[:10]}, and a whole one: two copies of the book have issued {number}. Overwrite "
                "neither. Decide which copy goes on (bizkit here) and which paper stands: where it is this book's, "
                "issue anew what the other one says and tell whoever has it; where it is the other, credit or recall "
                f"{number} here and issue it anew. Then keep the other one outside papers/"
            )
        cure = "restore it from a copy"
        if not scan and filed.kind != LOST:
            cure = "bizkit papers rebuild puts the right one in its place"
        return f"{filed.file}: not the file that was filed on {filed.recorded_at[:10]}: {cure}"
    return ""


def _logos(work: Connection, documents: list[Issued[Any]]) -> set[str]:
    """Where the logos lie that papers are drawn with: issued ones, letters and drafts."""
    from bizkit.store.letters import letters
    from bizkit.store.quotes import drafts

    everything = [one.document for one in documents]
    everything += [one.document for one in letters(work)] + [one.document for one in drafts(work)]
    digests = {(one.get("studio") or {}).get("logo") for one in everything} - {None, ""}
    return {f"papers/scans/{digest}{ending}" for digest in digests for ending in (".png", ".jpg")}


def _promised(work: Connection, documents: list[Issued[Any]], filed: list[Filed]) -> list[str]:
    """Documents that the history, a filed paper, a licence, a stage or a charge speaks of and the book lacks."""
    from bizkit.store.charges import charges
    from bizkit.store.events import of_verb
    from bizkit.store.jobs import stages
    from bizkit.store.rights import licence_names

    there = {(one.number, one.revision) for one in documents}
    wanted: dict[tuple[str, int], str] = {}
    for number in licence_names(work):
        wanted[number, 1] = "its licence is on record"
    billed = [(one.job, one.invoice) for one in stages(work)] + [(one.job, one.invoice) for one in charges(work)]
    for job, invoice in billed:
        if invoice:
            wanted[invoice, 1] = f"job {job} says it was issued"
    for one in filed:
        if one.kind in _ISSUED:
            number, _, revision = str(one.about).partition("/")
            wanted[number, int(revision or 1)] = f"{one.file} was filed with it"
    for event in of_verb(work, "sent", "issued", "handed over", "chose", "granted"):
        data = event.data
        name = data.get("number") or data.get("licence")
        if name:
            wanted[name, data.get("revision") or 1] = "the history says it was issued"
    return [
        f"{number} revision {revision}: {why}, but it is not in the book"
        for (number, revision), why in wanted.items()
        if (number, revision) not in there
    ]


def _gaps(numbers: list[tuple[str, str]]) -> list[str]:
    """Numbers missing from a series that starts at 1, and numbers used twice."""
    found = []
    for series in dict.fromkeys(one for one, _ in numbers):
        head, _, tail = re.sub(r"\{number(:0\d+)?\}", "\0", series).partition("\0")
        middles = [number[len(head) : len(number) - len(tail)] for one, number in numbers if one == series]
        drawn = Counter(int(middle) for middle in middles if middle.isdecimal())
        if len(middles) != drawn.total() or not drawn:
            found.append(f"series {head}…{tail}: a number in it is not of its pattern")
            continue
        for running in range(1, max(drawn) + 1):
            if drawn[running] != 1:
                trouble = "is missing" if not drawn[running] else f"stands {drawn[running]} times"
                found.append(f"series {head}…{tail}: number {running} {trouble}")
    return found


class Verified(TypedDict):
    """What checking a book found; head: SHA-256 of the last document issued."""

    documents: int
    papers: int
    faults: list[str]
    looks: list[str]
    head: str
