"""One priced line: what, how many, at what rate, how much, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypedDict

from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.working import Working

#: Sections in the order they are printed.
SECTIONS = ("crew", "kit", "travel", "post", "licence", "weather", "fees", "discount")


class LineData(TypedDict):
    """A line as JSON; `working` as `Working.data` has it."""

    section: str
    item: str
    quantity: str
    unit: str
    rate: str
    amount: str
    why: str
    working: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an estimate. `amount` is rounded to the minor unit; `rate` may be exact.

    section: one of `SECTIONS`. unit: the trade's word, singular ("day", "hour", "mile", "licence").
    """

    section: str
    item: str
    quantity: Decimal
    unit: str
    rate: Money
    amount: Money
    working: Working

    @classmethod
    def flat(cls, section: str, item: str, exact: Money, working: Working) -> Line:
        """A line for one flat sum. Its rate is the rounded amount; the exact one stays in the working."""
        rounded = exact.rounded()
        return cls(section, item, Decimal(1), "flat", rounded, rounded, working)

    @property
    def why(self) -> str:
        """The rule and the numbers used, as one sentence."""
        return self.working.text

    def data(self) -> LineData:
        """As JSON-ready data; amounts and quantities as strings."""
        return {
            "section": self.section,
            "item": self.item,
            "quantity": plain(self.quantity),
            "unit": self.unit,
            "rate": self.rate.text,
            "amount": self.amount.text,
            "why": self.why,
            "working": self.working.data(),
        }


@dataclass(frozen=True, slots=True)
class Shares:
    """Which single days a line is for: position of the day in the brief, from 1 -> its weight in the line."""

    section: str
    item: str
    weights: Mapping[int, Decimal]
