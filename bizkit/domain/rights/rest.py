"""A licence at rest: nothing is allowed while an invoice stays unpaid after the reminder that suspends it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.rights.term import Term


@dataclass(frozen=True, slots=True)
class Rest:
    """The days on which a licence rests for one invoice: from `since` (inclusive) to the day before `until`.

    until: the day from which nothing is left of the invoice; None while something is.
    """

    since: date
    until: date | None
    invoice: str

    def __contains__(self, day: date) -> bool:
        return self.since <= day and (self.until is None or day < self.until)

    def left_of(self, term: Term) -> list[Term]:
        """The days of a term before and after it: none, one span or two."""
        before = Term(term.start, min(term.end, self.since - ONE_DAY)) if term.start < self.since else None
        after = Term(max(term.start, self.until), term.end) if self.until and self.until <= term.end else None
        return [span for span in (before, after) if span]

    @property
    def text(self) -> str:
        """Why, in one line."""
        return f"the licence rests since {self.since}: {self.invoice} is unpaid after the last reminder"
