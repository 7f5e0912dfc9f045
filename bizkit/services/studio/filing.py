"""Filing papers: issued PDFs by their number, signed scans by their SHA-256, both recorded in the book.

A file is written under a temporary name, forced to disk, then given its own, so that a half-written paper is never
seen. A paper of the book never takes the place of another file.
"""

from __future__ import annotations

import errno
import os
import re
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.paper_names import REVISED, pdf_name
from bizkit.services.studio.scan_file import WANTED, check_scan
from bizkit.services.studio.source_file import MB, read_source
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp


#: A scan is no larger: some hundred pages in colour.
SCAN_MOST_BYTES = 50 * MB

#: A half-written file younger than this may still be being written, in seconds.
STALE_S = 60


@contextmanager
def _beside(path: Path, content: bytes, *, mode: int = 0o600, folders: int = 0o700) -> Iterator[str]:
    """`content` on disk under a temporary name in the folder of `path`. An OSError names `path`, not that name.

    mode: who may read the file, its owner alone where nothing is said; folders: the same of folders made for it.
    """
    name = ""
    made = [folder for folder in path.parents if not folder.exists()]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path.parent)) from None
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=HALF_WRITTEN)
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        for place, allowed in ((Path(name), mode), *((one, folders) for one in made)):
            with suppress(OSError):  # drives that keep no such thing
                place.chmod(allowed)
        yield name
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from None
    finally:
        if name:
            with suppress(OSError):
                Path(name).unlink(missing_ok=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write `content` to `path`, all or nothing; a file that is there is replaced. Raises OSError naming `path`.

    A link is followed, and a device or pipe, such as /dev/stdout, is written to and never replaced.
    """
    _replace(path, content, mode=0o600, folders=0o700)


def hand_out(path: Path, content: bytes) -> None:
    """As `write_whole`, for what somebody else is to read, wherever it is copied to."""
    _replace(path, content, mode=0o644, folders=0o755)


def _replace(path: Path, content: bytes, *, mode: int, folders: int) -> None:
    target = path.resolve() if path.is_symlink() else path
    if target.exists() and not target.is_file() and not target.is_dir():
        try:
            with target.open("wb") as device:
                device.write(content)
        except OSError as error:
            raise OSError(error.errno, error.strerror, str(path)) from None
        return
    with _beside(target, content, mode=mode, folders=folders) as name:
        os.replace(name, target)


def clear_half_written(*folders: Path) -> list[Path]:
    """Delete what stopped commands left half-written in these folders; what may still be being written stays."""
    cleared = []
    for path in [path for folder in folders for path in sorted(folder.glob(f"{HALF_WRITTEN}*"))]:
        if path.is_file() and time.time() - path.stat().st_mtime > STALE_S:
            path.unlink(missing_ok=True)
            cleared.append(path)
    return cleared


def write_new(path: Path, content: bytes) -> None:
    """Write a paper to `path`, all or nothing, where nothing is yet; the same bytes may lie there already.

    Papers are for clients: everybody may read the file; the studio's folder keeps it. Raises FileExistsError for
    another file, OSError when it cannot be written; both name `path`.
    """
    try:
        with _beside(path, content, mode=0o644) as name:
            try:
                os.link(name, path)
            except OSError as error:
                if error.errno == errno.EEXIST:
                    raise
                # No links here (FAT, some network drives): claim the name first, then put the content there.
                os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
                os.replace(name, path)
    except FileExistsError:
        if not path.is_file() or path.read_bytes() != content:
            raise


@dataclass(frozen=True, slots=True)
class FiledPaper:
    """A paper recorded in the book, and its PDF to write once that is committed.

    name: its number or, of a letter, its name: what `bizkit papers rebuild` takes. done: what is done by then, as a
    sentence without its end ("GL-2027-0001 is issued").
    """

    folder: Path
    path: Path
    content: bytes
    name: str
    done: str

    def write(self) -> None:
        """Write the PDF, all or nothing, never over another file.

        Raises RuleBroken that says what is done already, and the command that writes the paper, when it cannot.
        """
        try:
            write_new(self.path, self.content)
        except FileExistsError:
            raise self._unwritten("another file lies there") from None
        except OSError as error:
            raise self._unwritten(str(error.strerror or error)) from None
        except KeyboardInterrupt:
            raise self._unwritten("it was stopped") from None

    def _unwritten(self, why: str) -> RuleBroken:
        file = self.path.relative_to(self.folder).as_posix()
        return RuleBroken(
            f"{self.done} and in the book, but {file} could not be written: {why}. Put that right, then run "
            f"bizkit papers rebuild {self.name}; nothing has to be issued again"
        )


def write_papers(papers: Sequence[FiledPaper]) -> None:
    """Write the PDFs of one act, all that can be. Raises RuleBroken as `FiledPaper.write`, for all that cannot."""
    faults = []
    for paper in papers:
        try:
            paper.write()
        except RuleBroken as fault:
            faults.append(str(fault))
    if faults:
        raise RuleBroken("; ".join(faults))


def paper_pdf(folder: StudioFolder, document: Mapping[str, Any]) -> bytes:
    """The PDF of a frozen document in the studio's own wording where it has any."""
    from bizkit.papers.render import render

    return render(document, own=folder.own_templates, asset=asset_reader(folder))


def refuse_letters(folder: StudioFolder, texts: Mapping[str, Any]) -> None:
    """Refuse what is typed in letters that no paper of the studio can draw. Raises BadInput naming the text."""
    from bizkit.papers.render import check_letters

    check_letters(texts, own=folder.own_templates)


def asset_reader(folder: StudioFolder) -> Callable[[str], bytes]:
    """Reads a filed image (a logo, a drawn signature) back by its SHA-256."""
    from bizkit.store.canonical import sha256 as digest_of

    def read(sha256: str) -> bytes:
        if re.fullmatch(r"[0-9a-f]{64}", sha256):
            for path in (folder.papers / "scans").glob(f"{sha256}*"):
                content = path.read_bytes()
                if digest_of(content) == sha256:
                    return content
        raise BadInput(wanted="a filed image", got=sha256, where="papers/scans")

    return read


@dataclass(frozen=True, slots=True)
class Drawn:
    """The PDF of a document drawn before it is issued, so that the write turn need not wait for it."""

    document: Mapping[str, Any]
    content: bytes


def file_paper(
    work: Connection, stamp: Stamp, folder: StudioFolder, document: Mapping[str, Any], *, drawn: Drawn | None = None
) -> FiledPaper:
    """Draw the PDF of an issued document and record it; the caller writes it after the commit.

    drawn: taken in place of drawing it, where it is of this very document. Raises RuleBroken, so that nothing is
    issued, when its place in papers/ is taken or papers/ shows papers that the book does not know.
    """
    from bizkit.services.studio.papers_folder import admit

    path = folder.papers / pdf_name(document)
    ready = drawn.content if drawn is not None and drawn.document == document else None
    content = admit(folder, work, path, lambda: ready or paper_pdf(folder, document))
    return record_paper(work, stamp, folder, document, content)


def record_paper(
    work: Connection, stamp: Stamp, folder: StudioFolder, document: Mapping[str, Any], content: bytes
) -> FiledPaper:
    """Record the PDF of an issued document, whatever lies in papers/."""
    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed

    path = folder.papers / pdf_name(document)
    revised = document["kind"] in REVISED
    add_filed(
        work,
        stamp,
        sha256=sha256(content),
        file=path.relative_to(folder.path).as_posix(),
        size=len(content),
        kind=document["kind"],
        about=f"{document['number']}" + (f"/{document['revision']}" if revised else ""),
        name=path.name,
    )
    name = str(document["number"])
    done = f"{name} revision {document['revision']} is issued" if revised else f"{name} is issued"
    return FiledPaper(folder.path, path, content, name, done)


def file_scan(
    work: Connection, stamp: Stamp, folder: StudioFolder, source: Path, *, kind: str, about: str
) -> ScanFiled:
    """Copy a signed scan into papers/scans under its SHA-256 and record it. Raises BadInput when it does not open.

    The copy is written before the commit: a copy without a record does no harm, a record without a copy would. The
    file's own name is not recorded: it often holds a person's, and the record never changes. `filed_before`: what the
    very same paper was filed for earlier.
    """
    from sqlalchemy import event

    from bizkit.store.canonical import sha256
    from bizkit.store.filed import add_filed, all_filed

    content = read_source(source, WANTED, most=SCAN_MOST_BYTES)
    check_scan(content, str(source))
    digest = sha256(content)
    before = [one.about for one in all_filed(work) if (one.sha256, one.kind) == (digest, kind)]
    path = folder.papers / "scans" / f"{digest}{source.suffix.lower()}"
    if not path.exists():
        write_whole(path, content)
        # Of what is refused after all, no copy stays.
        event.listen(work, "rollback", lambda _: path.unlink(missing_ok=True), once=True)
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
    return {"sha256": digest, "file": path.relative_to(folder.path).as_posix(), "filed_before": before}


class ScanFiled(TypedDict):
    """A scan as it is filed. filed_before: about what it was filed already."""

    sha256: str
    file: str
    filed_before: list[str]
