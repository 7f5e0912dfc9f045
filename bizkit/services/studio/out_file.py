"""Files written where somebody says: never over what the studio keeps, nor over another kind of file."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from bizkit.domain.errors import BadInput
from bizkit.services.studio.filing import hand_out, write_whole
from bizkit.services.studio.studio_folder import BESIDE_BOOK, StudioFolder

#: How files of a kind begin.
_BEGINS = ((b"%PDF-", "a PDF"), (b"PK", "a zip file"), (b"BEGIN:VCALENDAR", "a calendar"), (b"<?xml", "XML"))
#: So much of a file tells its kind.
_HEAD_BYTES = 4096
#: Folders of a studio in which everything that lies there is its own.
_SETTINGS = ("clients", "briefs", "jobs", "specs", "templates")


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
    refuse_kept(folder, path, field=field)
    if path.is_file():
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        there, new = _kind(head), _kind(content[:_HEAD_BYTES])
        if head and there != new:
            raise _refused(path, f"{there} that lies there already", field)


def refuse_kept(folder: StudioFolder, path: Path, *, field: str = "--out") -> None:
    """Refuse a name that is the studio's own, under whatever name it is reached. Raises BadInput."""
    if kept := what_is_kept(folder, path):
        raise _refused(path, kept, field)


def what_is_kept(folder: StudioFolder, path: Path) -> str:
    """What a file is to the studio, through links too, empty for what can be made again or is none of its own.

    The names of the book, of what lies beside it and of a paper on record are taken even where nothing lies there.
    """
    here = path.resolve()
    if any(here == name for name in book_names(folder)):
        return "the studio's book"
    if (name := _name_within(folder, here)) and (kept := _kept_as(folder, name, here.is_file())):
        return kept
    if here.is_file() and here.stat().st_nlink > 1:
        return _linked(folder, here)
    return ""


def _kept_as(folder: StudioFolder, name: str, there: bool) -> str:
    """What the file of that name below the studio's folder is."""
    top, _, rest = name.partition("/")
    if name.startswith("papers/scans/"):
        return "a paper on file" if there else "the place of the papers on file"
    if top == "papers":
        filed = _filed(folder)
        # An electronic invoice lies beside its paper; whatever else lay there would look like a paper issued.
        return (
            "a paper of the book" if name in filed else "the place of issued papers" if _strange(name, filed) else ""
        )
    if there and (name.endswith(".toml") or (rest and top in _SETTINGS)):
        return f"the studio's own {name}"
    return ""


def _name_within(folder: StudioFolder, here: Path) -> str:
    """The name of a file below the studio's folder, one of whose folders may be a link to somewhere else."""
    if here.is_relative_to(folder.path.resolve()):
        return here.relative_to(folder.path.resolve()).as_posix()
    for name in ("papers/scans", "papers", *_SETTINGS):
        place = (folder.path / name).resolve()
        if here.is_relative_to(place):
            return f"{name}/{here.relative_to(place).as_posix()}"
    return ""


def _linked(folder: StudioFolder, here: Path) -> str:
    """What of the studio is the same file under another name (a hard link, or a settings file that is a link)."""
    places = [name for name in book_names(folder) if name.is_file()]
    if any(here.samefile(place) for place in places):
        return "the studio's book"
    for top in ("papers", *_SETTINGS):
        for place in (folder.path / top).rglob("*"):
            if place.is_file() and here.samefile(place):
                name = place.relative_to(folder.path).as_posix()
                return _kept_as(folder, name, True)
    for place in folder.path.glob("*.toml"):
        if here.samefile(place):
            return f"the studio's own {place.name}"
    return ""


def book_names(folder: StudioFolder) -> list[Path]:
    """The book and all that may lie beside it; none where the records are on a server."""
    place = folder.book_place
    text = str(place)
    if "://" in text:
        if not text.startswith("sqlite"):
            return []
        text = text.partition("://")[2].removeprefix("/").partition("?")[0]
    book = Path(text)
    return [at.with_name(f"{at.name}{end}") for at in {book.absolute(), book.resolve()} for end in ("", *BESIDE_BOOK)]


def _filed(folder: StudioFolder) -> set[str]:
    """Names below the studio's folder of the files that the book has on record."""
    from bizkit.store.filed import filed_names

    with folder.book.read() as work:
        return filed_names(work)


def _strange(name: str, filed: Collection[str]) -> bool:
    from bizkit.services.studio.papers_folder import strangers

    return bool(strangers([name.removeprefix("papers/")], filed))


def _refused(path: Path, got: str, field: str) -> BadInput:
    return BadInput(
        wanted="a name of its own", got=got, field=field, where=str(path), hint="It would be written over"
    )


def _kind(head: bytes) -> str:
    """What kind of file begins so."""
    for begins, kind in _BEGINS:
        if head.removeprefix(b"\xef\xbb\xbf").startswith(begins):
            return kind
    return "a file that is no text" if b"\0" in head or b"\xff\xd8" in head[:2] else "text"
