"""Sending a version: the film or the set with its captions, known by checksums taken now."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import RuleBroken
from bizkit.domain.work.captions import captions_beside, promised_beside
from bizkit.domain.work.spec import Spec
from bizkit.services.delivery.deliverables import DeliverableRow, not_as_many, the_deliverable
from bizkit.services.delivery.held_against import promised_spec
from bizkit.services.delivery.last_look import against, found_wrong_inside, last_look
from bizkit.services.delivery.not_to_leave import of_others, refuse_studio
from bizkit.services.delivery.version_files import pieces
from bizkit.services.studio.fingerprint import Fingerprint, check_name, digests_of, files_below, fingerprint
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.fingerprint import Progress

#: Ways to caption that take no file beside the film.
ALONE = ("clean", "burned_in")


@dataclass(frozen=True, slots=True)
class Offered:
    """What is sent. captions: name -> SHA-256 of the caption files beside a film; those of a folder are its files."""

    print_: Fingerprint
    captions: Mapping[str, str]

    def data(self, path: Path, how: str, reason: str) -> dict[str, Any]:
        """What the book keeps with the version."""
        data: dict[str, Any] = {"reason": reason} if reason else {}
        data |= {"how": how, "path": str(path.resolve())}
        data |= {"files": self.print_.files} if self.print_.files else {}
        return data | ({"captions": dict(self.captions)} if self.captions else {})


def send_version(
    folder: StudioFolder,
    job: str,
    key: str,
    file: Path,
    on: date,
    *,
    to: str = "",
    how: str = "",
    note: str = "",
    reason: str = "",
    progress: Progress | None = None,
) -> VersionSent:
    """Record that a file with the captions beside it, or a folder, was sent as the next version.

    how: the way it went (a link, a drive). Raises RuleBroken when the very same files were sent before, they are the
    studio's own, or on a day before what happened last; and, unless a `reason` says why it is sent all the same, when
    the deliverable is final, it holds fewer than were promised, captions promised beside a film are not there, the
    last look at it found it wrong, or it is of another job or a paper on file.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.deliveries import add_version
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    with folder.book.read() as work:
        row = the_deliverable(folder, work, job, key, on)
        opened = str(the_job(work, row["job"]).opened_on)
    if on.isoformat() < opened:
        raise RuleBroken(f"{row['job']} was agreed on {opened}: {on} is before it")
    refuse_studio(folder, file, [str(path) for path in files_below(file)] if file.is_dir() else [file.name])
    _refuse_fewer(row, file, reason)
    if not _may_be_known(row, file):
        _refuse(row, on, reason)  # before a large file is read
    beside = _captions_for(row, file, reason)
    print_ = fingerprint(file, progress)
    offered = Offered(print_, digests_of(file.parent, [file.parent / name for name in beside])[0])
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        for sent in row["versions"]:
            if sent["sha256"] == print_.sha256 and sent["captions"] == offered.captions:
                raise RuleBroken(f"{print_.name} is the same file as version {sent['number']} of {key}")
        _refuse(row, on, reason)
        _refuse_strange(work, row, offered, reason)
        looked_at = _last_look(work, row, offered, reason)
        _refuse_empty(file, print_.files, reason)
        number = row["version"] + 1
        add_version(
            work,
            {
                "job": row["job"],
                "deliverable": key,
                "number": number,
                "sent_on": on.isoformat(),
                "sent_to": to,
                "file": print_.name,
                "bytes": print_.bytes,
                "sha256": print_.sha256,
                "note": note,
                "data": offered.data(file, how, reason),
            },
        )
        record(work, stamp, "sent version", row["job"], deliverable=key, version=number, sha256=print_.sha256, to=to)
        after = the_deliverable(folder, work, job, key, on)
        many = not_as_many(work, row["job"], after["quantity"], after["versions"][-1]["pieces"])
        same = _sent_as_another(work, row["job"], key, print_)
    return {**after, "warnings": [*same, *many, *_warnings(row, after, file, looked_at)]}


def _may_be_known(row: DeliverableRow, file: Path) -> bool:
    """Whether a file has the size of a version sent: then that it is the same one is the better answer."""
    return file.is_file() and file.stat().st_size in [sent["bytes"] for sent in row["versions"]]


def _refuse(row: DeliverableRow, on: date, reason: str) -> None:
    """What the book alone says against it: versions and notes are written down in the order in which they came."""
    asked = bool(row["notes"]) and row["notes"][-1]["re_edit"]
    if row["state"] == "approved" and not asked and not reason:
        raise RuleBroken(
            f"{row['key']} was approved on {row['approved_on']}: note what the client asks for with bizkit "
            "deliverable notes --re-edit, or say with --reason why another is sent"
        )
    days = [sent["sent_on"] for sent in row["versions"]] + [taken["received_on"] for taken in row["notes"]]
    if days and on.isoformat() < max(days):
        raise RuleBroken(f"{row['key']}: something happened on {max(days)} already: {on} is before it")


def _refuse_fewer(row: DeliverableRow, file: Path, reason: str) -> None:
    """Refuse fewer films or stills than were promised, as captions or notes alone are, without a reason."""
    names = [path.name for path in files_below(file)] if file.is_dir() else [file.name]
    there, promised = len(pieces(names)), row["quantity"]
    if row["kind"] not in ("film", "stills") or there >= promised or reason:
        return
    holds = f"{there} of {promised} promised" if there else f"no film or still: {promised} promised"
    raise RuleBroken(f"{file.name} holds {holds}: say with --reason why it is sent all the same")


