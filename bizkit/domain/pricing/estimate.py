"""A brief priced against a rate card: lines with amounts and the reason for each. Tax comes later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.dates import DayOff, weekend
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.booking import bookings, clash_sentences, conflicts, owned_kit
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.costs import cost_lines
from bizkit.domain.pricing.crew_days import crew_lines, day_cost
from bizkit.domain.pricing.cut_sets import cut_lines, licensed, unpriced
from bizkit.domain.pricing.deal import deal_line
from bizkit.domain.pricing.discount import discount_lines
from bizkit.domain.pricing.fees import contingency_line, minimum_line, rush_line
from bizkit.domain.pricing.journeys import journey_lines
from bizkit.domain.pricing.kit_care import care_warnings
from bizkit.domain.pricing.kit_days import deposits, kit_lines
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.options import chosen_brief
from bizkit.domain.pricing.post import post_lines
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.domain.pricing.sums import section_sum, sum_of
from bizkit.domain.pricing.usage_fee import usage_lines
from bizkit.domain.pricing.weather_plan import WeatherPlan, weather_plan
from bizkit.domain.pricing.words import ENGLISH
from bizkit.domain.pricing.working import Working

if TYPE_CHECKING:
    from bizkit.domain.documents.sales import Weather
    from bizkit.domain.pricing.line import LineData


@dataclass(frozen=True, slots=True)
class Estimate:
    """Priced lines in one currency, in the order of `SECTIONS`; `net` is the sum of their rounded amounts.

    chosen: keys of the options that are in it. weather: the plan where the brief asks for one. deposit: to be taken
    for kit and given back, no part of the price. warnings: what the studio should know before sending.
    """

    currency: str
    lines: tuple[Line, ...]
    chosen: tuple[str, ...]
    weather: WeatherPlan | None
    deposit: Money | None
    warnings: tuple[str, ...]

    @property
    def net(self) -> Money:
        """Sum of the rounded lines, before tax."""
        return sum_of(self.lines, self.currency)

    @property
    def deal_days(self) -> Decimal:
        """Days drawn from the deal that the brief names."""
        drawn = (dict(step.inputs)["days drawn"] for _, step in self._drawn())
        return sum((Decimal(days) for days in drawn), Decimal(0))

    @property
    def deal_credit(self) -> Money:
        """What the client has paid ahead for those days; the net is without it."""
        return -sum_of((line for line, _ in self._drawn()), self.currency)

    def _drawn(self) -> Iterator[tuple[Line, Working]]:
        for line in self.lines:
            for step in (line.working, *line.working.parts):
                if step.rule == "discount.deal":
                    yield line, step

    def section_totals(self) -> dict[str, Money]:
        """Section -> sum of its lines, for the sections that have any, in printed order."""
        found = [section for section in SECTIONS if any(line.section == section for line in self.lines)]
        return {section: section_sum(self.lines, (section,), self.currency) for section in found}

    def data(self) -> EstimateData:
        """As JSON-ready data; amounts and quantities as strings."""
        return {
            "currency": self.currency,
            "lines": [line.data() for line in self.lines],
            "sections": {section: amount.text for section, amount in self.section_totals().items()},
            "net": self.net.text,
            "chosen": list(self.chosen),
            "weather": None if self.weather is None else self.weather.data(),
            "deposit": None if self.deposit is None else self.deposit.text,
            "warnings": list(self.warnings),
        }


def price(card: RateCard, brief: Brief, *, day_off: DayOff = weekend, holiday: DayOff | None = None) -> Estimate:
    """Prices `brief` against `card`.

    A brief that still has choices (A, B, C) is priced with the first of them and without add-ons. day_off: weekends
    and public holidays of the studio, for working days. holiday: public holidays alone, for the uplift; left out, it
    is any day off from Monday to Friday. Raises BadInput where the brief asks for what the card cannot price,
    RuleBroken where the card forbids it.
    """
    brief = chosen_brief(brief)
    is_holiday = holiday or (lambda day: day.weekday() < 5 and day_off(day))
    currency = _currency(card, brief)
    words, days = card.words, brief.days
    lines = crew_lines(card.crew, days, words, holiday=is_holiday, where=brief.where)
    lines += kit_lines(card.kit, days, words, where=brief.where)
    known = list(dict.fromkeys((card.currency, currency)))
    lines += cost_lines(card.costs, brief.parts.costs, words, currency=currency, known_currencies=known)
    lines += journey_lines(card.mileage, brief.parts.mileage, words["mileage"])
    lines += post_lines(card.post, brief.parts.post)
    lines += cut_lines(card.cuts, brief.parts.sets, words) if card.cuts else []
    lines += _licence(card, brief)
    plan = _weather(card, brief, currency)
    if plan and plan.line:
        lines.append(plan.line)
    if brief.deal:
        drawn = deal_line(card.deals, brief.deal, card.crew, days, words, client=brief.client)
        lines += [drawn] if drawn else []
    minimum = card.fees.minimum
    deposit = deposits(card.kit, days)
    if brief.exchange:
        lines = [brief.exchange.line(line, currency) for line in lines]
        minimum = brief.exchange.money(minimum, currency)
        deposit = brief.exchange.money(deposit, currency) if deposit else None
    rush = rush_line(
        card.fees, lines, words, currency=currency, rush=brief.rush, asked_on=brief.asked_on,
        first_day=brief.first_shoot_date, day_off=day_off,
    )  # fmt: skip
    lines += [rush] if rush else []
    percent = card.fees.contingency_percent if brief.contingency_percent is None else brief.contingency_percent
    contingency = contingency_line(percent, lines, words, currency=currency)
    lines += [contingency] if contingency else []
    minimum_fee = minimum_line(minimum, lines, words) if lines else None
    lines += [minimum_fee] if minimum_fee else []
    by_days = card.discount.for_days(brief.count(*SHOOT_KINDS))
    discounts = [found for found in (by_days, brief.discount) if found]
    off, warnings = discount_lines(
        card.discount, discounts, lines, words, currency=currency, minimum=minimum, where=brief.where
    )
    lines += off
    order = {section: number for number, section in enumerate(SECTIONS)}
    lines.sort(key=lambda line: order[line.section])
    return Estimate(
        currency=currency,
        lines=tuple(lines),
        chosen=brief.chosen,
        weather=plan,
        deposit=deposit.rounded() if deposit else None,
        warnings=(*_plan_warnings(card, brief, plan), *care_warnings(card.kit, days), *warnings),
    )


def _currency(card: RateCard, brief: Brief) -> str:
    if not brief.currency or brief.currency == card.currency:
        if brief.exchange:
            raise BadInput(
                wanted=f"no [exchange] in a quote in {card.currency}, the rate card's own currency",
                got="one",
                field="exchange",
                where=brief.where,
                hint="Leave it out, or name the currency to quote in",
            )
        return card.currency
    if brief.exchange is None:
        raise BadInput(
            wanted=f"{card.currency}, the currency of the rate card {card.name}",
            got=brief.currency,
            field="currency",
            where=brief.where,
            hint="To quote in another currency, add [exchange] with rate, on and source",
        )
    return brief.currency


def _licence(card: RateCard, brief: Brief) -> list[Line]:
    """The licence lines, items in the card's words."""
    if brief.licence is None or card.usage is None:
        return []
    try:
        lines = usage_lines(card.usage, *licensed(brief.licence, brief.deliverables, brief.parts.sets))
    except BadInput as error:
        where = error.where or (card.where if error.field.startswith("usage") else brief.where)
        raise BadInput(wanted=error.wanted, got=error.got, field=error.field, where=where, hint=error.hint) from None
    own, theirs = card.words["licence"], ENGLISH["licence"]
    return lines if own == theirs else [replace(line, item=line.item.replace(theirs, own, 1)) for line in lines]


