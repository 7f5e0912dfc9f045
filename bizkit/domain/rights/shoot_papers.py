"""Papers that must be valid on the SHOOT dates, whatever the licence: permits, insurance, IDs, medicals.

They are kept apart from holdings on purpose: an operator ID that runs out the day after the shoot is no gap in a
licence, and a location permission without an end is no permit to fly there. What is required is for local law and
licensed practice to say; this room only compares dates.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any, Final

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.rights.term import Term

#: kind -> what it is called
SHOOT_PAPER_KINDS: Final[dict[str, str]] = {
    "permit": "permit",
    "insurance": "insurance",
    "operator_id": "drone operator ID",
    "pilot_id": "drone pilot ID",
    "diver_medical": "diver's medical",
    "vessel": "vessel certificate",
    "child_licence": "child performance licence",
}


@dataclass(frozen=True, slots=True)
class ShootPaper:
    """One paper valid on the days of `term`. kind: of `SHOOT_PAPER_KINDS`. subject: whose or what, as an id."""

    key: str
    kind: str
    subject: str
    name: str
    term: Term
    document: str = ""

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "key": self.key,
            "kind": self.kind,
            "subject": self.subject,
            "name": self.name,
            **self.term.data(),
            "document": self.document,
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> ShootPaper:
        """From `data()`."""
        return cls(
            key=data["key"],
            kind=data["kind"],
            subject=data["subject"],
            name=data["name"],
            term=Term.from_data(data),
            document=data["document"],
        )


@dataclass(frozen=True, slots=True)
class ShootNeed:
    """A paper of `kind` about `subject`, called `name`, that must be valid on each of `days`."""

    kind: str
    subject: str
    name: str
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class ShootGap:
    """Shoot days without the paper they need. on_file: whether there is any such paper at all."""

    need: ShootNeed
    days: tuple[date, ...]
    on_file: bool

    @property
    def text(self) -> str:
        """One line."""
        what = f"{SHOOT_PAPER_KINDS[self.need.kind]}: {self.need.name}"
        return f"{what} {'is not valid' if self.on_file else 'is not on file'} for {_spans(self.days)}"

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        need = self.need
        days = [day.isoformat() for day in self.days]
        return {"kind": need.kind, "subject": need.subject, "name": need.name, "days": days, "on_file": self.on_file}


def shoot_gaps(needs: Iterable[ShootNeed], papers: Iterable[ShootPaper]) -> list[ShootGap]:
    """Each need with the shoot days that no paper of its kind and subject is valid on."""
    terms: dict[tuple[str, str], list[Term]] = defaultdict(list)
    for paper in papers:
        terms[paper.kind, paper.subject].append(paper.term)
    gaps = []
    for need in needs:
        valid = terms[need.kind, need.subject]
        days = tuple(day for day in sorted(set(need.days)) if not any(day in term for term in valid))
        if days:
            gaps.append(ShootGap(need, days, bool(valid)))
    return gaps


def _spans(days: tuple[date, ...]) -> str:
    """`2027-05-10, 2027-05-12..2027-05-14`."""
    runs = groupby(enumerate(days), key=lambda pair: pair[1] - pair[0] * ONE_DAY)
    spans = [[day for _, day in run] for _, run in runs]
    return ", ".join(str(span[0]) if len(span) == 1 else f"{span[0]}..{span[-1]}" for span in spans)
