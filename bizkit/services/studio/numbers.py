"""Series of numbers: which one a document belongs to, and that it stays in order of date."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken
from bizkit.domain.numbering import format_number

if TYPE_CHECKING:
    from sqlalchemy import Connection


def series_of(pattern: str, year: int) -> str:
    """The series a pattern gives in a year: `GL-{year}-{number:04}` in 2027 is `GL-2027-{number:04}`.

    A pattern without the year is one series for ever.
    """
    return pattern.replace("{year}", str(year))


def draw(work: Connection, pattern: str, on: date, *, practice: bool = False) -> tuple[str, str]:
    """The series and the next number of it, for a document dated `on`, in the caller's transaction.

    Writers take turns, so the number is the caller's if the transaction is committed, and nobody's if it is not.
    Raises RuleBroken for a date before the last one of the series: a later number carries no earlier date. A paper
    dated ahead counts here by the day it was written down, so that none can lock its series until its date has come
    (the law asks for a sequence, see `domain.numbering`, and not for dates in order). practice: there, dates count.
    """
    from bizkit.store.issued import count_in_series, latest_of_series

    series = series_of(pattern, on.year)
    number, day = latest_of_series(work, series, ahead_counts=practice) or ("", "")
    if on.isoformat() < day:
        raise RuleBroken(
            f"{number} is dated {day}: the next number of the series cannot be dated {on}; give {day} or a later day "
            "with --on"
        )
    return series, format_number(pattern, on.year, count_in_series(work, series) + 1)
