"""Term: calendar days from a first to a last one, both included, or without an end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any, Final

from bizkit.domain.dates import ONE_DAY, iso_date, term_end
from bizkit.domain.errors import BadInput

#: The last day of a term without an end. No agreement outlives the calendar.
OPEN_END: Final = date.max


@dataclass(frozen=True, slots=True, order=True)
class Term:
    """Days `start` to `end`, both included. Raises BadInput when `end` is before `start`.

    >>> Term.months_from(date(2026, 7, 1), 12).text
    '2026-07-01..2027-06-30'
    >>> Term(date(2026, 7, 1)).text
    '2026-07-01..'
    >>> Term(date(2026, 7, 1), date(2026, 6, 30))
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: term: wanted an end on or after 2026-07-01, got 2026-06-30
    """

    start: date
    end: date = OPEN_END

    def __post_init__(self) -> None:
        if self.end < self.start:
            raise BadInput(wanted=f"an end on or after {self.start}", got=self.end, field="term")

    @classmethod
    def months_from(cls, start: date, months: int) -> Term:
        """`months` months by the corresponding date (`dates.term_end`)."""
        return cls(start, term_end(start, months))

    @property
    def open(self) -> bool:
        """Whether it has no end."""
        return self.end == OPEN_END

    @property
    def text(self) -> str:
        """`first..last`, nothing after the dots when open."""
        return f"{self.start}.." if self.open else f"{self.start}..{self.end}"

    def __contains__(self, day: date) -> bool:
        return self.start <= day <= self.end

    def meet(self, other: Term) -> Term | None:
        """The days of both; None when there are none."""
        start, end = max(self.start, other.start), min(self.end, other.end)
        return Term(start, end) if start <= end else None

    def data(self) -> dict[str, Any]:
        """As JSON-ready data; `ends` is empty when open."""
        return {"starts": self.start.isoformat(), "ends": "" if self.open else self.end.isoformat()}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Term:
        """From `data()`."""
        return cls(iso_date(data["starts"]), iso_date(data["ends"]) if data["ends"] else OPEN_END)


def months_in(term: Term) -> Fraction:
    """How many months of use a term is, for pricing; of an open one, to the end of the calendar.

    Each of the first 28 days of a month counts a twenty-eighth of it, the 29th to 31st nothing. So every term of n
    months by the corresponding date counts exactly n, wherever it starts, and the counts of two terms that join add
    up. Our own rule.

    >>> months_in(Term.months_from(date(2026, 1, 31), 1)), months_in(Term(date(2027, 2, 1), date(2027, 2, 7)))
    (Fraction(1, 1), Fraction(1, 4))
    """
    if term.open:
        return _months_before(OPEN_END) - _months_before(term.start)
    return _months_before(term.end + ONE_DAY) - _months_before(term.start)


def _months_before(day: date) -> Fraction:
    return Fraction((day.year * 12 + day.month - 1) * 28 + min(day.day - 1, 28), 28)
