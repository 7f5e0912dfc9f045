"""What each day of a quote costs, in the lines of the quote: cancelling and moving are charged by the day.

The amounts are those quoted. A line over several days is split, to the minor unit, by what is paid or used on each; a
discount by what it is taken of, so that a day bears its share and post, costs and licence bear theirs.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.dates import DayOff
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.actual_days import day_list
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.crew_days import crew_shares
from bizkit.domain.pricing.deal import deal_shares
from bizkit.domain.pricing.kit_days import kit_shares
from bizkit.domain.pricing.line import Line, Shares
from bizkit.domain.pricing.options import chosen_brief
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.domain.pricing.sums import OWN_WORK
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class QuotedLine:
    """A line as quoted: its section, what it says, its rounded amount."""

    section: str
    item: str
    amount: Money

    @classmethod
    def of(cls, line: Line) -> QuotedLine:
        """From a priced line."""
        return cls(line.section, line.item, line.amount)


@dataclass(frozen=True, slots=True)
class DayPrice:
    """One single day of the brief, `position` 1 being the first, and its share of the lines quoted.

    on: the date quoted, None while it was open. parts: shares of crew, kit, hold and discount lines, rounded.
    """

    position: int
    kind: str
    on: date | None
    parts: tuple[QuotedLine, ...]
    currency: str

    @property
    def price(self) -> Money:
        """The sum of the parts, never below zero."""
        whole = total((part.amount for part in self.parts), self.currency)
        return max(whole, Money(0, self.currency), key=lambda money: money.amount).rounded()

    @property
    def shoots(self) -> bool:
        """Whether a camera runs on it."""
        return self.kind in SHOOT_KINDS

    @property
    def workings(self) -> tuple[Working, ...]:
        """Each part as a step of a calculation."""
        return tuple(
            Working(f"{part.item}: {part.amount}", f"quoted.{part.section}", part.amount) for part in self.parts
        )


def day_prices(
    card: RateCard,
    brief: Brief,
    quoted: Sequence[QuotedLine],
    *,
    currency: str,
    holiday: DayOff,
    deal_days: Decimal = Decimal(0),
) -> list[DayPrice]:
    """Every single day of the brief with its share of `quoted`, the lines of the quote priced from card and brief.

    deal_days: days the quote draws from a deal; 0 leaves the credit for them out, as where cancelling gives the days
    back. Crew, kit, its insurance and hold days of the brief are shared; post, licence, travel, fees and the hold
    days of a weather plan belong to no day.
    """
    brief = chosen_brief(brief)
    days = day_list(brief)
    parts: dict[int, list[QuotedLine]] = {place: [] for place in range(1, len(days) + 1)}
    for line, weights in _shared(card, brief, quoted, holiday, deal_days):
        _split(parts, line, weights)
    kit = {
        place: total((part.amount for part in mine if part.section == "kit"), currency).amount
        for place, mine in parts.items()
    }
    for line in quoted:
        if (line.section, line.item) == ("kit", card.words["insurance"]):
            _split(parts, line, kit)
    for line in quoted:
        if line.section == "discount" and not _of_deal(card, brief, line):
            _split_discount(parts, line, _sections_of(card, brief, line), quoted)
    return [
        DayPrice(place, day.kind, day.date, tuple(parts[place]), currency) for place, day in enumerate(days, start=1)
    ]


def post_price(card: RateCard, brief: Brief, quoted: Sequence[QuotedLine], *, currency: str) -> Money:
    """What post-production comes to in the lines of a quote, less its part of their discounts; never below zero."""

    def sum_of(sections: Collection[str]) -> Money:
        return total((line.amount for line in quoted if line.section in sections), currency)

    price = post = sum_of(["post"])
    for line in quoted:
        if line.section == "discount" and not _of_deal(card, brief, line):
            sections = _sections_of(card, brief, line)
            rest = sum_of(sections) - post
            if "post" in sections and (post or rest):
                price += line.amount.allocate([post.amount, rest.amount])[0]
    return max(price, Money(0, currency), key=lambda money: money.amount).rounded()


def _shared(
    card: RateCard, brief: Brief, quoted: Sequence[QuotedLine], holiday: DayOff, deal_days: Decimal
) -> Iterable[tuple[QuotedLine, dict[int, Decimal]]]:
    """Each line that is for single days, with the weight of each day in it.

    Lines may say the same (night hours of two lengths, say): the first share with these words goes to the first.
    """
    where = brief.where
    shares = crew_shares(card.crew, brief.days, card.words, holiday=holiday, where=where)
    shares += kit_shares(card.kit, brief.days, card.words)
    if brief.deal and deal_days:
        drawn = deal_shares(card.deals, brief.deal, card.crew, brief.days, card.words, deal_days)
        shares += [drawn] if drawn else []
    waiting: dict[tuple[str, str], list[Shares]] = {}
    for share in shares:
        if any(share.weights.values()):
            waiting.setdefault((share.section, share.item), []).append(share)
    for line in quoted:
        found = waiting.get((line.section, line.item))
        if found:
            yield line, dict(found.pop(0).weights)


def _split(parts: dict[int, list[QuotedLine]], line: QuotedLine, weights: dict[int, Decimal]) -> None:
    if not any(weights.values()):
        return
    for place, amount in zip(weights, line.amount.allocate(list(weights.values())), strict=True):
        if amount:
            parts[place].append(QuotedLine(line.section, line.item, amount))


def _split_discount(
    parts: dict[int, list[QuotedLine]], line: QuotedLine, sections: Sequence[str], quoted: Sequence[QuotedLine]
) -> None:
    """A discount over the days and what belongs to no day, by what it was taken of."""
    weights = {
        place: sum((part.amount.amount for part in mine if part.section in sections), Decimal(0))
        for place, mine in parts.items()
    }
    whole = sum((one.amount.amount for one in quoted if one.section in sections), Decimal(0))
    weights[0] = max(whole - sum(weights.values()), Decimal(0))
    parts[0] = []
    _split(parts, line, weights)
    del parts[0]


def _of_deal(card: RateCard, brief: Brief, line: QuotedLine) -> bool:
    deal = card.deals.get(brief.deal.name) if brief.deal else None
    return deal is not None and line.item == card.words["deal"].replace("{deal}", deal.title)


def _sections_of(card: RateCard, brief: Brief, line: QuotedLine) -> Sequence[str]:
    """The sections that a discount was taken of, found by its reason."""
    for discount in (card.discount.for_days(brief.count(*SHOOT_KINDS)), brief.discount):
        if discount and card.words["discount"].replace("{reason}", discount.reason) == line.item:
            return discount.on
    return OWN_WORK