def _refuse_empty(file: Path, names: Iterable[str], reason: str) -> None:
    """Refuse a folder in which a film or still is empty, without a reason."""
    empty = [name for name in pieces(names) if not (file / name).stat().st_size]
    if empty and not reason:
        more = f" and {len(empty) - 1} more" if len(empty) > 1 else ""
        raise RuleBroken(
            f"{empty[0]}{more} in {file.name} is empty: export it again, or say with --reason why it is sent all the "
            "same"
        )


def _refuse_strange(work: Connection, row: DeliverableRow, offered: Offered, reason: str) -> None:
    """Refuse what belongs to another job, and papers on file, without a reason."""
    found = {**(offered.print_.files or {offered.print_.name: offered.print_.sha256}), **offered.captions}
    strange = list(of_others(work, row["job"], found, same_client=False).values())
    if strange and not reason:
        raise RuleBroken(f"{strange[0].whose}: say with --reason why it is sent all the same")


def _sent_as_another(work: Connection, job: str, key: str, print_: Fingerprint) -> list[str]:
    """That files just sent are a version of something else promised too; the first of several is named."""
    from bizkit.store.deliveries import deliverables

    mine = {sha256: name for name, sha256 in (print_.files or {print_.name: print_.sha256}).items()}
    found = [
        f"{mine[sha256]} is in version {sent.number} of {one.key} too"
        for one in deliverables(work, job)
        if one.key != key
        for sent in one.versions
        for sha256 in (sent.data.get("files") or {sent.file: sent.sha256}).values()
        if sha256 in mine
    ]
    more = f", and {len(found) - 1} more like it" if len(found) > 1 else ""
    return [f"{found[0]}{more}: is it the right one?"] if found else []


def _captions_for(row: DeliverableRow, file: Path, reason: str) -> tuple[str, ...]:
    """Names of the caption files that belong to a film. Raises RuleBroken where promised ones are not there."""
    from bizkit.masters.look import sidecars
    from bizkit.masters.source import open_regular

    if not file.is_dir():
        os.close(open_regular(file))
    spec = promised_spec(row["job"], row["asks"]) if row["asks"] is not None else Spec("", row["kind"])
    gap = ""
    beside: tuple[str, ...] = ()
    if file.is_dir():
        names = [path.relative_to(file).as_posix() for path in files_below(file)]
        for piece in pieces(names):
            gap = gap or promised_beside(spec.captions, captions_beside(piece, names))
    elif row["kind"] == "film" and spec.captions.how not in ALONE:
        beside = sidecars(file)
        gap = promised_beside(spec.captions, beside)
    if gap and not reason:
        raise RuleBroken(
            f"{file.name}: captions are promised beside it and there is no {gap}: put them there under its name, "
            "or say with --reason why it is sent all the same"
        )
    for name in beside:
        check_name(file.parent / name)
    return beside


def _last_look(work: Connection, row: DeliverableRow, offered: Offered, reason: str) -> bool:
    """Whether the file was looked at with these captions. Raises RuleBroken where it was found wrong."""
    look = last_look(work, row, offered.print_.sha256)
    inside = found_wrong_inside(work, row, offered.print_) if look is None or against(look) else []
    if inside and not reason:
        name, point = inside[0]
        more = f" and {len(inside) - 1} more" if len(inside) > 1 else ""
        raise RuleBroken(
            f"{name}: {point['name']}: wanted {point['wanted']}, got {point['got']}{more}, as found before: "
            "export it again, or say with --reason why it is sent all the same"
        )
    if look is None or against(look):
        return False
    same: bool = look.facts.get("beside", offered.captions) == offered.captions
    # Captions that changed since then are no longer what was found wrong.
    wrong = [
        point for point in look.points if point["ok"] is False and (same or not point["name"].endswith("captions"))
    ]
    if wrong and not reason:
        more = f" and {len(wrong) - 1} more" if len(wrong) > 1 else ""
        raise RuleBroken(
            f"{offered.print_.name}: {wrong[0]['name']}: wanted {wrong[0]['wanted']}, got {wrong[0]['got']}{more}: "
            "export it again, or say with --reason why it is sent all the same"
        )
    return same


def _warnings(before: DeliverableRow, after: DeliverableRow, file: Path, looked_at: bool) -> list[str]:
    newest = after["versions"][-1]
    warnings = []
    if after["asks"] and not looked_at:
        warnings.append(
            f"nobody looked at it: bizkit deliverable check {file} --job {after['job']} --deliverable {after['key']}"
        )
    warnings += [
        f"version {sent['number']} had the same file name: give each version its own"
        for sent in before["versions"]
        if sent["file"] == newest["file"]
    ]
    if before["state"] == "approved" and not (before["notes"] and before["notes"][-1]["re_edit"]):
        price = f", {before['currency']} {before['extra_round']} as quoted" if before["extra_round"] else ""
        warnings.append(
            f"v{before['final']} was approved, and nothing is charged for another: where the client asked for it, it "
            f"is a further round{price} (bizkit deliverable notes --re-edit before it is sent)"
        )
    if before["waits_for_yes"]:
        warnings.append(f"round {before['waits_for_yes'][0]} is beyond those included and not agreed yet")
    return warnings


class VersionSent(DeliverableRow):
    """A deliverable with a version just sent."""

    warnings: list[str]
