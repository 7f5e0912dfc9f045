"""The cheapest way to buy a set of media and countries from the card's factors.

A card prices media and branches of media, territories and perhaps each country singly. What is wanted on one day is
a set of cells (medium, country); it may be bought as rectangles (one media entry in one territory entry, at the
product of their factors), overlapping or too large where that is cheaper. The cheapest cover is exact, so buying more
never costs less, and two wishes together never cost more than the two apart. Common practice: the factors multiply;
the cover is our own rule.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bizkit.domain.rights.territory import describe

#: media -> countries they are wanted in, as pairs whose media do not overlap
Wish = tuple[tuple[frozenset[str], frozenset[str]], ...]


@dataclass(frozen=True, slots=True)
class MediaEntry:
    """A row of the card: `media` leaves together at `factor`."""

    name: str
    media: frozenset[str]
    factor: Fraction


@dataclass(frozen=True, slots=True)
class TerritoryEntry:
    """A row of the card: `countries` together at `factor`."""

    name: str
    countries: frozenset[str]
    factor: Fraction


@dataclass(frozen=True, slots=True)
class Rectangle:
    """One thing bought. territory: the card's name, or the countries "singly"."""

    media: str
    media_factor: Fraction
    territory: str
    territory_factor: Fraction

    @property
    def factor(self) -> Fraction:
        """What it costs as a factor of the base."""
        return self.media_factor * self.territory_factor


@dataclass(frozen=True, slots=True)
class Cover:
    """What to buy, in the card's order, and its factor in all."""

    rectangles: tuple[Rectangle, ...]
    factor: Fraction


NOTHING = Cover((), Fraction(0))


class NotCovered(Exception):
    """No entry of the card sells one of the media, or one of the countries. For this room; users see BadInput."""

    def __init__(self, media: frozenset[str], countries: frozenset[str]) -> None:
        super().__init__(media, countries)
        self.media = media
        self.countries = countries


def cheapest_cover(
    wish: Wish, media: Iterable[MediaEntry], territories: Iterable[TerritoryEntry], each_country: Fraction | None
) -> Cover:
    """The cheapest cover of `wish`, exact. Raises NotCovered."""
    wish = tuple((leaves, countries) for leaves, countries in wish if leaves and countries)
    if not wish:
        return NOTHING
    return _Search(wish, tuple(media), tuple(territories), each_country).cover()


#: Numbers of what is bought: an item of media, an item of territory.
_Bought = frozenset[tuple[int, int]]


class _Items:
    """What can be bought in one direction (media, or territory): the factor of each item, and the bits it reaches.

    Items whose reach others together sell for less, or one before them for as much, are dropped: they can be
    replaced in any cover.
    """

    def __init__(self, items: Sequence[tuple[Fraction, int]]) -> None:
        self.factors = [factor for factor, _ in items]
        self.reaches = [reach for _, reach in items]
        for number, (factor, reach) in enumerate(items):
            self.reaches[number] = 0
            self._known: dict[int, tuple[Fraction, tuple[int, ...]] | None] = {0: (Fraction(0), ())}
            others = self._cheapest(reach)
            if others is None or (others[0], len(others[1]), others[1]) > (factor, 1, (number,)):
                self.reaches[number] = reach
        self._known = {0: (Fraction(0), ())}

    def reaching(self, bit: int) -> list[int]:
        """Numbers of the items that reach `bit`."""
        return [number for number, reach in enumerate(self.reaches) if reach & bit]

    def cheapest(self, wanted: int) -> tuple[Fraction, tuple[int, ...]]:
        """The factor and the numbers of the cheapest items that reach all of `wanted`, which they can."""
        found = self._cheapest(wanted)
        if found is None:
            raise ValueError("nobody sells it")
        return found

    def _cheapest(self, wanted: int) -> tuple[Fraction, tuple[int, ...]] | None:
        if wanted not in self._known:
            ways = []
            for number in self.reaching(wanted & -wanted):
                rest = self._cheapest(wanted & ~self.reaches[number])
                if rest is not None:
                    ways.append((self.factors[number] + rest[0], tuple(sorted({number, *rest[1]}))))
            self._known[wanted] = min(ways, key=lambda way: (way[0], len(way[1]), way[1]), default=None)
        return self._known[wanted]


