"""Checking the book against itself and against the papers folder."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from bizkit.services.studio.filing import paper_pdf, pdf_name, write_whole
from bizkit.services.studio.studio_folder import StudioFolder


def verify_book(folder: StudioFolder) -> dict[str, Any]:
    """Walk the chain of issued documents, the number series, and the checksums of filed papers.

    The result's `faults` is empty when nothing is wrong; otherwise one line each says what and how to mend it.
    """
    from bizkit.services.delivery.deliverables import sha256_of_file
    from bizkit.store.events import of_verb
    from bizkit.store.filed import all_filed
    from bizkit.store.issued import every, faults
    from bizkit.store.letters import altered_letters

    with folder.book.read() as work:
        found = faults(work)
        found += [f"{name}: its content is not what was sent" for name in altered_letters(work)]
        documents = every(work)
        filed = all_filed(work)
        promised = of_verb(work, "sent", "issued", "handed over")
        erased = {digest for event in of_verb(work, "erased") for digest in event["data"]["files"]}
    found += _gaps([(one.series, one.number) for one in documents if one.revision == 1])
    numbers = {(one.number, one.revision) for one in documents}
    for event in promised:
        name = (event["data"].get("number"), event["data"].get("revision", 1))
        if name not in numbers:
            found.append(f"{name[0]} revision {name[1]}: the history says it was issued, but it is not in the book")
    newest = {one["file"]: one for one in filed if one["sha256"] not in erased}
    for one in newest.values():
        path = folder.path / one["file"]
        if not path.is_file():
            cure = "make it again with bizkit papers rebuild" if not _is_scan(one) else "restore it from a copy"
            found.append(f"{one['file']}: missing: {cure}")
        elif sha256_of_file(path)[0] != one["sha256"]:
            cure = "move it away and run bizkit papers rebuild" if not _is_scan(one) else "restore it from a copy"
            found.append(f"{one['file']}: not the file that was filed on {one['recorded_at'][:10]}: {cure}")
    return {"documents": len(documents), "papers": len(newest), "faults": found}


def rebuild_papers(folder: StudioFolder) -> dict[str, Any]:
    """Make every missing PDF again from its frozen document. Existing files are left as they are."""
    from datetime import date

    from bizkit.services.studio.filing import file_paper
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import all_filed
    from bizkit.store.issued import every
    from bizkit.store.letters import letters

    made = []
    with folder.book.read() as work:
        documents = every(work)
        sent = letters(work)
        known = {one["file"]: one["sha256"] for one in all_filed(work)}
    for one in documents:
        path = folder.papers / pdf_name(one.document)
        if path.exists():
            continue
        content = paper_pdf(folder, one.document)
        if known.get(path.relative_to(folder.path).as_posix()) != sha256(content):
            # Same content, other bytes (a newer drawing library): recorded as filed anew.
            with folder.book.work() as work:
                path, content = file_paper(work, folder.stamp(date.today()), folder, one.document)
        write_whole(path, content)
        made.append(path.relative_to(folder.path).as_posix())
    for letter in sent:
        path = folder.papers / f"{letter['name']}.pdf"
        if not path.exists():
            write_whole(path, paper_pdf(folder, letter["document"]))
            made.append(path.relative_to(folder.path).as_posix())
    return {"made": made}


def _is_scan(row: dict[str, Any]) -> bool:
    return str(row["file"]).startswith("papers/scans/")


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
