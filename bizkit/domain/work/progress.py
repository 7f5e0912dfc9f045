"""Where a deliverable stands: versions sent, rounds used, when it is due, whether it is late."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Literal

from bizkit.domain.dates import DayOff, add_working_days


def due_date(due_on: date | None, due_days: int | None, last_shoot_day: date | None, day_off: DayOff) -> date | None:
    """The day a deliverable is promised for: fixed, or so many working days after the last shoot day.

    None when neither is known yet (no promise, or the shoot days are still open).

    >>> from bizkit.domain.dates import weekend
    >>> due_date(None, 2, date(2027, 6, 4), weekend)
    datetime.date(2027, 6, 8)
    """
    if due_on is not None:
        return due_on
    if due_days is None or last_shoot_day is None:
        return None
    return add_working_days(last_shoot_day, due_days, day_off)


#: Where a deliverable stands on a day.
DeliverableState = Literal["not sent", "with the client", "notes to answer", "approved"]


@dataclass(frozen=True, slots=True)
class Progress:
    """state: "not sent", "with the client" (newest version unanswered), "notes to answer", or "approved".

    version: the newest sent, 0 for none. rounds_used of rounds_included; late: days past due while not approved.
    """

    state: DeliverableState
    version: int
    rounds_used: int
    rounds_included: int
    due: date | None
    days_late: int

    @property
    def rounds_extra(self) -> int:
        """Rounds beyond those included."""
        return max(0, self.rounds_used - self.rounds_included)


def progress(
    *,
    versions: int,
    noted_versions: Collection[int],
    rounds_used: int,
    rounds_included: int,
    approved_on: date | None,
    due: date | None,
    first_sent_on: date | None,
    on: date,
) -> Progress:
    """Where a deliverable stands on the day `on`.

    noted_versions: those that were the newest when notes came. rounds_used: rounds that count. A deliverable is late
    while nothing was sent and `due` has passed (the due day itself is still in time); what was first sent after `due`
    stays late by that many days until approved.
    """
    state: DeliverableState
    if approved_on is not None:
        state = "approved"
    elif versions == 0:
        state = "not sent"
    elif versions in noted_versions:
        state = "notes to answer"
    else:
        state = "with the client"
    late = 0
    if due is not None and approved_on is None:
        late = max(0, ((first_sent_on or on) - due).days)
    return Progress(state, versions, rounds_used, rounds_included, due, late)
