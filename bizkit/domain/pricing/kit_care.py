"""In-water kit between dives: the fresh-water soak after salt water, and the service interval.

Both are warnings, never a reason to refuse: a second housing, a spare, or an early service solves them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta

from bizkit.domain.pricing.kit_terms import Item, KitTerms
from bizkit.domain.pricing.shoot_day import MINUTES_A_DAY, ShootDay, minute_of_day, span_minutes

#: Where a day has no call and wrap times: when kit is wanted, and when it comes out of the water.
USUAL_CALL, USUAL_WRAP = time(8), time(18)


def care_warnings(terms: KitTerms, days: Sequence[ShootDay]) -> list[str]:
    """What the plan asks of in-water kit that it cannot do, in the order of the card.

    Soak: a unit used in salt water is free again `soak_hours` after the wrap (default 24 h, common practice). The
    days need as many units as are in use and in soak at the same time; there are as many as the studio owns, or as
    the day's quantity and spares where that is more. Service: by date or by dives since the last one.
    """
    warnings: list[str] = []
    uses = _uses(terms, days)
    for key, item in terms.items.items():
        if not item.in_water or key not in uses:
            continue
        warnings.extend(_soak(terms, item, uses[key]))
        warnings.extend(_service(item, uses[key]))
    return warnings


#: (start, end in minutes, day, units in use, units at hand, wet with salt water, dives)
_Use = tuple[int, int, ShootDay, int, int, bool, int]


def _uses(terms: KitTerms, days: Sequence[ShootDay]) -> dict[str, list[_Use]]:
    """Every day each single item is used, by item, in order of time."""
    uses: dict[str, list[_Use]] = {}
    open_day = 0
    for day in days:
        if not day.kit:
            open_day += 0 if day.date else day.count
            continue
        need: dict[str, int] = {}
        spare: dict[str, int] = {}
        for wanted, pieces in ((day.kit, need), (day.spares, spare)):
            for name, quantity in wanted.items():
                for key, count in terms.pieces(name, quantity).items():
                    pieces[key] = pieces.get(key, 0) + count
        first = day.date.toordinal() if day.date else 1 + open_day
        open_day += 0 if day.date else day.count
        call, wrap = day.call or USUAL_CALL, day.wrap or USUAL_WRAP
        for key, count in need.items():
            item = terms.items[key]
            at_hand = max(item.owned, count + spare.get(key, 0))
            wet = day.kind == "water" and item.in_water
            for number in range(day.count):
                start = (first + number) * MINUTES_A_DAY + minute_of_day(call)
                end = start + span_minutes(call, wrap)
                dives = day.dives if wet else 0
                uses.setdefault(key, []).append((start, end, day, count, at_hand, wet and not day.fresh_water, dives))
    for found in uses.values():
        found.sort(key=lambda use: use[0])
    return uses


def _soak(terms: KitTerms, item: Item, uses: Sequence[_Use]) -> list[str]:
    soaking: list[tuple[int, int, int]] = []
    hits: list[str] = []
    most = 0
    for start, end, day, count, at_hand, salt, _ in uses:
        soaking = [(free, units, since) for free, units, since in soaking if free > start]
        in_soak = sum(units for _, units, _ in soaking)
        if in_soak + count > at_hand:
            most = max(most, in_soak + count - at_hand)
            hits.append(_named(start, day))
        if salt:
            # Units that were not free anyway stay the same units: what soaks is never more than what there is.
            fresh = min(count, at_hand)
            soaking = _latest(soaking, at_hand - fresh)
            soaking.append((end + terms.soak_hours * 60, fresh, start))
    if not hits:
        return []
    return [
        f"{item.title} is still in its {terms.soak_hours} h soak on {', '.join(hits)}: "
        f"plan {most} more, a spare, or a day between"
    ]


def _latest(soaking: list[tuple[int, int, int]], units_left: int) -> list[tuple[int, int, int]]:
    """At most `units_left` units of those in soak, the longest soaking first to stay."""
    kept = []
    for free, units, since in soaking:
        take = min(units, units_left)
        if take > 0:
            kept.append((free, take, since))
            units_left -= take
    return kept


def _named(start: int, day: ShootDay) -> str:
    return str(date.fromordinal(start // MINUTES_A_DAY)) if day.date else day.field


def _service(item: Item, uses: Sequence[_Use]) -> list[str]:
    warnings = []
    dated = [date.fromordinal(start // MINUTES_A_DAY) for start, _, day, _, _, _, _ in uses if day.date]
    if item.service_every_days and item.serviced_on and dated:
        due = item.serviced_on + timedelta(days=item.service_every_days)
        if max(dated) > due:
            warnings.append(f"{item.title} is due for service on {due}, before its last day of use on {max(dated)}")
    if item.service_every_dives:
        planned = sum(dives for *_, dives in uses)
        after = item.dives_since_service + planned
        if after > item.service_every_dives:
            warnings.append(
                f"{item.title} is due for service after {item.service_every_dives} dives: "
                f"{item.dives_since_service} so far + {planned} planned = {after}"
            )
    return warnings
