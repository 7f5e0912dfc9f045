"""Licence: what was granted, with who, when, and whether it has taken effect."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Final, Literal

from bizkit.domain.dates import ONE_DAY, iso_date
from bizkit.domain.errors import RuleBroken
from bizkit.domain.rights.licence_request import LicenceRequest, clip_piece
from bizkit.domain.rights.rest import Rest
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import Term

#: States of a licence that allows nothing any more.
OVER: Final = ("ended", "ended early", "cancelled")

#: Where a licence stands on a day; at rest it binds as before, and allows nothing.
LicenceState = Literal["waiting", "coming", "live", "at rest", "ended", "ended early", "cancelled"]


@dataclass(frozen=True, slots=True)
class Licence:
    """A grant to a client.

    key: its id in the book. works: what it is a grant of, by ids that are the same in every grant of that work.
    licensee_sector: the client's line of business, empty when unknown. paid_on: day of full payment.
    ended_after: the last day (included) on which it allowed anything, where it was ended early, and `ended_because`.
    paid: the days on which its job was paid in full, where that is known from its invoices; not kept with it either.
    rests: when it rests for an unpaid invoice; read from the invoices, not kept with the licence.
    cancelled: whether it ended early because its job was cancelled; read from the job, not kept with it.
    inside: pieces that its works and clips bring: what clips were cut out of, and clips in that; said of the works.
    term: the days on which it allows anything; None when not in effect, or ended before it began. Where it runs from
    first use and none is recorded yet: from the grant (or payment) to its latest end. scope: what it allows then.
    """

    key: str
    licensee: str
    works: frozenset[str]
    request: LicenceRequest
    granted_on: date
    licensee_sector: str = ""
    paid_on: date | None = None
    first_used_on: date | None = None
    ended_after: date | None = None
    ended_because: str = ""
    rests: tuple[Rest, ...] = field(default=(), compare=False)
    paid: tuple[Term, ...] = field(default=(), compare=False)
    cancelled: bool = field(default=False, compare=False)
    inside: frozenset[str] = field(default=frozenset(), compare=False)
    term: Term | None = field(init=False, compare=False, repr=False)
    scope: Scope = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        term = self._term()
        object.__setattr__(self, "term", term)
        object.__setattr__(self, "scope", self.request.scope(term) if term else Scope())

    @property
    def pieces(self) -> frozenset[str]:
        """What it is a grant of, for comparing with others: its works, and each archive clip whatever the job.

        A clip is known by its title: one piece of footage in two jobs is one piece.
        """
        return self.works | {clip_piece(clip.title) for clip in self.request.clips}

    @property
    def reach(self) -> frozenset[str]:
        """All of which it lets anything be seen: its pieces, and what is inside them."""
        return self.pieces | self.inside

    def shares_with(self, other: Licence) -> bool:
        """Whether a piece of either is in the other. Two clips of one film that neither is of are two pieces."""
        return not (self.pieces.isdisjoint(other.reach) and self.reach.isdisjoint(other.pieces))

    def _term(self) -> Term | None:
        request = self.request
        if request.first_use_by is not None and self.first_used_on is None:
            term = request.widest_term(self.granted_on)
            if request.on_full_payment and term is not None:
                term = term.meet(Term(self.paid_on)) if self.paid_on is not None else None
        else:
            term = request.term(self.paid_on, self.first_used_on)
        if term is None or self.ended_after is None:
            return term
        return Term(term.start, min(term.end, self.ended_after)) if self.ended_after >= term.start else None

    @property
    def awaits_use(self) -> bool:
        """Whether its term counts from a first use that nobody has recorded yet."""
        return self.request.first_use_by is not None and self.first_used_on is None and self.ended_after is None

    def as_it_stands(self, on: date) -> LicenceRequest:
        """What its sentences say on that day: the days it came to, and no condition of payment that is fulfilled.

        As agreed where neither is known: while it waits for its first payment, or its first use.
        """
        term, request = self.term, self.request
        if term is None:
            return request
        if not self.awaits_use:
            until = None if term.open else term.end
            request = replace(request, starts=term.start, until=until, months=None, first_use_by=None)
        return request if self.unpaid(on) else replace(request, on_full_payment=False)

    def renewal(self, on: date) -> LicenceRequest:
        """The same use for the same length again, from the day after the last one, or from `on` where that is later.

        Its length is the one agreed, though it was ended early. Raises RuleBroken for a licence without an end, or
        one that never took effect.
        """
        if self.term is None or self.term.open:
            raise RuleBroken(f"{self.key} has no last day after which it could be renewed")
        starts = max(self.term.end + ONE_DAY, on)
        until = None if self.request.months else starts + ((self.request.until or self.term.end) - self.term.start)
        return replace(self.request, starts=starts, until=until, first_use_by=None)

    def stands_against_renewal(self, on: date) -> str:
        """Why it is not simply gone on with on that day: it was ended early, or is not paid in full; else empty."""
        if self.ended_after is not None:
            return f"was ended after {self.ended_after} ({self.ended_because or 'nobody said why'})"
        return "is not paid in full" if self.unpaid(min(on, self.term.end) if self.term else on) else ""

    def state(self, on: date) -> LicenceState:
        """ "waiting" (for payment), "coming", "live", "at rest", "ended", "ended early" or "cancelled" on that day.

        Every door asks here. At rest it binds as before, and allows nothing.
        """
        term = self.term
        if self.ended_after is not None and on > self.ended_after and (term is None or on > term.end):
            return "cancelled" if self.cancelled else "ended early"
        if term is None and self.unpaid(on):
            return "waiting"
        if term is None:
            return "ended" if self.ended_after is None else "coming"
        if on > term.end:
            return "ended"
        if self.unpaid(on):
            return "waiting"
        if self.rest(on) is not None:
            return "at rest"
        return "coming" if on < term.start else "live"

    def with_job_cancelled(self, notice: date) -> Licence:
        """What becomes of it where its job was cancelled by notice on that day.

        What is in force by then was given, and stays until somebody ends it. What waits for payment, or is still to
        come, ends with the day before.
        """
        if self.state(notice) not in ("waiting", "coming"):
            return self
        because = f"the job was cancelled on {notice}"
        return replace(self, ended_after=notice - ONE_DAY, ended_because=because, cancelled=True)

    def stopped(self, on: date) -> bool:
        """Whether it allows nothing on that day, though within its term: at rest, or waiting for full payment."""
        return self.unpaid(on) or self.rest(on) is not None

    def unpaid(self, on: date) -> bool:
        """Whether it waits for full payment on that day: it was not there yet, or money was taken back."""
        if not self.request.on_full_payment:
            return False
        return not any(on in term for term in self.paid) if self.paid else self.paid_on is None

    def paid_since(self, on: date) -> date | None:
        """The day of the full payment that counts on that day; None where none does."""
        if not self.paid:
            return self.paid_on
        return next((term.start for term in self.paid if on in term), None)

    def reopened(self, on: date) -> date | None:
        """The day since which it waits for full payment once more; None where it does not, or was never paid."""
        if not self.unpaid(on):
            return None
        return max((term.end + ONE_DAY for term in self.paid if term.end < on), default=None)

    def rest(self, on: date) -> Rest | None:
        """Why it rests on that day, the longest rest; None where it does not."""
        return next((rest for rest in self.rests if on in rest), None)

    def periods(self) -> list[Term]:
        """The days on which it allows anything, as far as is recorded: its term without what is unpaid or at rest."""
        spans = [self.term] if self.term else []
        if self.request.on_full_payment and self.paid:
            spans = [days for span in spans for paid in self.paid if (days := span.meet(paid))]
        for rest in self.rests:
            spans = [part for span in spans for part in rest.left_of(span)]
        return spans

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "key": self.key,
            "works": sorted(self.works),
            "request": self.request.data(self.licensee),
            "granted_on": self.granted_on.isoformat(),
            "licensee_sector": self.licensee_sector,
            "paid_on": _text(self.paid_on),
            "first_used_on": _text(self.first_used_on),
            "ended_after": _text(self.ended_after),
            "ended_because": self.ended_because,
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Licence:
        """From `data()`."""
        return cls(
            key=data["key"],
            licensee=data["request"]["licensee"],
            works=frozenset(data["works"]),
            request=LicenceRequest.from_data(data["request"]),
            granted_on=iso_date(data["granted_on"]),
            licensee_sector=data["licensee_sector"],
            paid_on=_day(data["paid_on"]),
            first_used_on=_day(data["first_used_on"]),
            ended_after=_day(data["ended_after"]),
            ended_because=data["ended_because"],
        )


def _text(day: date | None) -> str:
    return day.isoformat() if day is not None else ""


def _day(text: str) -> date | None:
    return iso_date(text) if text else None
