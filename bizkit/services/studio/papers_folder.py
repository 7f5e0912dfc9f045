"""The folder papers/ held against the book: what in it the book does not know, and what of the book it lacks.

An older copy of the book beside newer papers would draw a number again that a client has on paper already. So nothing
is issued while the folder shows papers of a number series that the book does not know, and no paper ever takes the
place of another. Only names are looked at, which costs one listing.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Collection, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bizkit.domain.errors import RuleBroken
from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.paper_names import REVISED, file_name, pdf_name
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

#: Letters that carry a running number of their own: receipts.
_RECEIPT: Final = r"R-\d{4}-\d{4,}\.pdf"
#: Letters named after what they are about.
_LETTER: Final = re.compile(r"(PF|statement|reminder)-.+\.pdf")

#: The folders in papers/ that are bizkit's own: signed scans, and a file for each number of a form that is used.
SCANS: Final = "scans/"
TRACES: Final = "forms/"

#: What to do when the folder is ahead of the book.
CURE: Final = (
    "put the newest copy of the book back; where there is none, repeat the commands that made those papers, with the "
    "same --on, or move papers that were sent to nobody out of papers/"
)


def names_in(folder: StudioFolder) -> list[str]:
    """Names of what lies in papers/, in its folders as `scans/NAME`, sorted; any other folder as `NAME/`."""
    found = []
    for inside in ("", SCANS, TRACES):
        try:
            with os.scandir(folder.papers / inside) as entries:
                found += [f"{inside}{entry.name}{'/' if entry.is_dir() else ''}" for entry in entries]
        except (FileNotFoundError, NotADirectoryError):
            continue
    return sorted(name for name in found if name not in (SCANS, TRACES))


def ahead(folder: StudioFolder, work: Connection, names: Collection[str] | None = None) -> list[str]:
    """Names of papers in papers/ that carry a number of one of the studio's series and are not in the book."""
    from bizkit.store.filed import filed_names
    from bizkit.store.forms import form_numbers, form_series
    from bizkit.store.issued import series_in_use

    numbers = folder.studio.numbers
    series = {
        ("invoice", numbers.invoice),
        ("quote", numbers.quote),
        ("credit_note", numbers.credit_note),
        ("licence_certificate", numbers.licence),
        ("delivery_note", numbers.delivery_note),
        *series_in_use(work),
    }
    names_of = [paper_names(kind, one) for kind, one in series]
    names_of += [TRACES + paper_names("form", one, ".txt") for one in {numbers.form, *form_series(work)}]
    numbered = re.compile("|".join([_RECEIPT, *sorted(names_of)]))
    shown = [name for name in (names_in(folder) if names is None else names) if numbered.fullmatch(name)]
    known = filed_names(work) | form_traces(form_numbers(work)) if shown else set()
    return [name for name in shown if f"papers/{name}" not in known]


def form_traces(numbers: Iterable[str]) -> set[str]:
    """Paths in the studio folder of the files that show which numbers of forms are used.

    A form may be written anywhere, its trace lies in papers/: an older copy of the book is known by it too.
    """
    return {f"papers/{TRACES}{file_name(number)}.txt" for number in numbers}


def unknown_letters(names: Collection[str], known: Collection[str]) -> list[str]:
    """Files among `names` that are called as letters are and are not in the book. known: paths of what was filed."""
    return [name for name in names if _LETTER.fullmatch(name) and f"papers/{name}" not in known]


def admit(folder: StudioFolder, work: Connection, path: Path, make: Callable[[], bytes]) -> bytes:
    """The bytes of a paper about to be issued, made by `make`, when it may be written to `path`.

    A file with these very bytes may lie there: the paper was made before, by a newer copy of the book. Raises
    RuleBroken otherwise, while the folder shows papers that the book does not know, and where the book may be a copy
    (`whereabouts`).
    """
    from bizkit.services.studio.whereabouts import hold_the_place

    taken = os.path.lexists(path)
    if not taken:
        refuse_ahead(folder, work)
        hold_the_place(folder, work)
    content = make()
    if taken and (not path.is_file() or path.read_bytes() != content):
        name = path.relative_to(folder.path).as_posix()
        raise RuleBroken(
            f"{name} lies there already and is another paper than this one: a number is not used twice. Nothing was "
            f"issued: {CURE}"
        )
    return content


def refuse_ahead(folder: StudioFolder, work: Connection) -> None:
    """Refuse to draw a number while papers/ shows papers that the book does not know. Raises RuleBroken."""
    if unknown := ahead(folder, work):
        raise RuleBroken(
            f"papers/{unknown[-1]} is not in the book{_more(len(unknown) - 1)}: this is an older copy of the book, "
            f"or another one, so its next number may be used up. Nothing was issued: {CURE}"
        )


def refuse_unwritten(folder: StudioFolder, work: Connection, *, kind: str, about: str) -> None:
    """Refuse to go on while a paper of this kind about something, of the last act, has no file: issued, not written.

    kind: of an issued document, then `about` is its job; or of a letter. Raises RuleBroken with the command that
    writes it. So the repeat of a command that was stopped does not do it a second time.
    """
    from bizkit.store.issued import issued_last
    from bizkit.store.letters import newest_letter

    papers = [
        (number, pdf_name({"kind": kind, "number": number, "revision": revision}), day)
        for number, revision, day in issued_last(work, kind=kind, key=about)
    ]
    letter = newest_letter(work, kind=kind, about=about)
    if letter is not None:
        papers.append((letter[0], f"{letter[0]}.pdf", letter[1]))
    missing = [one for one in papers if not os.path.lexists(folder.papers / one[1])]
    if missing:
        name, file, day = missing[0]
        more = "".join(f" and papers/{one[1]}" for one in missing[1:])
        names = " ".join(one[0] for one in missing)
        raise RuleBroken(
            f"{name} was issued on {day}, and papers/{file}{more} is missing: its command was stopped, or the file "
            f"moved. Write it with bizkit papers rebuild {names}; to issue another one, do that first"
        )


def strangers(names: Collection[str], known: Collection[str]) -> list[str]:
    """The files among `names` that belong to no paper of the book, those being written left out.

    names: as of `names_in`. known: paths in the studio folder of what belongs there. The electronic forms of a paper
    lie beside it, under its name with another ending.
    """
    stems = {one.removesuffix(".pdf") for one in known if one.endswith(".pdf")}

    def belongs(name: str) -> bool:
        path = f"papers/{name}"
        return path in known or any(path[:dot] in stems for dot in range(len(path)) if path[dot] == ".")

    return [name for name in names if not Path(name).name.startswith(HALF_WRITTEN) and not belongs(name)]


def paper_names(kind: str, series: str, ending: str = ".pdf") -> str:
    """A regular expression for the file names of a series: `GL-{year}-{number:04}` or `GL-2027-{number:04}`."""
    parts = re.split(r"(\{year\}|\{number(?::0\d+)?\})", series)
    signs = {"y": r"\d{4}", "n": r"\d+"}
    text = "".join(signs[part[1]] if part.startswith("{") else re.escape(file_name(part)) for part in parts)
    return text + (r"-r\d+" if kind in REVISED else "") + re.escape(ending)


def _more(count: int) -> str:
    return f", nor {'is' if count == 1 else 'are'} {count} more" if count else ""
