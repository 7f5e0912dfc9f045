"""Scope: what may be done where and when, as a union of boxes (media x countries x days), exact.

Every scope is held in its one normal form, so that two scopes are equal when they allow the same and read alike:

* of each medium in each country the days are joined into the longest unbroken terms there are;
* all media and countries with exactly the same unbroken term stand together, split into one box for each set of
  countries that one or more media have.

Work is done on whole boxes and on classes of countries that are treated alike; days are never counted one by one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import describe


@dataclass(frozen=True, slots=True)
class Box:
    """Every one of `media` in every one of `countries` on every day of `term`. Nothing when either set is empty."""

    media: frozenset[str]
    countries: frozenset[str]
    term: Term

    def meet(self, other: Box) -> Box | None:
        """What both allow; None when that is nothing."""
        term = self.term.meet(other.term)
        if term is None or self.media.isdisjoint(other.media) or self.countries.isdisjoint(other.countries):
            return None
        return Box(self.media & other.media, self.countries & other.countries, term)

    def minus(self, other: Box) -> Iterator[Box]:
        """What this allows and `other` does not, in up to four boxes that do not overlap."""
        shared = self.meet(other)
        if shared is None:
            yield self
            return
        if shared.media != self.media:
            yield Box(self.media - shared.media, self.countries, self.term)
        if shared.countries != self.countries:
            yield Box(shared.media, self.countries - shared.countries, self.term)
        if self.term.start < shared.term.start:
            yield Box(shared.media, shared.countries, Term(self.term.start, shared.term.start - ONE_DAY))
        if shared.term.end < self.term.end:
            yield Box(shared.media, shared.countries, Term(shared.term.end + ONE_DAY, self.term.end))

    def text(self, tree: MediaTree = MEDIA_TREE) -> str:
        """One line for people: media / territory / term."""
        return f"{', '.join(tree.labels(self.media))} / {describe(self.countries)} / {self.term.text}"

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {"media": sorted(self.media), "countries": sorted(self.countries), **self.term.data()}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Box:
        """From `data()`."""
        return cls(frozenset(data["media"]), frozenset(data["countries"]), Term.from_data(data))


@dataclass(frozen=True, slots=True, init=False)
class Scope:
    """A union of boxes in normal form.

    >>> year = Term(date(2026, 7, 1), date(2027, 6, 30))
    >>> wanted = Scope.box({"paid_social"}, {"GB", "IE"}, year)
    >>> held = Scope.box({"paid_social"}, {"GB"}, Term(date(2026, 1, 1), date(2026, 12, 31)))
    >>> for box in wanted.minus(held).boxes:
    ...     print(box.text())
    paid social / Ireland / 2026-07-01..2027-06-30
    paid social / United Kingdom / 2027-01-01..2027-06-30
    """

    boxes: tuple[Box, ...]

    def __init__(self, boxes: Iterable[Box] = ()) -> None:
        object.__setattr__(self, "boxes", _normal([box for box in boxes if box.media and box.countries]))

    @classmethod
    def box(cls, media: Iterable[str], countries: Iterable[str], term: Term) -> Scope:
        """A scope of one box."""
        return cls([Box(frozenset(media), frozenset(countries), term)])

    def __bool__(self) -> bool:
        """Whether anything at all is allowed."""
        return bool(self.boxes)

    def union(self, other: Scope) -> Scope:
        """What either allows."""
        return Scope(self.boxes + other.boxes)

    def intersect(self, other: Scope) -> Scope:
        """What both allow."""
        pairs = (mine.meet(theirs) for mine in self.boxes for theirs in other.boxes)
        return Scope(box for box in pairs if box is not None)

    def minus(self, other: Scope) -> Scope:
        """What this allows and `other` does not."""
        return Scope(_minus(self.boxes, other.boxes))

    def minus_boxes(self, boxes: Iterable[Box]) -> Scope:
        """What this allows and none of `boxes` does; they may overlap and need no normal form."""
        return Scope(_minus(self.boxes, list(boxes)))

    def covers(self, other: Scope) -> bool:
        """Whether this allows everything that `other` does."""
        return not _minus(other.boxes, self.boxes)

    def meets(self, other: Scope) -> bool:
        """Whether there is anything that both allow."""
        return any(mine.meet(theirs) is not None for mine in self.boxes for theirs in other.boxes)

    def allows(self, medium: str, country: str, day: date) -> bool:
        """Whether one use is allowed."""
        return any(medium in box.media and country in box.countries and day in box.term for box in self.boxes)

    @property
    def media(self) -> frozenset[str]:
        """Every medium anywhere in it."""
        return frozenset().union(*(box.media for box in self.boxes))

    @property
    def countries(self) -> frozenset[str]:
        """Every country anywhere in it."""
        return frozenset().union(*(box.countries for box in self.boxes))

    @property
    def start(self) -> date | None:
        """The first day of anything; None when empty."""
        return min((box.term.start for box in self.boxes), default=None)

    @property
    def end(self) -> date | None:
        """The last day of anything, `OPEN_END` when open; None when empty."""
        return max((box.term.end for box in self.boxes), default=None)

    def ending_by(self, last: date) -> Scope:
        """The part up to and including `last`."""
        return Scope(
            Box(box.media, box.countries, Term(box.term.start, min(box.term.end, last)))
            for box in self.boxes
            if box.term.start <= last
        )

    def from_day(self, first: date) -> Scope:
        """The part from `first` on."""
        return Scope(
            Box(box.media, box.countries, Term(max(box.term.start, first), box.term.end))
            for box in self.boxes
            if box.term.end >= first
        )

    def text(self, tree: MediaTree = MEDIA_TREE) -> str:
        """For people, one clause a box; "nothing" when empty. The same scope always reads the same."""
        return "; ".join(box.text(tree) for box in self.boxes) or "nothing"

    def data(self) -> list[dict[str, Any]]:
        """As JSON-ready data."""
        return [box.data() for box in self.boxes]

    @classmethod
    def from_data(cls, data: Sequence[Mapping[str, Any]]) -> Scope:
        """From `data()`."""
        return cls(Box.from_data(box) for box in data)


def _minus(boxes: Sequence[Box], taken: Sequence[Box]) -> list[Box]:
    left = list(boxes)
    for box in taken:
        if not left:
            break
        left = [piece for mine in left for piece in mine.minus(box)]
    return left


def _normal(boxes: Sequence[Box]) -> tuple[Box, ...]:
    """The normal form described at the head of the module."""
    if len(boxes) < 2:
        return tuple(boxes)
    # Countries (and media) that lie in exactly the same boxes are treated alike: one class each.
    classes_of_countries = _classes(box.countries for box in boxes)
    classes_of_media = _classes(box.media for box in boxes)
    # Unbroken terms of each pair of classes: term -> medium class -> country classes
    found: dict[Term, dict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
    for media_in in classes_of_media:
        for countries_in in classes_of_countries:
            both = media_in & countries_in
            if both:
                for term in _joined([boxes[place].term for place in _places(both)]):
                    found[term][media_in].add(countries_in)
    result: list[Box] = []
    for term, by_medium in found.items():
        alike: dict[frozenset[str], set[str]] = defaultdict(set)
        for media_in, countries_in_all in by_medium.items():
            countries = frozenset().union(*(classes_of_countries[key] for key in countries_in_all))
            alike[countries] |= classes_of_media[media_in]
        result += (Box(frozenset(media), countries, term) for countries, media in alike.items())
    return tuple(sorted(result, key=lambda box: (box.term, sorted(box.media), sorted(box.countries))))


def _classes(sets: Iterable[frozenset[str]]) -> dict[int, frozenset[str]]:
    """Members grouped by which of the sets they lie in: bits of the sets' places -> members."""
    classes: dict[int, frozenset[str]] = {}
    for place, members in enumerate(sets):
        bit = 1 << place
        left = members
        split: dict[int, frozenset[str]] = {}
        for key, old in classes.items():
            shared = old & left
            if not shared:
                split[key] = old
                continue
            split[key | bit] = shared
            if len(shared) < len(old):
                split[key] = old - shared
            left = left - shared
        if left:
            split[bit] = left
        classes = split
    return classes


def _places(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def _joined(terms: list[Term]) -> Iterator[Term]:
    """The longest unbroken terms: overlapping and adjoining ones made one."""
    terms.sort()
    start, end = terms[0].start, terms[0].end
    for term in terms[1:]:
        if end == OPEN_END or term.start <= end + ONE_DAY:
            end = max(end, term.end)
        else:
            yield Term(start, end)
            start, end = term.start, term.end
    yield Term(start, end)
