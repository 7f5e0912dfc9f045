"""The cheapest way to buy a set of media and countries from the card's factors.

A card prices media and branches of media, territories and perhaps each country singly. What is wanted on one day is
a set of cells (medium, country); it may be bought as rectangles (one media entry in one territory entry, at the
product of their factors), overlapping or too large where that is cheaper. The cheapest cover is exact, so buying more
never costs less, and two wishes together never cost more than the two apart. Common practice: the factors multiply;
the cover is our own rule.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

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
    """One thing bought. territory: the card's name, or "3 countries singly"."""

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
    """The cheapest cover of `wish`; the first found in the card's order among equals. Raises NotCovered."""
    media, territories = tuple(media), tuple(territories)
    wish = tuple((leaves, countries) for leaves, countries in wish if leaves and countries)
    if not wish:
        return NOTHING
    # Media, and countries, that every entry and every part of the wish treats alike are one class each.
    media_classes = _alike(
        frozenset().union(*(leaves for leaves, _ in wish)),
        [entry.media for entry in media] + [leaves for leaves, _ in wish],
    )
    country_classes = _alike(
        frozenset().union(*(countries for _, countries in wish)),
        [entry.countries for entry in territories] + [countries for _, countries in wish],
    )
    cells: dict[tuple[int, int], int] = {}
    for row, leaves in enumerate(media_classes):
        for column, countries in enumerate(country_classes):
            if any(leaves <= wanted and countries <= where for wanted, where in wish):
                cells[row, column] = 1 << len(cells)
    options = _options(cells, media_classes, country_classes, media, territories, each_country)
    reachable = 0
    for _, reach in options:
        reachable |= reach
    missing = [place for place, bit in cells.items() if not bit & reachable]
    if missing:
        raise NotCovered(
            frozenset().union(*(media_classes[row] for row, _ in missing)),
            frozenset().union(*(country_classes[column] for _, column in missing)),
        )
    chosen = _search(options, (1 << len(cells)) - 1)
    rectangles = tuple(options[place][0] for place in sorted(chosen))
    return Cover(rectangles, sum((rectangle.factor for rectangle in rectangles), Fraction(0)))


def _alike(members: frozenset[str], sets: list[frozenset[str]]) -> list[frozenset[str]]:
    """`members` split into classes that each set holds whole or not at all, in a fixed order."""
    classes: dict[tuple[bool, ...], set[str]] = defaultdict(set)
    for member in sorted(members):
        classes[tuple(member in one for one in sets)].add(member)
    return [frozenset(alike) for alike in classes.values()]


def _options(
    cells: dict[tuple[int, int], int],
    media_classes: list[frozenset[str]],
    country_classes: list[frozenset[str]],
    media: tuple[MediaEntry, ...],
    territories: tuple[TerritoryEntry, ...],
    each_country: Fraction | None,
) -> list[tuple[Rectangle, int]]:
    """Everything that can be bought with the cells it reaches; what another does as well for less left out."""
    found: list[tuple[Rectangle, int]] = []
    for entry in media:
        rows = {row for row, leaves in enumerate(media_classes) if leaves <= entry.media}
        for where in territories:
            columns = {column for column, countries in enumerate(country_classes) if countries <= where.countries}
            reach = _reach(cells, rows, columns)
            found.append((Rectangle(entry.name, entry.factor, where.name, where.factor), reach))
        if each_country is not None:
            for column, countries in enumerate(country_classes):
                name = f"{len(countries)} countries singly" if len(countries) > 1 else next(iter(countries))
                single = Rectangle(entry.name, entry.factor, name, each_country * len(countries))
                found.append((single, _reach(cells, rows, {column})))
    found = [(rectangle, reach) for rectangle, reach in found if reach]
    return [
        (rectangle, reach)
        for place, (rectangle, reach) in enumerate(found)
        if not any(
            reach & ~other_reach == 0
            and (
                other.factor < rectangle.factor
                or (other.factor == rectangle.factor and (other_reach != reach or other_place < place))
            )
            for other_place, (other, other_reach) in enumerate(found)
            if other_place != place
        )
    ]


def _reach(cells: dict[tuple[int, int], int], rows: set[int], columns: set[int]) -> int:
    return sum(bit for (row, column), bit in cells.items() if row in rows and column in columns)


def _search(options: list[tuple[Rectangle, int]], everything: int) -> frozenset[int]:
    """Places of the cheapest options that reach every cell: depth first, cut by a lower bound."""
    costs = [rectangle.factor for rectangle, _ in options]
    reaches = [reach for _, reach in options]
    best_cost: Fraction | None = None
    best: frozenset[int] = frozenset()
    cheapest_at: dict[int, Fraction] = {}

    def least(left: int) -> Fraction:
        """No cover of the cells left can cost less: each cell pays its cheapest share of an option."""
        total, bits = Fraction(0), left
        while bits:
            bit = bits & -bits
            bits ^= bit
            total += min(
                cost / (reach & left).bit_count() for cost, reach in zip(costs, reaches, strict=True) if reach & bit
            )
        return total

    def go(left: int, cost: Fraction, chosen: frozenset[int]) -> None:
        nonlocal best, best_cost
        if not left:
            if best_cost is None or cost < best_cost:
                best, best_cost = chosen, cost
            return
        if left in cheapest_at and cheapest_at[left] <= cost:
            return
        cheapest_at[left] = cost
        if best_cost is not None and cost + least(left) >= best_cost:
            return
        ways: list[int] | None = None
        bits = left
        while bits:
            bit = bits & -bits
            bits ^= bit
            here = [place for place, reach in enumerate(reaches) if reach & bit]
            if ways is None or len(here) < len(ways):
                ways = here
        for place in sorted(ways or (), key=lambda place: costs[place] / (reaches[place] & left).bit_count()):
            go(left & ~reaches[place], cost + costs[place], chosen | {place})

    go(everything, Fraction(0), frozenset())
    return best
