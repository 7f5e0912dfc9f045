"""What kit has really been used for: hire days that count towards its price, and dives since its last service."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from bizkit.domain.pricing.kit_days import NO_DATE, chargeable_days
from bizkit.domain.pricing.kit_terms import Item, KitTerms
from bizkit.domain.pricing.shoot_day import ShootDay


def hire_days(terms: KitTerms, days: Sequence[ShootDay]) -> dict[str, Decimal]:
    """Single item -> chargeable days of all its units together over one job, bundles taken apart.

    The week rule of `kit_days` counts for each unit; spares wait on the shelf and earn nothing here. Names that the
    card does not know any more are left out.
    """
    units: dict[str, list[dict[int, Decimal]]] = {}
    for place, day in enumerate(days):
        counts_as = terms.percent[day.kind] / 100
        first = day.date.toordinal() if day.date else place - NO_DATE
        for key, count in pieces(terms, day).items():
            used = units.setdefault(key, [])
            while len(used) < count:
                used.append({})
            for unit in used[:count]:
                for on in range(first, first + day.count):
                    unit[on] = max(unit.get(on, Decimal(0)), counts_as)
    return {
        key: sum((chargeable_days(unit, terms.items[key].week_days, terms.weekend_days) for unit in used), Decimal(0))
        for key, used in units.items()
    }


def dives(terms: KitTerms, item: Item, days: Sequence[ShootDay]) -> int:
    """Dives of `item` on those of `days` that lie after its last service; on all of them where none is known."""
    return sum(
        day.dives * day.count
        for day in days
        if day.kind == "water"
        and item.key in pieces(terms, day)
        and (item.serviced_on is None or day.date is None or day.date > item.serviced_on)
    )


def with_dives(terms: KitTerms, days: Sequence[ShootDay]) -> KitTerms:
    """The card's kit with the dives of `days` added to what each in-water item has had since its last service.

    The card's own dives_since_service are those before the first day in the book.
    """
    items = {
        key: replace(item, dives_since_service=item.dives_since_service + dives(terms, item, days))
        if item.in_water and not item.parts
        else item
        for key, item in terms.items.items()
    }
    return replace(terms, items=items)


def pieces(terms: KitTerms, day: ShootDay) -> dict[str, int]:
    """Single items in use on a day, name -> how many; names the card does not know are left out."""
    found: dict[str, int] = {}
    for name, quantity in day.kit.items():
        if name in terms.items:
            for key, count in terms.pieces(name, quantity).items():
                found[key] = found.get(key, 0) + count
    return found
