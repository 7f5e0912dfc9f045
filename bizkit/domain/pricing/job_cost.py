"""What a job takes out of the studio: days of its own people, and money paid to others. For the studio's eyes only.

These are the figures that the floor weighs a price against (`floor.Floor.margin`).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal

from bizkit.domain.dates import DayOff, weekend
from bizkit.domain.money import Money
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.crew_days import crew_lines, day_cost
from bizkit.domain.pricing.estimate import Estimate
from bizkit.domain.pricing.kit_days import sub_hire_cost
from bizkit.domain.pricing.options import chosen_brief
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS, ShootDay
from bizkit.domain.pricing.sums import sum_of

HALF = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class JobCost:
    """own_days: person-days of the studio's own people, edit included. direct_costs: paid to others, before markup.

    With weather, on average and on top: held_days of own people waiting, weather_costs paid to others or lost when
    the window fails, weather_income for hold days charged as they are used.
    """

    own_days: Decimal
    direct_costs: Money
    held_days: Decimal
    weather_costs: Money
    weather_income: Money


def job_cost(
    card: RateCard, brief: Brief, estimate: Estimate, people: Collection[str], *, day_off: DayOff = weekend
) -> JobCost:
    """The cost of `brief` as priced in `estimate`. people: names of the studio's own people.

    Anybody else in the crew is paid their rate on the card; post work is the studio's own. A half day, and short
    travel, is half a day. Sub-hired kit and costs count before margin and markup; what the client pays directly does
    not count. Amounts are in the estimate's currency.
    """
    brief = chosen_brief(brief)
    others = [_with_crew(day, people, own=False) for day in brief.days]
    own = [_with_crew(day, people, own=True) for day in brief.days]
    costs = sum_of(
        crew_lines(card.crew, others, card.words, holiday=lambda day: day.weekday() < 5 and day_off(day)),
        card.currency,
    )
    costs = costs + sub_hire_cost(card.kit, brief.days, card.currency)
    direct = _converted(brief, costs, estimate.currency)
    for cost in brief.parts.costs:
        if cost.paid_by == "studio":
            kind = card.costs[cost.kind]
            typed = Money(cost.cost or 0, cost.currency or estimate.currency)
            each = kind.cost if cost.cost is None and kind.cost is not None else typed
            direct = direct + _converted(brief, each * cost.quantity, estimate.currency)
    days = sum((_days(card, day) for day in own), Decimal(0))
    for task in brief.parts.post:
        days += task.quantity if task.unit == "day" else task.quantity / card.post[task.work].hours
    held, weather_costs, weather_income = _weather(card, brief, estimate, own, others)
    return JobCost(days, direct.rounded(), held, weather_costs, weather_income)


def _with_crew(day: ShootDay, people: Collection[str], *, own: bool) -> ShootDay:
    return replace(day, crew=tuple(entry for entry in day.crew if (entry.person in people) is own))


def _days(card: RateCard, day: ShootDay) -> Decimal:
    """Person-days of the crew left on this day."""
    short = day.kind == "travel" and day.minutes is not None and day.minutes <= card.crew.short_travel_minutes
    share = HALF if day.half_day or (short and not day.abroad) else Decimal(1)
    return share * day.count * sum(entry.people for entry in day.crew)


def _converted(brief: Brief, amount: Money, currency: str) -> Money:
    return brief.exchange.money(amount, currency) if brief.exchange else amount


def _weather(
    card: RateCard, brief: Brief, estimate: Estimate, own: list[ShootDay], others: list[ShootDay]
) -> tuple[Decimal, Money, Money]:
    """Days held, costs and income on average, from the weather plan."""
    plan, nothing = estimate.weather, Money(0, estimate.currency).rounded()
    if plan is None:
        return Decimal(0), nothing, nothing
    shoots = [index for index, day in enumerate(brief.days) if day.kind in SHOOT_KINDS]
    waiting = max((sum(entry.people for entry in own[index].crew) for index in shoots), default=0)
    idle, lost = plan.expected_hold_days, plan.expected_lost_days
    paid = Money(0, estimate.currency)
    for index in shoots:
        whole = day_cost(card.crew, others[index], card.words, kind=brief.days[index].kind)
        each = _converted(brief, whole, estimate.currency)
        share = idle * plan.request.hold_percent / 100 + lost
        paid = max(paid, each * share, key=lambda amount: amount.amount)
    costs = (paid + plan.expected_failing_cost).rounded()
    return waiting * (idle + lost), costs, plan.expected_extra_income
