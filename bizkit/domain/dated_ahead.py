"""Dates after today: what is numbered, signed, received, paid, granted or sent is dated ahead only for a reason.

A day lies ahead when it has begun nowhere on earth, so that colleagues in two time zones never wait for each other:
the first place to begin a day is 14 hours before UTC (Line Islands, IANA time zone Pacific/Kiritimati). Days that are
rightly to come - shoot days, holds, due dates, terms, drafts - are none of this.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Final

from bizkit.domain.errors import RuleBroken

#: Most days ahead that a reason can bring: a quarter, longer than any paper is made out ahead of its date. A slip of
#: the year or the century is refused whatever the reason, since some commands ask for a reason of their own.
MOST_DAYS_AHEAD: Final = 92

_FIRST_ZONE: Final = timedelta(hours=14)


#: Furthest that a shoot day moves without a reason: longer is most often a slip of the year.
MOST_DAYS_MOVED: Final = 366


def check_new_date(to: date, left: date | None, on: date, reason: str, *, field: str) -> None:
    """Refuse a date to move a day to that lies before the notice `on`, or far off, unless a reason says it is meant.

    left: the date it stood on, None: open. Raises RuleBroken.
    """
    if reason.strip():
        return
    if to < on:
        raise RuleBroken(
            f"{field} {to} lies before {on}: give the day of the notice with --on, or say why with --reason"
        )
    if to > max(on, left or on) + timedelta(days=MOST_DAYS_MOVED):
        raise RuleBroken(f"{field} {to} is more than a year off: if it is meant, say why with --reason")


def check_not_before(day: date, on: date, *, field: str, why: str) -> None:
    """Refuse to write something down on a day before it was. `why` is the rule of the trade. Raises RuleBroken.

    >>> check_not_before(date(2027, 5, 12), date(2027, 5, 12), field="--signed", why="it is filed once it is signed")
    """
    if day > on:
        raise RuleBroken(
            f"{field} {day} is after {on}, the day this counts for: {why}. Put the date right, or give a later day "
            "with --on"
        )


def begun_somewhere(now: datetime) -> date:
    """The last day that has begun anywhere on earth at the moment `now`, which is in UTC.

    >>> begun_somewhere(datetime(2026, 11, 26, 9, 59)), begun_somewhere(datetime(2026, 11, 26, 10, 0))
    (datetime.date(2026, 11, 26), datetime.date(2026, 11, 27))
    """
    return (now + _FIRST_ZONE).date()


def check_ahead(day: date, begun: date, reason: str, *, field: str) -> bool:
    """Whether `day` lies after `begun`, the last day that has begun. Raises RuleBroken where no reason allows it.

    >>> check_ahead(date(2026, 12, 4), date(2026, 11, 26), "the client's new budget", field="--on")
    True
    >>> check_ahead(date(2026, 11, 26), date(2026, 11, 26), "", field="--on")
    False
    """
    if day <= begun:
        return False
    last = begun + timedelta(days=MOST_DAYS_AHEAD)
    if day > last:
        raise RuleBroken(
            f"{field} {day} is after today: no reason carries further than {last}. To try things out on any date, "
            "make a practice studio: bizkit init FOLDER --practice"
        )
    if not reason.strip():
        raise RuleBroken(f"{field} {day} is after today: if it is meant, say why with --reason")
    return True
