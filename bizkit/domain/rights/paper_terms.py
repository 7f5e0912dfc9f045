"""What a paper says it allows: media, countries and how long - in one part, some of which may be unsaid.

A printed form says it before anybody has signed; so a term may begin with the day of signature. What neither the form
nor a person said is never filled in: a paper holds what it says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory

#: The parts, in the order they are said: name -> what it is.
PARTS: Final[dict[str, str]] = {
    "media": "the media that the paper allows",
    "countries": "the countries that the paper allows",
    "length": "how long the paper allows it",
}


@dataclass(frozen=True, slots=True)
class PaperTerms:
    """What one paper says.

    media: leaves, empty where unsaid. countries: None where unsaid. starts: first day, None for the day of
    signature. Of until (last day, inclusive), months and without_end at most one says the length.

    Raises BadInput for two lengths, months out of 1..1200, or an end before the start.
    """

    media: frozenset[str] = frozenset()
    countries: Territory | None = None
    starts: date | None = None
    until: date | None = None
    months: int | None = None
    without_end: bool = False

    def __post_init__(self) -> None:
        if (self.until is not None) + (self.months is not None) + self.without_end > 1:
            raise BadInput(wanted="one of until, months or without an end", got="several", field="length")
        if self.months is not None and not 1 <= self.months <= 1200:
            raise BadInput(wanted="a number of months 1..1200", got=self.months, field="months")
        if self.starts is not None and self.until is not None and self.until < self.starts:
            raise BadInput(wanted=f"a last day on or after {self.starts}", got=self.until, field="until")

    @property
    def unsaid(self) -> list[str]:
        """The names of `PARTS` that it leaves open."""
        said = {
            "media": bool(self.media),
            "countries": self.countries is not None,
            "length": self.without_end or self.until is not None or self.months is not None,
        }
        return [part for part in PARTS if not said[part]]

    @property
    def says_nothing(self) -> bool:
        """Whether no part is said, and no first day either."""
        return len(self.unsaid) == len(PARTS) and self.starts is None

    def filled(self, other: PaperTerms) -> PaperTerms:
        """This, with what it leaves open as `other` has it; a first day goes with the length."""
        filled = self
        unsaid = self.unsaid
        if "media" in unsaid:
            filled = replace(filled, media=other.media)
        if "countries" in unsaid:
            filled = replace(filled, countries=other.countries)
        if "length" in unsaid:
            filled = replace(
                filled,
                starts=self.starts or other.starts,
                until=other.until,
                months=other.months,
                without_end=other.without_end,
            )
        return filled

    def differs(self, printed: PaperTerms) -> list[str]:
        """Parts that both say and that are not the same; a first day is compared where this says one."""
        open_here, open_there = self.unsaid, printed.unsaid
        found = []
        if not {"media"} & {*open_here, *open_there} and self.media != printed.media:
            found.append("media")
        mine, theirs = self.countries, printed.countries
        if mine is not None and theirs is not None and mine.codes != theirs.codes:
            found.append("countries")
        lengths = [(one.until, one.months, one.without_end) for one in (self, printed)]
        different = not {"length"} & {*open_here, *open_there} and lengths[0] != lengths[1]
        if different or (self.starts is not None and self.starts != printed.starts and "length" not in open_there):
            found.append("length")
        return found

    def scope(self, signed_on: date) -> Scope:
        """What it allows when signed on that day. Raises BadInput for a part that is unsaid, or an end before."""
        for part in self.unsaid:
            raise BadInput(wanted=PARTS[part], got="nothing", field=part)
        assert self.countries is not None  # said
        starts = self.starts or signed_on
        end = self.until or OPEN_END
        if self.months is not None:
            end = Term.months_from(starts, self.months).end
        if end < starts:
            raise BadInput(wanted=f"a last day on or after {starts}", got=end, field="until")
        return Scope.box(self.media, self.countries.codes, Term(starts, end))

    def data(self) -> dict[str, Any]:
        """As JSON-ready data, as it stands in the document of a form; what is unsaid is empty."""
        return {
            "media": sorted(self.media),
            "territory": self.countries.data() if self.countries is not None else {},
            "starts": self.starts.isoformat() if self.starts else "",
            "ends": self.until.isoformat() if self.until else "",
            "months": self.months,
            "open_end": self.without_end,
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> PaperTerms:
        """From `data()`."""
        territory = data["territory"]
        return cls(
            media=frozenset(data["media"]),
            countries=Territory.from_data(territory) if territory else None,
            starts=iso_date(data["starts"]) if data["starts"] else None,
            until=iso_date(data["ends"]) if data["ends"] else None,
            months=data["months"],
            without_end=data["open_end"],
        )


def scope_of(parts: Iterable[PaperTerms], signed_on: date) -> Scope:
    """What a paper of these parts, none of them unsaid, allows when signed on that day. Raises BadInput."""
    return Scope(box for part in parts for box in part.scope(signed_on).boxes)
