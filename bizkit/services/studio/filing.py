"""Filing papers: issued PDFs by their number, signed scans by their SHA-256, both recorded in the book.

A file is written under a temporary name, forced to disk, then renamed, so that a half-written paper is never seen.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp

#: Kinds of paper that may be issued again under the same number.
REVISED = ("quote", "licence_certificate")


def write_whole(path: Path, content: bytes) -> None:
    """Write `content` to `path`, all or nothing."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def paper_pdf(folder: StudioFolder, document: dict[str, Any]) -> bytes:
    """The PDF of a frozen document in the studio's own wording where it has any."""
    from bizkit.papers.render import render

    return render(document, own=folder.own_templates, asset=asset_reader(folder))


def asset_reader(folder: StudioFolder) -> Callable[[str], bytes]:
    """Reads a filed image (a logo, a drawn signature) back by its SHA-256."""

    def read(sha256: str) -> bytes:
        for path in (folder.papers / "scans").glob(f"{sha256}*"):
            return path.read_bytes()
        raise BadInput(wanted="a filed image", got=sha256, where="papers/scans")

    return read


def pdf_name(document: dict[str, Any]) -> str:
    """The file name of an issued paper: `Q-2027-0001-r2.pdf`, `GL-2027-0001.pdf`, `LC-2027-0001-r1.pdf`."""
    number = re.sub(r"[^A-Za-z0-9._-]+", "-", str(document["number"]))
    revision = f"-r{document['revision']}" if document["kind"] in REVISED else ""
    return f"{number}{revision}.pdf"


def file_paper(work: Connection, stamp: Stamp, folder: StudioFolder, document: dict[str, Any]) -> tuple[Path, bytes]:
    """Render the PDF of an issued document and record it; the caller writes the file after the commit."""
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed

    content = paper_pdf(folder, document)
    path = folder.papers / pdf_name(document)
    add_filed(
        work,
        stamp,
        sha256=sha256(content),
        file=path.relative_to(folder.path).as_posix(),
        size=len(content),
        kind=document["kind"],
        about=f"{document['number']}" + (f"/{document['revision']}" if document["kind"] in REVISED else ""),
        name=path.name,
    )
    return path, content


def file_scan(
    work: Connection, stamp: Stamp, folder: StudioFolder, source: Path, *, kind: str, about: str
) -> dict[str, Any]:
    """Copy a signed scan into papers/scans under its SHA-256 and record it. Raises BadInput when it is missing.

    The copy is written before the commit: a copy without a record does no harm, a record without a copy would. The
    file's own name is not recorded: it often holds a person's, and the record never changes.
    """
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed

    try:
        content = source.read_bytes()
    except FileNotFoundError:
        raise BadInput(wanted="a scan (PDF, PNG or JPEG)", got="no such file", where=str(source)) from None
    except OSError as error:
        raise BadInput(wanted="a scan (PDF, PNG or JPEG)", got=error.strerror, where=str(source)) from None
    if not content.startswith((b"%PDF-", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")):
        raise BadInput(wanted="a scan (PDF, PNG or JPEG)", got="another kind of file", where=str(source))
    digest = sha256(content)
    path = folder.papers / "scans" / f"{digest}{source.suffix.lower()}"
    if not path.exists():
        write_whole(path, content)
    add_filed(
        work,
        stamp,
        sha256=digest,
        file=path.relative_to(folder.path).as_posix(),
        size=len(content),
        kind=kind,
        about=about,
        name=f"{kind}{source.suffix.lower()}",
    )
    return {"sha256": digest, "file": path.relative_to(folder.path).as_posix()}
