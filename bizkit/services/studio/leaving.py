"""Papers on their way out: each is held against the SHA-256 in the book before anybody gets it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import RuleBroken
from bizkit.services.studio.filing import paper_pdf
from bizkit.services.studio.paper_names import pdf_name
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import Issued
    from bizkit.store.letters import Letter


def issued_paper(folder: StudioFolder, work: Connection, issued: Issued[Any]) -> bytes:
    """The PDF of an issued document as it was filed. Raises RuleBroken when the paper or the record is another."""
    refuse_altered(work, issued)
    file = f"papers/{pdf_name(issued.document)}"
    return _as_filed(folder, work, issued.number, file, issued.document)


def letter_paper(folder: StudioFolder, work: Connection, letter: Letter) -> bytes:
    """The PDF of a letter as it was filed. Raises RuleBroken when the paper or the record is another."""
    from bizkit.store.letters import letter_is_intact

    if not letter_is_intact(letter):
        raise _altered(letter.name)
    return _as_filed(folder, work, letter.name, f"papers/{letter.name}.pdf", letter.document)


def filed_bytes(folder: StudioFolder, work: Connection, file: str) -> bytes:
    """A file on record by its path in the studio folder, such as a scan. Raises RuleBroken when it is another."""
    content = _matching(folder, work, file, "restore it from a copy")
    if content is None:
        raise RuleBroken(f"{file} is missing: restore it from a copy. Nothing has left")
    return content


def refuse_altered(work: Connection, issued: Issued[Any]) -> None:
    """Refuse to go on with a document whose record is not what was issued. Raises RuleBroken."""
    from bizkit.store.issued import is_intact

    if not is_intact(work, issued.number, issued.revision):
        raise _altered(issued.number)


def _altered(name: str) -> RuleBroken:
    return RuleBroken(
        f"{name} in the book is not what was issued: run bizkit verify and restore the book from a copy. "
        "Nothing has left"
    )


def _as_filed(folder: StudioFolder, work: Connection, name: str, file: str, document: Mapping[str, Any]) -> bytes:
    """The file; drawn again where it is gone and comes out as it was."""
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import filed_at

    content = _matching(folder, work, file, f"bizkit papers rebuild {name} puts the right one in its place")
    if content is None:
        content = paper_pdf(folder, document)
        if sha256(content) not in filed_at(work, file):
            raise RuleBroken(f"{file} is missing: write it with bizkit papers rebuild {name}. Nothing has left")
    return content


def _matching(folder: StudioFolder, work: Connection, file: str, cure: str) -> bytes | None:
    """The bytes at a path when they are those on record; None when nothing is there."""
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import filed_at

    path = folder.path / file
    if not path.exists():
        return None
    known = filed_at(work, file)
    content = path.read_bytes() if path.is_file() else b""
    if sha256(content) not in known:
        filed = f"that was filed on {list(known.values())[-1]}" if known else "of the book"
        raise RuleBroken(f"{file} is not the paper {filed}: {cure}. Nothing has left")
    return content