def _weather(card: RateCard, brief: Brief, currency: str) -> WeatherPlan | None:
    """The weather plan; a hold day keeps the crew and kit of the dearest shoot day."""
    if brief.weather is None:
        return None
    dearest = Money(0, card.currency)
    for day in brief.days:
        if day.kind in SHOOT_KINDS:
            crew = day_cost(card.crew, day, card.words, kind=day.kind, where=brief.where)
            kit = total((card.kit.items[key].day_rate * many for key, many in day.kit.items()), card.currency)
            dearest = max(dearest, crew + kit, key=lambda money: money.amount)
    request = brief.weather
    if not brief.parts.hold_percent_said:
        request = replace(request, hold_percent=card.crew.percent["hold"])
    if brief.exchange:
        fails = brief.exchange.money(Money(request.cost_if_it_fails, card.currency), currency)
        request = replace(request, cost_if_it_fails=fails.amount)
        dearest = brief.exchange.money(dearest, currency)
    return weather_plan(
        request,
        water_days=brief.count("water"),
        dry_days=brief.count("dry"),
        hold_day_cost=dearest,
        words=card.words,
    )


def _plan_warnings(card: RateCard, brief: Brief, plan: WeatherPlan | None) -> list[str]:
    warnings = unpriced(card.cuts, brief.parts.sets)
    warnings += clash_sentences(conflicts(bookings(card.kit, brief, brief.key), owned_kit(card.kit)))
    first: date | None = brief.first_shoot_date
    if first and first < card.valid_from:
        warnings.append(f"the rate card {card.name} begins on {card.valid_from}, the shoot on {first}")
    if brief.licence and not card.usage:
        warnings.append(f"the licence has no price of its own: the rate card {card.name} has no [usage]")
    held = brief.count("hold")
    if plan and plan.line and held:
        own = f"{held} hold day{'' if held == 1 else 's'} of its own"
        warnings.append(f"the brief has {own} beside the weather plan's {plain(plan.line.quantity)}: both are priced")
    if brief.rush and not card.fees.rush_percent:
        warnings.append(f"the brief is a rush, but the rate card {card.name} has no rush uplift")
    if plan and not plan.reached:
        warnings.append("the weather window does not reach the confidence asked for: see the weather plan")
    return warnings


class EstimateData(TypedDict):
    """An estimate as JSON."""

    currency: str
    lines: list[LineData]
    sections: dict[str, str]
    net: str
    chosen: list[str]
    weather: Weather | None
    deposit: str | None
    warnings: list[str]
