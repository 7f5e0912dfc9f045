"""Files that go with somebody who is erased, and files that only name them, which are for a person to look at.

A file goes only when it holds this one person's paper and nothing else: a scan on record that no other record needs,
a copy of it with the very same bytes, a form that bizkit drew for them. Whatever else names them - a bank file, a
list of the crew, a page signed by two - may hold somebody else: it is listed, never touched.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bizkit.domain.names import Spelling
from bizkit.services.rights.words_in_files import words_in
from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.out_file import book_names
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.events import Event

#: Folders in the order in which people look into them.
_FIRST: Final = ("clients", "briefs", "jobs", "forms", "incoming", "templates")
#: How bizkit marks the PDFs that it draws.
_OUR_PDF: Final = b"/Creator (bizkit)"


def in_use(work: Connection, without: Collection[int] = ()) -> set[str]:
    """SHA-256 of the scans that a record needs: papers other than those numbered in `without`, receipts, evidence."""
    from bizkit.services.rights.holdings import VOID
    from bizkit.store.evidence import all_evidence
    from bizkit.store.jobs import holdings
    from bizkit.store.overheads import overheads
    from bizkit.store.spent import costs

    found = {row.paper for row in holdings(work) if row.id not in without and row.status != VOID}
    found |= {row.receipt for row in costs(work)} | {row.receipt for row in overheads(work)}
    return (found | {row.paper for row in all_evidence(work)}) - {""}


def scans_and_copies(folder: StudioFolder, work: Connection, digests: Collection[str]) -> list[Path]:
    """Where files with these SHA-256 lie: as filed, and anywhere else in the studio folder."""
    from bizkit.services.studio.fingerprint import digest_of
    from bizkit.store.filed import all_filed

    if not digests:
        return []
    filed = [one for one in all_filed(work) if one.sha256 in digests]
    found = {folder.path / one.file for one in filed}
    sizes = {one.bytes for one in filed}
    for path in files_in(folder):
        if path not in found and path.stat().st_size in sizes and digest_of(path) in digests:
            found.add(path)
    return sorted(path for path in found if path.is_file())


def half_written(folder: StudioFolder) -> list[Path]:
    """What stopped commands left of scans. Ask only while the write turn is held: no scan is being written then."""
    return sorted((folder.papers / "scans").glob(f"{HALF_WRITTEN}*"))


def forms_for(folder: StudioFolder, work: Connection, name: str) -> list[Path]:
    """Forms that bizkit drew about somebody and nobody else, as their file names say."""
    from bizkit.services.rights.form_kinds import FORMS
    from bizkit.services.rights.forms import form_name
    from bizkit.store.forms import form_numbers

    numbers = ("", *form_numbers(work))
    spellings = {name, _nfd(name), _nfc(name)}
    wanted = {form_name(kind, spelled, number) for kind in FORMS for spelled in spellings for number in numbers}
    names = {_nfc(one) for one in wanted}
    return [
        path
        for path in sorted((folder.path / "forms").glob("*.pdf"))
        if _nfc(path.name) in names and path.is_file() and _OUR_PDF in path.read_bytes()
    ]


@dataclass(frozen=True, slots=True)
class Search:
    """Files with a name in their own or in their words. closed: kind of file -> how many nobody could look into."""

    naming: tuple[Path, ...]
    closed: Mapping[str, int]


def search(folder: StudioFolder, name: str, known: Collection[Path] = ()) -> Search:
    """Search the files of the studio, the book apart, for a name, packed ones too.

    known: files of which the book says what they hold, so that they need no looking into.
    """
    wanted, closed = Spelling(name), Counter[str]()
    loose = re.compile(r"[\W_]*".join(re.escape(word) for word in _nfc(name).casefold().split()))

    def names(path: Path) -> bool:
        found = bool(loose.search(_nfc(path.stem).casefold()))
        inside: Counter[str] = Counter()
        try:
            with path.open("rb") as file:
                for words in words_in(file, path.name, inside):
                    if found := found or wanted.stands_in(words):
                        break
        except OSError:
            inside["damaged or unreadable file"] += 1
        if not found and path not in known:
            closed.update(inside)
        return found

    return Search(
        tuple([path for path in in_order(folder, files_in(folder, closed)) if names(path)]),
        {kind: closed[kind] for kind in sorted(+closed)},
    )


def files_in(folder: StudioFolder, closed: Counter[str] | None = None) -> Iterator[Path]:
    """Every file in the studio folder but the book itself and what lies in hidden folders; links are not followed.

    closed: counts the hidden folders and the links.
    """
    book = set(book_names(folder))
    for here, folders, names in os.walk(folder.path):
        if closed is not None:
            closed["hidden folder"] += sum(one.startswith(".") for one in folders)
            closed["link to another place"] += sum((Path(here) / one).is_symlink() for one in (*folders, *names))
        folders[:] = sorted(one for one in folders if not one.startswith("."))
        for name in sorted(names):
            path = Path(here) / name
            if path.is_file() and not path.is_symlink() and path not in book:
                yield path


def in_order(folder: StudioFolder, paths: Iterable[Path]) -> list[Path]:
    """Files at the top first, then those in the folders that people write in, then the rest."""

    def place(path: Path) -> tuple[int, str]:
        parts = path.relative_to(folder.path).parts
        order = 0 if len(parts) == 1 else 1 + _FIRST.index(parts[0]) if parts[0] in _FIRST else 1 + len(_FIRST)
        return order, "/".join(parts)

    return sorted(paths, key=place)


def _nfc(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def _nfd(text: str) -> str:
    return unicodedata.normalize("NFD", text)


def of_events(events: Collection[Event]) -> set[str]:
    """SHA-256 of the files that these events of erasing speak of."""
    return {digest for event in events for digest in event.data["files"]}
