"""Numbers used by papers that the book lost: put down as used, so that a series neither repeats nor skips unseen."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypedDict

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.services.studio.numbers import draw, series_of
from bizkit.services.studio.papers_folder import paper_names
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.whereabouts import hold_the_place

if TYPE_CHECKING:
    from sqlalchemy import Connection

#: The kind of document by which a number is used up and nothing else said: it stands in no list and no report.
LOST: Final = "lost_number"


def record_lost(folder: StudioFolder, number: str, on: date, *, reason: str, paper: Path | None = None) -> LostRow:
    """Put down the next number of a series as used by a paper issued in a copy of the book that is lost.

    on: the date of that paper. paper: its PDF where the studio or the client still has it, filed under its name; one
    that lies in papers/ under that name is taken without being named. Raises RuleBroken where the number is in the
    book, is not the next of its series, or its place in papers/ holds something else; BadInput for a number of no
    series of today's settings, and without a reason.
    """
    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.canonical import sha256
    from bizkit.store.events import record
    from bizkit.store.filed import add_filed
    from bizkit.store.issued import issue

    stamp = folder.stamp(on)
    if not reason.strip():
        raise BadInput(wanted="why that number is used", got="nothing", field="--reason")
    with folder.book.work() as work:
        hold_the_place(folder, work, finding=True)
        kind, series = _next(folder, work, number, on)
        path, content = _its_paper(folder, work, number, kind, paper)
        document = {"kind": LOST, "of": kind, "reason": reason.strip(), "paper": sha256(content) if content else ""}
        issue(work, stamp, kind=LOST, series=series, number=number, key="", document=document)
        written = None
        if content:
            file = path.relative_to(folder.path).as_posix()
            add_filed(
                work, stamp, sha256=sha256(content), file=file, size=len(content), kind=LOST, about=number,
                name=path.name,
            )  # fmt: skip
            written = FiledPaper(folder.path, path, content, number, f"{number} is recorded as used")
        record(work, stamp, "recorded as lost", number, reason=reason.strip(), of=kind)
    if written is not None:
        written.write()
    return {"number": number, "of": kind, "paper": f"papers/{path.name}" if content else "", "reason": reason.strip()}


def _next(folder: StudioFolder, work: Connection, number: str, on: date) -> tuple[str, str]:
    """Kind of paper and series of a number, which must be the next one of it."""
    from bizkit.store.issued import by_number

    if by_number(work, number) is not None:
        raise RuleBroken(f"{number} is in the book: it is not lost, and nothing was changed")
    numbers = folder.studio.numbers
    kinds = {
        "quote": numbers.quote,
        "invoice": numbers.invoice,
        "credit_note": numbers.credit_note,
        "licence_certificate": numbers.licence,
        "delivery_note": numbers.delivery_note,
    }
    for kind, pattern in kinds.items():
        if re.fullmatch(paper_names("", pattern, ""), number):
            if not re.fullmatch(paper_names("", series_of(pattern, on.year), ""), number):
                raise BadInput(
                    wanted="the date of that paper", got=on, field="--on", hint=f"{number} is of another year"
                )
            series, following = draw(work, pattern, on, practice=folder.studio.practice)
            if following != number:
                raise RuleBroken(f"{number} is not the next number of its series: record {following} first")
            return kind, series
    wanted = "the number of a quote, an invoice, a credit note, a licence certificate or a delivery note"
    raise BadInput(wanted=wanted, got=number, field="NUMBER")


def _its_paper(
    folder: StudioFolder, work: Connection, number: str, kind: str, paper: Path | None
) -> tuple[Path, bytes]:
    """Where the lost paper is kept and its bytes, none where nobody has it any more."""
    from bizkit.services.studio.filing import SCAN_MOST_BYTES
    from bizkit.services.studio.paper_names import pdf_name
    from bizkit.services.studio.scan_file import check_scan
    from bizkit.services.studio.source_file import read_source

    path = folder.papers / pdf_name({"kind": kind, "number": number, "revision": 1})
    there = path if path.is_file() else None
    source = paper or there
    if source is None:
        return path, b""
    content = read_source(source, "a PDF", most=SCAN_MOST_BYTES)
    check_scan(content, str(source))
    if not content.startswith(b"%PDF-"):
        raise BadInput(wanted="a PDF", got="another kind of file", where=str(source), field="--paper")
    if there is not None and there.read_bytes() != content:
        raise RuleBroken(
            f"papers/{path.name} lies there already and is another paper than {source}: keep the one that was sent, "
            "and nothing was changed"
        )
    return path, content


class LostRow(TypedDict):
    """A number put down as used, of which kind of paper, and where that is kept; empty where nobody has it."""

    number: str
    of: str
    paper: str
    reason: str
