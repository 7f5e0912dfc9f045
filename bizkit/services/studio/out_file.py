"""Files written where somebody says: never over what the studio keeps, nor over another kind of file."""

from __future__ import annotations

from pathlib import Path

from bizkit.domain.errors import BadInput
from bizkit.services.studio.filing import hand_out, write_whole
from bizkit.services.studio.studio_folder import StudioFolder

#: How files of a kind begin.
_BEGINS = ((b"%PDF-", "a PDF"), (b"PK", "a zip file"), (b"BEGIN:VCALENDAR", "a calendar"), (b"<?xml", "XML"))
#: So much of a file tells its kind.
_HEAD_BYTES = 4096


def write_out(folder: StudioFolder, path: Path, content: bytes, *, others: bool = True, field: str = "--out") -> None:
    """Write `content` where somebody asked for it, all or nothing. others: they may read it.

    Raises BadInput as `check_out`, OSError naming `path`.
    """
    check_out(folder, path, content, field=field)
    (hand_out if others else write_whole)(path, content)


def check_out(folder: StudioFolder, path: Path, content: bytes, *, field: str = "--out") -> None:
    """Refuse to write `content` over a file of the studio or over one of another kind; an earlier one is replaced.

    Raises BadInput.
    """
    if not path.is_file():
        return
    kept = what_is_kept(folder, path)
    if not kept:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        there, new = _kind(head), _kind(content[:_HEAD_BYTES])
        kept = f"{there} that lies there already" if head and there != new else ""
    if kept:
        raise BadInput(
            wanted="a name of its own", got=kept, field=field, where=str(path), hint="It would be written over"
        )


def what_is_kept(folder: StudioFolder, path: Path) -> str:
    """What a file is to the studio whose folder it lies in, empty for what can be made again or lies elsewhere."""
    here, studio = path.resolve(), folder.path.resolve()
    if not here.is_relative_to(studio):
        return ""
    name = here.relative_to(studio).as_posix()
    place = folder.book_place
    if isinstance(place, Path) and here.name.startswith(place.name):
        return "the studio's book"
    if here.suffix == ".toml":
        return f"the studio's own {name}"
    if name.startswith("papers/scans/"):
        return "a paper on file"
    return "a paper of the book" if name.startswith("papers/") and _filed(folder, name) else ""


def _filed(folder: StudioFolder, name: str) -> bool:
    """Whether the book has a file of that name below the studio's folder on record."""
    from bizkit.store.filed import filed_names

    with folder.book.read() as work:
        return name in filed_names(work)


def _kind(head: bytes) -> str:
    """What kind of file begins so."""
    for begins, kind in _BEGINS:
        if head.removeprefix(b"\xef\xbb\xbf").startswith(begins):
            return kind
    return "a file that is no text" if b"\0" in head or b"\xff\xd8" in head[:2] else "text"