class _Search:
    """Branch and bound over classes of media and of countries that entries and wish treat alike.

    A state is what is still to buy: for each class of media the bits of its classes of countries. Two facts keep it
    small. Give each class of media a weight so that no media entry costs less than the weights in it: then the
    weights times the cheapest territories of each class are a bound from below, as what is bought for a class covers
    its countries. And where all classes want the same countries and the media entries form a tree, the cheapest media
    times the cheapest territory meets that bound, so that nothing is searched.
    """

    def __init__(
        self,
        wish: Wish,
        media: tuple[MediaEntry, ...],
        territories: tuple[TerritoryEntry, ...],
        each_country: Fraction | None,
    ) -> None:
        self.media_entries, self.territory_entries, self.each_country = media, territories, each_country
        wanted_media = frozenset().union(*(leaves for leaves, _ in wish))
        wanted_countries = frozenset().union(*(countries for _, countries in wish))
        leaves = _alike(wanted_media, [entry.media for entry in media] + [leaves for leaves, _ in wish])
        self.countries = _alike(
            wanted_countries, [entry.countries for entry in territories] + [countries for _, countries in wish]
        )
        self.media = _Items([(entry.factor, _bits(leaves, entry.media)) for entry in media])
        singly = [] if each_country is None else [
            (each_country * len(alike), 1 << place) for place, alike in enumerate(self.countries)
        ]  # fmt: skip
        self.territory = _Items(
            [(entry.factor, _bits(self.countries, entry.countries)) for entry in territories] + singly
        )
        self.start = tuple(
            _bits(self.countries, next(countries for wanted, countries in wish if alike <= wanted))
            for alike in leaves
        )
        sold_media = frozenset().union(*(entry.media for entry in media))
        sold = wanted_countries if singly else frozenset().union(*(entry.countries for entry in territories))
        if wanted_media - sold_media or wanted_countries - sold:
            raise NotCovered(wanted_media - sold_media, wanted_countries - sold)

    def cover(self) -> Cover:
        """The answer."""
        self.best_cost, self.best = self._without_search()
        self.cheapest_at: dict[tuple[int, ...], Fraction] = {}
        self._go(self.start, Fraction(0), frozenset())
        return self._told(self.best)

    def _without_search(self) -> tuple[Fraction, _Bought]:
        """The cheaper of: all media with all countries at once, or each set of countries with its media by itself."""
        everything = 0
        groups: dict[int, int] = defaultdict(int)
        for place, countries in enumerate(self.start):
            everything |= countries
            groups[countries] |= 1 << place
        answers = []
        for plan in ({everything: (1 << len(self.start)) - 1}, groups):
            bought = frozenset(
                (medium, territory)
                for countries, leaves in plan.items()
                for medium in self.media.cheapest(leaves)[1]
                for territory in self.territory.cheapest(countries)[1]
            )
            answers.append((sum((self._price(*one) for one in bought), Fraction(0)), bought))
        return min(answers, key=lambda answer: answer[0])

    def _price(self, medium: int, territory: int) -> Fraction:
        return self.media.factors[medium] * self.territory.factors[territory]

    def _least(self, state: tuple[int, ...]) -> Fraction:
        """A bound from below for what is still to buy; the dearest territory is weighed first."""
        room = list(self.media.factors)
        total = Fraction(0)
        costs = sorted(
            ((self.territory.cheapest(left)[0], place) for place, left in enumerate(state) if left), reverse=True
        )
        for cost, place in costs:
            inside = self.media.reaching(1 << place)
            weight = min(room[number] for number in inside)
            for number in inside:
                room[number] -= weight
            total += weight * cost
        return total

    def _go(self, state: tuple[int, ...], spent: Fraction, bought: _Bought) -> None:
        if not any(state):
            if spent < self.best_cost:
                self.best_cost, self.best = spent, bought
            return
        known = self.cheapest_at.get(state)
        if (known is not None and known <= spent) or spent + self._least(state) >= self.best_cost:
            return
        self.cheapest_at[state] = spent
        place = max(range(len(state)), key=lambda place: self.territory.cheapest(state[place])[0])
        steps = []
        for medium in self.media.reaching(1 << place):
            reach = self.media.reaches[medium]
            for territory in self.territory.reaching(state[place] & -state[place]):
                taken = self.territory.reaches[territory]
                after = tuple(left & ~taken if reach >> other & 1 else left for other, left in enumerate(state))
                cost = spent + self._price(medium, territory)
                steps.append((cost + self._least(after), cost, after, (medium, territory)))
        for bound, cost, after, one in sorted(steps, key=lambda step: step[:2]):
            if bound < self.best_cost:
                self._go(after, cost, bought | {one})

    def _told(self, bought: _Bought) -> Cover:
        """As rectangles in the card's order; countries bought singly for the same media told together."""
        rectangles = []
        for number, media in enumerate(self.media_entries):
            mine = {territory for medium, territory in bought if medium == number}
            for place, entry in enumerate(self.territory_entries):
                if place in mine:
                    rectangles.append(Rectangle(media.name, media.factor, entry.name, entry.factor))
            past = len(self.territory_entries)
            singly = frozenset().union(*(self.countries[place - past] for place in mine if place >= past))
            if singly and self.each_country is not None:
                name = describe(singly) if len(singly) <= 3 else f"{len(singly)} countries"
                factor = self.each_country * len(singly)
                rectangles.append(Rectangle(media.name, media.factor, f"{name} singly", factor))
        return Cover(tuple(rectangles), sum((rectangle.factor for rectangle in rectangles), Fraction(0)))


def _alike(members: frozenset[str], sets: list[frozenset[str]]) -> list[frozenset[str]]:
    """`members` split into classes that each set holds whole or not at all, in a fixed order."""
    classes: dict[tuple[bool, ...], set[str]] = defaultdict(set)
    for member in sorted(members):
        classes[tuple(member in one for one in sets)].add(member)
    return [frozenset(alike) for alike in classes.values()]


def _bits(classes: list[frozenset[str]], members: frozenset[str]) -> int:
    """The classes that lie in `members`, as bits."""
    return sum(1 << place for place, alike in enumerate(classes) if alike <= members)
