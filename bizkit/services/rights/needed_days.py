"""The days of a job on which a paper of the shoot is needed: they go with the days, wherever those are moved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import JobDay, PaperOnFile
    from bizkit.store.work_days import MoveRecord

#: Papers that are about being in the water: where no days are said, dry ones do not ask for them.
IN_WATER: Final = ("diver_medical",)


def needed_on(work: Connection, paper: PaperOnFile) -> list[date]:
    """The dated shoot days of its job that a paper is needed on, as they fall by now, in order.

    Where it names no days: all of them, for a paper about being in the water those in the water.
    """
    shoots, data = shoots_of(work, paper.job), paper.data
    if data["days"]:
        positions = data.get("positions") or _positions(work, paper.job, shoots, data["days"])
        return [date.fromisoformat(day.on) for day in shoots if day.position in positions]
    return [date.fromisoformat(day.on) for day in shoots if day.kind == "water" or paper.kind not in IN_WATER]


def shoots_of(work: Connection, job: str) -> list[JobDay]:
    """The dated days on which a camera runs, in order."""
    from bizkit.services.job.jobs import SHOOTS, days_by_date

    return [day for day in days_by_date(work, job) if day.kind in SHOOTS and day.on]


def _positions(work: Connection, job: str, shoots: Sequence[JobDay], dates: Collection[str]) -> set[int]:
    """Which days were meant by dates, in papers from before that was kept: those that fall on them, else those that
    did once."""
    from bizkit.store.ahead import kept
    from bizkit.store.work_days import moved_days

    found = {day.position for day in shoots if day.on in dates}
    left = set(dates) - {day.on for day in shoots}
    if not left:
        return found
    moves: dict[str, list[MoveRecord]] = kept(work, "moves by job", lambda: _by_job(moved_days(work)))
    return found | {move.position for move in moves.get(job, ()) if move.moved_from in left}


def _by_job(moves: Sequence[MoveRecord]) -> dict[str, list[MoveRecord]]:
    found: dict[str, list[MoveRecord]] = defaultdict(list)
    for move in moves:
        found[move.job].append(move)
    return found
