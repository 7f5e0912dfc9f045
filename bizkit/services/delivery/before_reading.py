"""What can be refused of a handover before a file is read: by names and sizes, the book, the rights, the paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken
from bizkit.services.delivery.cleared_to_leave import cleared_to_leave, promised_here
from bizkit.services.delivery.delivery_note import note_document
from bizkit.services.delivery.folder_contents import Contents, check_writable
from bizkit.services.delivery.parcels import Parcel, not_final, parcels_in, too_little
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.deliveries import Deliverable
    from bizkit.store.jobs import Job

#: Things named in one refusal: a line of more is read by nobody. All of them are told once a reason lets them go.
NAMED_MOST = 6


def refuse(wrong: Sequence[str], reason: str) -> None:
    """Raises RuleBroken with all of `wrong` that a `reason` would cover, unless one is given."""
    if wrong and not reason:
        more = f"; and {len(wrong) - NAMED_MOST} more" if len(wrong) > NAMED_MOST else ""
        raise RuleBroken(
            f"{'; '.join(wrong[:NAMED_MOST])}{more}: put it right, or say with --reason why it goes all the same"
        )


def refuse_earlier(job: Job, parcels: Sequence[Parcel], on: date) -> None:
    """Refuse a day before the job was agreed, or before a version in the folder was sent or approved.

    Raises RuleBroken.
    """
    days = [(job.opened_on, f"{job.key} was agreed")]
    for parcel in parcels:
        days.append((parcel.version.sent_on, f"{parcel.name} was sent"))
        if parcel.final:
            days.append((parcel.deliverable.approved_on, f"{parcel.name} was approved"))
    last, what = max(days)
    if on.isoformat() < last:
        raise RuleBroken(f"{what} on {last}: {on} is before it")


def refuse_before_reading(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    contents: Contents,
    on: date,
    *,
    how: str,
    reason: str,
    manifest: str,
) -> None:
    """Refuse what is bound to be refused once the files are read, and what cannot be written or drawn.

    A file counts for a version when it carries its name and has its size: then it is that version or one that was
    changed, and neither leaves. Raises RuleBroken, BadInput.
    """
    from bizkit.services.studio.filing import paper_pdf
    from bizkit.services.studio.numbers import draw
    from bizkit.services.studio.paper_names import pdf_name
    from bizkit.services.studio.papers_folder import admit

    check_writable(contents.folder)
    promised = promised_here(work, job)
    assumed = _assumed(promised, contents.sizes)
    parcels = parcels_in(promised, assumed)
    refuse_earlier(job, parcels, on)
    wrong: list[str] = []
    for parcel in parcels:
        # A file of a set may carry a later name and the content approved: only reading tells.
        if not (parcel.version.data.get("files") and parcel.deliverable.data.get("final")):
            wrong += not_final(parcel)
        wrong += too_little(parcel, contents.sizes)
    if not any(one.data.get("final") for one in promised):
        wrong.append("nothing in the folder is the final version of anything promised: none is approved yet")
    wrong += cleared_to_leave(folder, work, job, parcels, (), on).why_not(on)
    refuse(wrong, reason)
    _, number = draw(work, folder.studio.numbers.delivery_note, on, practice=folder.studio.practice)
    document = {
        **note_document(folder, work, job, parcels, assumed, contents.sizes, on, how=how, manifest=manifest),
        "number": number,
        "revision": 1,
        "issued_on": on.isoformat(),
    }
    name = pdf_name(document)
    if name in contents.sizes:
        raise RuleBroken(
            f"{name} lies in the folder already, as a handover that was stopped leaves it: take it out first"
        )
    # Drawn once to see that it can be; what it is filed as is drawn when the checksums are known.
    admit(folder, work, folder.papers / name, lambda: paper_pdf(folder, document))


def _assumed(promised: Sequence[Deliverable], sizes: Mapping[str, int]) -> dict[str, str]:
    """Name -> the SHA-256 of the version whose name and size a file has, else one that no file has.

    Names that several deliverables have say nothing.
    """
    by_name: dict[str, list[tuple[int, str, str, int | None]]] = {}
    for one in promised:
        for version in one.versions:
            whole = not version.data.get("files")
            rank = len(one.versions) + 1 if version.number == one.data.get("final") else version.number
            for name, digest in version.contents.items():
                size = version.bytes if whole and name == version.file else None
                by_name.setdefault(name.rpartition("/")[2], []).append((rank, digest, one.key, size))
    found: dict[str, str] = {}
    for number, (name, size_bytes) in enumerate(sizes.items()):
        fit = [each for each in by_name.get(name.rpartition("/")[2], []) if each[3] in (None, size_bytes)]
        found[name] = max(fit)[1] if len({key for _, _, key, _ in fit}) == 1 else f"{number:064x}"
    return found
