"""Making issued PDFs again from their frozen documents: those that are missing, and those that were changed."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import NotFound
from bizkit.services.studio.filing import clear_half_written, paper_pdf, write_new
from bizkit.services.studio.lost_numbers import LOST
from bizkit.services.studio.paper_names import pdf_name
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.studio.fingerprint import Progress

#: Where a file goes that stood in the place of an issued paper; nothing is ever deleted.
SET_ASIDE: Final = "set-aside"


@dataclass(frozen=True, slots=True)
class _Paper:
    """An issued paper as the book has it. filed: every SHA-256 on record; whole: whether its record is as issued."""

    name: str
    file: str
    document: dict[str, Any]
    kind: str
    about: str
    filed: frozenset[str]
    whole: bool


@dataclass(slots=True)
class Rebuilt:
    """What came of it, by path in the studio folder. anew: made with other bytes than those filed before.

    set_aside: where files went that were not the paper. refused: papers whose record is not what was issued. cleared:
    half-written files of stopped commands. others: papers that another copy of the book issued under these numbers.
    """

    made: list[str] = field(default_factory=list)
    anew: list[str] = field(default_factory=list)
    set_aside: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    cleared: list[str] = field(default_factory=list)
    others: list[str] = field(default_factory=list)

    def data(self) -> RebuiltRow:
        """JSON-ready."""
        return {
            "made": self.made, "anew": self.anew, "set_aside": self.set_aside, "refused": self.refused,
            "cleared": self.cleared, "others": self.others,
        }  # fmt: skip


def rebuild_papers(
    folder: StudioFolder, names: Sequence[str] = (), *, progress: Progress | None = None
) -> RebuiltRow:
    """Make every PDF that is missing, or is not the one filed, again from its frozen document.

    names: numbers or names of letters; all without any. A file that stands in a paper's place is moved to set-aside/,
    but a whole paper that another copy of the book issued under the number only where its number is named. The paper
    of a lost number cannot be made.
    progress: told the papers looked at and all there are. Raises NotFound for an unknown name.
    """
    from bizkit.papers.reading_back import is_whole_paper
    from bizkit.services.studio.fingerprint import digest_of

    papers = _papers(folder)
    known = {one.name for one in papers}
    for name in names:
        if name not in known:
            raise NotFound("paper (number or name of a letter)", name, known, field="NUMBER")
    done = Rebuilt()
    for number, one in enumerate(papers, start=1):
        if progress is not None:
            progress(number, len(papers))
        path = folder.path / one.file
        there = os.path.lexists(path)
        if (names and one.name not in names) or (path.is_file() and digest_of(path) in one.filed):
            continue
        if not one.whole:
            done.refused.append(one.file)
            continue
        if there and not names and path.is_file() and is_whole_paper(path.read_bytes(), one.name):
            done.others.append(one.file)
            continue
        content = paper_pdf(folder, one.document)
        if there:
            done.set_aside.append(_set_aside(folder, path))
        _record(folder, one, content, done)
        write_new(path, content)
        done.made.append(one.file)
    if not names:
        cleared = clear_half_written(folder.papers, folder.papers / "scans")
        done.cleared += [path.relative_to(folder.path).as_posix() for path in cleared]
    return done.data()


def _papers(folder: StudioFolder) -> list[_Paper]:
    from bizkit.store.filed import all_filed
    from bizkit.store.issued import altered, every
    from bizkit.store.letters import letter_is_intact, letters

    with folder.book.read() as work:
        filed: dict[str, frozenset[str]] = {}
        for row in all_filed(work):
            filed[row.file] = filed.get(row.file, frozenset()) | {row.sha256}
        broken = altered(work)
        found = []
        for one in every(work):
            if one.kind == LOST:
                continue
            file = f"papers/{pdf_name(one.document)}"
            whole = (one.number, one.revision) not in broken
            found.append(_Paper(one.number, file, one.document, one.kind, "", filed.get(file, frozenset()), whole))
        for letter in letters(work):
            file = f"papers/{letter.name}.pdf"
            whole = letter_is_intact(letter)
            found.append(
                _Paper(
                    letter.name,
                    file,
                    letter.document,
                    letter.kind,
                    letter.about,
                    filed.get(file, frozenset()),
                    whole,
                )
            )
    return found


def _record(folder: StudioFolder, paper: _Paper, content: bytes, done: Rebuilt) -> None:
    """Record the paper anew where it has other bytes now (a newer drawing library, another wording)."""
    from bizkit.services.studio.filing import record_paper
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed

    if sha256(content) in paper.filed:
        return
    stamp = folder.stamp(date.today())
    with folder.book.work() as work:
        if paper.about:
            add_filed(
                work, stamp, sha256=sha256(content), file=paper.file, size=len(content), kind=paper.kind,
                about=paper.about, name=Path(paper.file).name,
            )  # fmt: skip
        else:
            record_paper(work, stamp, folder, paper.document, content)
    done.anew.append(paper.file)


def _set_aside(folder: StudioFolder, path: Path) -> str:
    """Move what stands in a paper's place out of papers/; returns where it is now."""
    shelf = folder.path / SET_ASIDE
    shelf.mkdir(mode=0o700, exist_ok=True)
    number, target = 1, shelf / path.name
    while os.path.lexists(target):
        number += 1
        target = shelf / f"{path.stem}-{number}{path.suffix}"
    os.rename(path, target)
    return target.relative_to(folder.path).as_posix()


class RebuiltRow(TypedDict):
    """What came of making papers again; see `Rebuilt`."""

    made: list[str]
    anew: list[str]
    set_aside: list[str]
    refused: list[str]
    cleared: list[str]
    others: list[str]
