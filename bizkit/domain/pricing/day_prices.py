"""What each shoot day of a quote costs, as cancelling and moving it are charged by the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from bizkit.domain.dates import ONE_DAY, DayOff, weekend
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.crew_days import crew_lines
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.options import chosen_brief
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.domain.pricing.sums import section_sum, sum_of


def shoot_day_prices(
    card: RateCard, brief: Brief, *, day_off: DayOff = weekend, holiday: DayOff | None = None
) -> list[tuple[date, Money]]:
    """Each dated water and dry day with its share of the price of crew and kit, discounts taken off.

    The sum is split, to the minor unit, by what the crew and kit of each day cost by themselves; crew and kit of
    other days (prep, travel, wrap) are spread with it, since a shoot that falls away takes them with it. Post,
    licence, fees and costs are not in it. Raises BadInput when a shoot day has no date yet.
    """
    brief = chosen_brief(brief)
    estimate = price(card, brief, day_off=day_off, holiday=holiday)
    is_holiday = holiday or (lambda day: day.weekday() < 5 and day_off(day))
    weights: dict[date, Decimal] = {}
    for day in brief.days:
        if day.kind not in SHOOT_KINDS:
            continue
        if day.date is None:
            raise BadInput(
                wanted="a date for every shoot day", got="nothing", field=f"{day.field}.date", where=brief.where
            )
        kit = sum((card.kit.items[key].day_rate.amount * many for key, many in day.kit.items()), Decimal(0))
        for number in range(day.count):
            on = day.date + number * ONE_DAY
            one = replace(day, date=on, count=1)
            crew = sum_of(crew_lines(card.crew, [one], card.words, holiday=is_holiday), card.currency)
            weights[on] = weights.get(on, Decimal(0)) + crew.amount + kit
    if not weights:
        return []
    whole = section_sum(estimate.lines, ("crew", "kit", "discount"), estimate.currency)
    whole = max(whole, Money(0, estimate.currency).rounded(), key=lambda money: money.amount)
    days = sorted(weights)
    if not any(weights.values()):
        weights = dict.fromkeys(days, Decimal(1))
    return list(zip(days, whole.allocate([weights[on] for on in days]), strict=True))
