"""A receipt that was found later: filed with a cost or overhead that is recorded already."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypedDict

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.store.overheads import Overhead
    from bizkit.store.spent import Spent


def file_receipt(
    folder: StudioFolder, kind: Literal["cost", "overhead"], number: int, receipt: Path, on: date
) -> ReceiptFiled:
    """File the receipt of a cost of a job, or of an overhead, by its number in the list.

    Raises NotFound for another number, RuleBroken where a receipt is on file: a wrong one goes with its entry.
    """
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.filed import RECEIPT
    from bizkit.store.overheads import overheads
    from bizkit.store.spent import costs

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        every: Sequence[Spent | Overhead] = costs(work) if kind == "cost" else overheads(work)
        rows = {one.id: one for one in every}
        if number not in rows:
            known = [str(one) for one in rows]
            raise NotFound(kind, str(number), known, field=kind.upper(), hint=f"See bizkit {kind} list")
        row = rows[number]
        if row.receipt:
            undo = f"bizkit cost reverse {number}" if kind == "cost" else "the same once more below zero"
            raise RuleBroken(
                f"{kind} {number} has its receipt, {row.receipt[:12]}: if that is of another purchase, take "
                f"the entry back ({undo}) and record it anew"
            )
        filed = file_scan(work, stamp, folder, receipt, kind=RECEIPT, about=f"{kind} {number}")
        about = getattr(row, "job", "studio")
        record(work, stamp, "filed receipt", about, number=f"{kind} {number}", sha256=filed["sha256"])
    return {
        "kind": kind,
        "number": number,
        "what": row.what,
        "receipt": filed["sha256"],
        "file": filed["file"],
        "same_paper": filed["filed_before"],
    }


class ReceiptFiled(TypedDict):
    """A receipt filed later. same_paper: what the very same paper is the receipt of already."""

    kind: str
    number: int
    what: str
    receipt: str
    file: str
    same_paper: list[str]
