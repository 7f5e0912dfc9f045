"""Where the book of a studio is worked in, so that two copies of it never draw the same number.

Only a book in a file can be copied: one on a server is one book, whoever works in it. A practice studio issues
nothing for real, so it may be copied as one likes. Everywhere else the book knows its places (`store/places`), and
each machine remembers the newest papers of the book (`this_machine`). A number is drawn without a question where the
book lacks none of those and its place is known, or it moved here: its place before, on this machine, holds it no
more.
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BizkitError, RuleBroken
from bizkit.services.studio.studio_folder import BOOK, StudioFolder
from bizkit.services.studio.this_machine import (
    Numbered,
    Remembered,
    host_name,
    machine_mark,
    remember,
    remembered,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.places import Place

#: Between what is so and what to do, where it was refused.
_NOTHING = ". Nothing was issued: "

#: What is best wherever there are two copies.
_NEWEST = "put the newest copy of the book back, or issue where it is"

#: In containers the user's folder begins anew each time.
_IN_A_CONTAINER = ("/.dockerenv", "/run/.containerenv")


@dataclass(frozen=True, slots=True)
class Standing:
    """How a book stands where it is opened.

    here: this place. known: every place on record, the newest last, as of the last act there. lacks: the papers that
    this machine remembers and the book has not; used_again: those of their numbers that it gave to others. elsewhere:
    the place that has the book, where this is not it; None where nothing is in the way.
    """

    book: str
    here: Place
    known: list[Place]
    memory: Remembered | None
    lacks: list[Numbered]
    used_again: list[str]
    elsewhere: Place | None

    @property
    def is_settled(self) -> bool:
        """Whether numbers are drawn here without a question."""
        return not self.lacks and self.elsewhere is None


def standing(folder: StudioFolder, work: Connection) -> Standing | None:
    """How the book stands here; None for one on a server and in a practice studio, where it does not matter."""
    from bizkit.store.places import book_name, has_another, has_paper, last_issued_at, places

    if folder.book.file is None or folder.studio.practice:
        return None
    writes = bool(work.get_execution_options().get("bizkit_writes"))
    here, known, book = _here(folder.book.file, writes), places(work), book_name(work)
    if known:
        known[-1] = replace(known[-1], at=max(known[-1].at, last_issued_at(work)))
    memory = remembered(book) if book else None
    lacks = [one for one in (memory.papers if memory else ()) if not has_paper(work, *one)]
    again = [number for number, file, _ in lacks if has_another(work, number, file)]
    return Standing(book, here, known, memory, lacks, again, _elsewhere(book, here, known, memory))


def _here(file: Path, writes: bool) -> Place:
    from bizkit.store.places import Place

    return Place(machine_mark(make=writes), host_name(), _as_text(str(file)), str(os.stat(file).st_ino))


def _elsewhere(book: str, here: Place, known: list[Place], memory: Remembered | None) -> Place | None:
    """The place that has the book, where `here` is neither known nor where it moved to."""
    from bizkit.store.places import Place

    if not known:
        return None
    if not here.machine:  # nothing is kept here: the very file at the very path
        same = any((one.file, one.inode) == (here.file, here.inode) for one in known)
        return None if same else known[-1]
    mine = [one for one in known if one.machine == here.machine]
    files = {one.file for one in mine}
    if here.file in files and (memory is None or memory.file in files):
        return None
    if not mine:
        return known[-1]
    before = {mine[-1].file: mine[-1]}
    if memory is not None and memory.file not in before:
        before[memory.file] = Place(here.machine, here.host, memory.file, "", "", memory.at)
    return next((place for file, place in before.items() if _holds(file, here.file, book)), None)


def _holds(file: str, here: str, book: str) -> bool:
    """Whether another file than the one at `here` is a copy of the book; also where that cannot be told."""
    from bizkit.store.places import name_in

    try:
        if os.path.samefile(file, here):
            return False
        return name_in(Path(file)) == book
    except (FileNotFoundError, NotADirectoryError):
        return False
    except (OSError, ValueError, KeyError, TypeError, sqlite3.Error):
        return True


def hold_the_place(folder: StudioFolder, work: Connection, *, finding: bool = False) -> None:
    """Refuse to issue anything from a copy of the book; else note in a unit of work that writes that it is here.

    finding: what is lost is being put down, so the book may lack it. Raises RuleBroken that says where the book is
    and what to do.
    """
    found = standing(folder, work)
    if found is None:
        return
    if found.lacks and not finding:
        raise RuleBroken(_NOTHING.join(_lacking(found)))
    if found.elsewhere is not None:
        raise RuleBroken(_NOTHING.join(_living_elsewhere(found)))
    if work.get_execution_options().get("bizkit_writes"):
        _keep(folder, work, found)


def begin_here(folder: StudioFolder) -> None:
    """Note in a book just made where it is, so that a copy of the empty studio is known as one."""
    with folder.book.work() as work:
        hold_the_place(folder, work)


def _keep(folder: StudioFolder, work: Connection, found: Standing) -> None:
    """Note this place where the book was last in another one, and remember its papers once that is committed."""
    from bizkit.store.book import after_commit
    from bizkit.store.places import take_place

    here, last = found.here, found.known[-1] if found.known else None
    if last is None or (last.machine, last.file) != (here.machine, here.file):
        take_place(work, folder.stamp(date.today()), here)
    if here.machine and not found.lacks:
        after_commit(work, lambda: _remember(folder, here.file))


def _remember(folder: StudioFolder, file: str) -> None:
    from bizkit.store.places import book_name, newest_numbered

    with suppress(BizkitError, OSError):  # what is issued is issued
        with folder.book.read() as work:
            book, papers = book_name(work), newest_numbered(work)
        if book:
            remember(book, papers, file, folder.draft_stamp(date.today()).at)


def place_of_book(folder: StudioFolder) -> WhereRow:
    """Where the book is worked in and whether numbers are drawn here, for people to look at."""
    with folder.book.read() as work:
        found = standing(folder, work)
        if found is None:
            return _anywhere(folder)
        why = ("", "")
        if not found.is_settled:
            why = _lacking(found) if found.lacks else _living_elsewhere(found)
        return _shown(found, ": ".join(filter(None, why)), taken_over=False)


def take_over(folder: StudioFolder, reason: str) -> WhereRow:
    """Say that this is the book that goes on: from now on numbers are drawn here. Kept as an event with the reason.

    What this machine remembers of another copy is told once more and kept with it. Nothing is written where nothing
    stands in the way.
    """
    from bizkit.store.book import after_commit
    from bizkit.store.places import TAKEN_OVER, take_place

    with folder.book.work() as work:
        found = standing(folder, work)
        if found is None:
            return _anywhere(folder)
        if found.is_settled and found.known:
            return _shown(found, "", taken_over=False)
        lost = [number for number, _, _ in found.lacks]
        more = {"lost": lost} if lost else {}
        take_place(work, folder.draft_stamp(date.today()), found.here, verb=TAKEN_OVER, reason=reason, **more)
        if found.here.machine:
            after_commit(work, lambda: _remember(folder, found.here.file))
        return _shown(found, "", taken_over=True)


def _anywhere(folder: StudioFolder) -> WhereRow:
    name = folder.book.name if folder.book.file is None else folder_of(str(folder.book.file))
    return {"here": name, "settled": True, "taken_over": False, "why_not": "", "lost": [], "places": []}


def _shown(found: Standing, why_not: str, *, taken_over: bool) -> WhereRow:
    return {
        "here": folder_of(found.here.file),
        "settled": not why_not,
        "taken_over": taken_over,
        "why_not": why_not,
        "lost": [number for number, _, _ in found.lacks],
        "places": [
            {"folder": folder_of(one.file), "machine": one.host, "by": one.by, "on": one.at[:10]}
            for one in found.known
        ],
    }


def folder_of(file: str) -> str:
    """The folder of a book for people: without the name that every book has."""
    name = file.replace("\\", "/").rpartition("/")[2]
    return file[: -len(name) - 1] or file if name == BOOK else file


def _revision(file: str) -> int:
    """The revision of a paper that may be issued again, by its file; 1 for all others."""
    said = re.search(r"-r(\d+)\.pdf$", file)
    return int(said[1]) if said else 1


def _lacking(found: Standing) -> tuple[str, str]:
    """What to say of a book that lacks papers that this machine remembers, and what to do."""
    memory = found.memory
    assert memory is not None
    number, file, _ = found.lacks[-1]
    more = f", and {', '.join(one[0] for one in found.lacks[:-1])}," if len(found.lacks) > 1 else ""
    where = "here" if memory.file == found.here.file else f"in {folder_of(memory.file)}"
    used = f"{number}{more} was issued {where}, by {memory.at[:10]}"
    if number in found.used_again:
        return (
            f"{used}; the book here has another paper of that number: two copies have issued it, and go on apart",
            "issue in one of them only; to go on with this one, say so with bizkit here --reason WHY. Then "
            "whoever got the paper that is in the other copy needs a new one from here, which says that it takes "
            "its place",
        )
    paper = f"put that paper into papers/ as {Path(file).name}, " if file else ""
    # A number in the book is used up; of a further revision only its own command tells what it said.
    record = "" if _revision(file) > 1 else f", or record the number as used with bizkit papers lost {number}"
    return (
        f"{used}; it is not in the book here: this is an older copy of the book, or another one, so its next number "
        "is used up",
        f"{_NEWEST}. Where that is lost: {paper}repeat its command with the same --on{record}; where that cannot be "
        "done, bizkit here --reason WHY goes on all the same",
    )


def _living_elsewhere(found: Standing) -> tuple[str, str]:
    """What to say where the book was last worked in at another place, and what to do."""
    place = found.elsewhere
    assert place is not None
    by = f" by {place.by}" if place.by else ""
    same = bool(place.machine) and place.machine == found.here.machine
    machine = "this machine" if same else place.host or "another machine"
    still = ", where it still lies" if same else ""
    hint = ""
    if any(os.path.exists(one) for one in _IN_A_CONTAINER):
        hint = ". In a container, BIZKIT_MACHINE gives the machine a name that stays"
    return (
        f"this book was last used{by} in {folder_of(place.file)} on {machine} on {place.at[:10]}{still}",
        f"if it was moved to {folder_of(found.here.file)}, or is one book that both places share, say so once with "
        "bizkit here --reason WHY; if this is a copy, issue in one of the two only, as both would give the same "
        f"numbers{hint}",
    )


def _as_text(path: str) -> str:
    """A path as text that every book can keep, whatever bytes it is made of."""
    return os.fsencode(path).decode("utf-8", "backslashreplace") if os.name == "posix" else path


class PlaceRow(TypedDict):
    """A place that a book was worked in, and by whom; the last day of the last one, the first of the others."""

    folder: str
    machine: str
    by: str
    on: str


class WhereRow(TypedDict):
    """Where a book is: whether numbers are drawn here, why not, and the numbers that this copy lacks."""

    here: str
    settled: bool
    taken_over: bool
    why_not: str
    lost: list[str]
    places: list[PlaceRow]
