"""All grants together: which exclude one another, and which end soon. Fast for thousands of live grants."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from bizkit.domain.names import nearly_same
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import Term


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two grants of the same works that cannot both stand. `first` was granted first; scope: what both allow."""

    first: Licence
    second: Licence
    works: tuple[str, ...]
    scope: Scope
    why: str

    @property
    def text(self) -> str:
        """One line."""
        return (
            f"{self.second.key} ({self.second.licensee}) against {self.first.key} ({self.first.licensee}), "
            f"{', '.join(self.works)}: {self.why}, both allow {self.scope.text()}"
        )

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "first": self.first.key,
            "second": self.second.key,
            "works": list(self.works),
            "scope": self.scope.data(),
            "why": self.why,
        }


def conflicts(licences: Iterable[Licence], on: date) -> list[Conflict]:
    """Every two grants, not over by `on`, of which one excludes the other in something both allow.

    One that waits for payment counts as if it were paid on `on`. Two grants to one licensee never conflict. Where a
    line of business is protected and that of the other client is not known, it is reported: somebody has to look.
    """
    by_work: dict[str, list[tuple[Licence, Box]]] = defaultdict(list)
    for licence in licences:
        for box in granted_scope(licence, on).boxes:
            if box.term.end >= on:
                for work in licence.reach:
                    by_work[work].append((licence, box))
    found: dict[tuple[str, str], tuple[Licence, Licence, set[str]]] = {}
    for work, grants in by_work.items():
        for one, other in _overlapping(grants):
            if work not in one.pieces and work not in other.pieces:
                continue
            first, second = sorted((one, other), key=lambda licence: (licence.granted_on, licence.key))
            found.setdefault((first.key, second.key), (first, second, set()))[2].add(work)
    result = []
    for first, second, works in found.values():
        shared = granted_scope(first, on).intersect(granted_scope(second, on))
        result.append(Conflict(first, second, tuple(sorted(works)), shared, excludes(first, second)))
    return result


def conflicts_with(new: Licence, licences: Iterable[Licence], on: date) -> list[Conflict]:
    """What stands against a new grant."""
    others = [licence for licence in licences if licence.key != new.key and licence.shares_with(new)]
    return [
        conflict for conflict in conflicts([new, *others], on) if new.key in {conflict.first.key, conflict.second.key}
    ]


def worth_a_look(new: Licence, licences: Iterable[Licence], on: date) -> list[str]:
    """Grants of the same works that overlap a new one where a line of business is protected by another name."""
    found = []
    scope = granted_scope(new, on)
    for other in licences:
        if other.key == new.key or not other.shares_with(new) or excludes(new, other):
            continue
        said = others_in_business(new, other)
        if said and scope.meets(granted_scope(other, on)):
            found.append(said)
    return list(dict.fromkeys(found))


def granted_scope(licence: Licence, on: date) -> Scope:
    """What it allows, or - while it waits for payment - would if it were paid on `on`."""
    if licence.term is None and licence.state(on) == "waiting":
        # A payment on `on` never brings the days before it into force.
        term = licence.request.widest_term(on)
        term = term.meet(Term(on)) if term else None
        return licence.request.scope(term) if term else Scope()
    return licence.scope


def excludes(one: Licence, other: Licence) -> str:
    """Why two grants that allow the same thing cannot both stand; empty when they can."""
    if one.licensee == other.licensee:
        return ""
    for mine, theirs in ((one, other), (other, one)):
        if mine.request.exclusivity == "sole":
            return f"{mine.key} is a sole licence"
        if mine.request.exclusivity == "sector":
            if same_business(mine.request.sector, theirs.licensee_sector):
                theirs_is = theirs.licensee_sector
                whose = "" if theirs_is.casefold() == mine.request.sector.casefold() else f" ({theirs_is})"
                return f"{mine.key} is exclusive for {mine.request.sector}, the business of {theirs.licensee}{whose}"
            if nearly_same(theirs.licensee_sector, mine.request.sector.casefold()):
                return (
                    f"{mine.key} is exclusive for {mine.request.sector}, and the business of {theirs.licensee} is "
                    f"written {theirs.licensee_sector}, which may be the same"
                )
            if not theirs.licensee_sector:
                return (
                    f"{mine.key} is exclusive for {mine.request.sector}, and the business of {theirs.licensee} "
                    "is not recorded"
                )
    return ""


