"""An offer with options: every choice and every add-on priced side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.dates import DayOff, weekend
from bizkit.domain.money import Money
from bizkit.domain.pricing.brief import Brief, Option
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.estimate import Estimate, EstimateData, price
from bizkit.domain.pricing.options import addons, choices, choose

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import LineData


@dataclass(frozen=True, slots=True)
class OptionPrice:
    """One option: the whole job with it, and what that is more (or less) than the base of the offer."""

    option: Option
    estimate: Estimate
    difference: Money

    def data(self) -> OptionPriceData:
        """As JSON-ready data; amounts as strings."""
        return {
            "key": self.option.key,
            "kind": self.option.kind,
            "title": self.option.title,
            "summary": self.option.summary,
            "net": self.estimate.net.text,
            "difference": self.difference.text,
            "lines": [line.data() for line in self.estimate.lines],
        }


@dataclass(frozen=True, slots=True)
class Offer:
    """base: the job with the first choice and no add-on. choices: each instead of the first. addons: each on top."""

    base: Estimate
    choices: tuple[OptionPrice, ...]
    addons: tuple[OptionPrice, ...]

    def data(self) -> OfferData:
        """As JSON-ready data; amounts as strings."""
        return {
            **self.base.data(),
            "choices": [option.data() for option in self.choices],
            "addons": [option.data() for option in self.addons],
        }


def offer(card: RateCard, brief: Brief, *, day_off: DayOff = weekend, holiday: DayOff | None = None) -> Offer:
    """Prices `brief` with each of its options. An add-on is priced on the first choice. Raises as `price` does."""
    base = price(card, brief, day_off=day_off, holiday=holiday)
    first = [option.key for option in choices(brief)[:1]]

    def priced(option: Option, keys: list[str]) -> OptionPrice:
        estimate = price(card, choose(brief, keys), day_off=day_off, holiday=holiday)
        return OptionPrice(option, estimate, estimate.net - base.net)

    return Offer(
        base=base,
        choices=tuple(priced(option, [option.key]) for option in choices(brief)),
        addons=tuple(priced(option, [*first, option.key]) for option in addons(brief)),
    )


class OptionPriceData(TypedDict):
    """One option of an offer as JSON."""

    key: str
    kind: str
    title: str
    summary: str
    net: str
    difference: str
    lines: list[LineData]


class OfferData(EstimateData):
    """An estimate with its options as JSON."""

    choices: list[OptionPriceData]
    addons: list[OptionPriceData]
