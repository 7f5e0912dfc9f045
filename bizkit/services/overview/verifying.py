"""Checking the book against itself and against the papers folder."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.papers_folder import CURE, ahead, form_traces, names_in, strangers, unknown_letters
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.fingerprint import Progress
    from bizkit.store.filed import Filed
    from bizkit.store.issued import Issued

Row = dict[str, Any]

#: Kinds of document that are issued under a number.
_ISSUED: Final = ("quote", "invoice", "credit_note", "licence_certificate", "delivery_note")


def verify_book(folder: StudioFolder, progress: Progress | None = None) -> Row:
    """Walk the chain of issued documents, the number series, the checksums of filed papers, and the papers folder.

    The result's `faults` is empty when nothing is wrong; otherwise one line each says what and how to mend it.
    `looks` names what is not wrong but somebody's to look at. `head` is the SHA-256 of the last document: noted
    somewhere else, it shows later whether the book was replaced. progress: told the files read and all there are.
    """
    from bizkit.services.delivery.handovers import stopped_handovers
    from bizkit.services.rights.erasing import still_to_erase
    from bizkit.store.filed import all_filed
    from bizkit.store.forms import form_numbers
    from bizkit.store.issued import START, every, faults
    from bizkit.store.letters import altered_letters

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
    from bizkit.services.studio.fingerprint import digest_of

    path = folder.path / filed.file
    scan = str(filed.file).startswith("papers/scans/")
    if not path.is_file():
        cure = "restore it from a copy" if scan else "make it again with bizkit papers rebuild"
        return f"{filed.file}: missing: {cure}"
    if digest_of(path) not in ever:
        cure = "restore it from a copy" if scan else "bizkit papers rebuild puts the right one in its place"
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