def same_business(one: str, other: str) -> bool:
    """Whether two lines of business share a word, so that one may be the other or a part of it.

    >>> same_business("tourism", "Tourism and travel"), same_business("tourism", "ferries")
    (True, False)
    """
    return not _words_of(one).isdisjoint(_words_of(other))


def _words_of(sector: str) -> frozenset[str]:
    return frozenset(re.findall(r"\w+", sector.casefold())) - _JOINING


_JOINING: Final = frozenset({"a", "and", "for", "in", "of", "the", "und", "für", "der", "die", "das"})


def others_in_business(one: Licence, other: Licence) -> str:
    """What to look at where a line of business is protected and the other client's is called something else."""
    for mine, theirs in ((one, other), (other, one)):
        sector = theirs.licensee_sector
        if mine.request.exclusivity != "sector" or not sector or mine.licensee == theirs.licensee:
            continue
        if not same_business(mine.request.sector, sector):
            return (
                f"{mine.key} is exclusive for {mine.request.sector}: {theirs.licensee} is in {sector}, taken to be "
                "another business"
            )
    return ""


def _overlapping(grants: list[tuple[Licence, Box]]) -> Iterable[tuple[Licence, Licence]]:
    """Pairs that exclude one another among the grants of one work.

    A sweep over first days. What is under way stands by its media and countries, so that grants elsewhere are
    passed over together; those without exclusivity are only ever looked at from one with it.
    """
    if not any(licence.request.exclusivity != "none" for licence, _ in grants):
        return
    Key = tuple[frozenset[str], frozenset[str]]
    shared: dict[Key, list[tuple[Licence, Box]]] = defaultdict(list)
    exclusive: dict[Key, list[tuple[Licence, Box]]] = defaultdict(list)

    def meeting(under_way: dict[Key, list[tuple[Licence, Box]]], box: Box) -> Iterable[Licence]:
        for (media, countries), entries in list(under_way.items()):
            if media.isdisjoint(box.media) or countries.isdisjoint(box.countries):
                continue
            entries[:] = [entry for entry in entries if entry[1].term.end >= box.term.start]
            if not entries:
                del under_way[media, countries]
            yield from (licence for licence, _ in entries)

    for licence, box in sorted(grants, key=lambda grant: grant[1].term):
        is_exclusive = licence.request.exclusivity != "none"
        for under_way in (exclusive, shared) if is_exclusive else (exclusive,):
            for other in meeting(under_way, box):
                if excludes(licence, other):
                    yield licence, other
        (exclusive if is_exclusive else shared)[box.media, box.countries].append((licence, box))


def ending(licences: Iterable[Licence], on: date, within_days: int) -> list[Licence]:
    """Live and coming grants whose last day is `on` or up to `within_days` days later, the soonest first."""
    last = on + timedelta(days=within_days)
    soon = [
        (term.end, licence.key, licence)
        for licence in licences
        if (term := licence.term) is not None and on <= term.end <= last
    ]
    return [licence for _, _, licence in sorted(soon, key=lambda entry: entry[:2])]


def ends(licences: Iterable[Licence]) -> Mapping[date, list[Licence]]:
    """Last days of grants that have one, for a calendar: day -> grants that end with it, soonest first."""
    by_day: dict[date, list[Licence]] = defaultdict(list)
    for licence in licences:
        if licence.term is not None and not licence.term.open:
            by_day[licence.term.end].append(licence)
    return dict(sorted(by_day.items()))
