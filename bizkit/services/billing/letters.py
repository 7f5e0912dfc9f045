"""Letters about money - receipts, statements, reminders, pro formas: kept in the book and filed as PDF."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.stamp import Stamp


def put_letter(
    work: Connection, stamp: Stamp, folder: StudioFolder, document: Mapping[str, Any], *, about: str, name: str
) -> FiledPaper:
    """Keep a letter and record its PDF, in the caller's transaction; the caller writes the file after the commit.

    name: of the PDF without its ending; where it is taken, a number is added. Raises RuleBroken as `admit` does.
    """
    from bizkit.services.studio.filing import FiledPaper, paper_pdf
    from bizkit.services.studio.paper_names import file_name
    from bizkit.services.studio.papers_folder import admit
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed
    from bizkit.store.letters import add_letter, letter_named

    base = file_name(name)
    free, number = base, 1
    while letter_named(work, free):
        number += 1
        free = f"{base}-{number}"
    path = folder.papers / f"{free}.pdf"
    content = admit(folder, work, path, lambda: paper_pdf(folder, document))
    add_letter(work, stamp, kind=document["kind"], about=about, name=free, document=document)
    add_filed(
        work,
        stamp,
        sha256=sha256(content),
        file=path.relative_to(folder.path).as_posix(),
        size=len(content),
        kind=document["kind"],
        about=about,
        name=path.name,
    )
    return FiledPaper(folder.path, path, content, free, f"{free} is written")
