"""One priced line: what, how many, at what rate, how much, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NotRequired, TypedDict

from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.working import Working, WorkingData

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
    percent: NotRequired[str]
    percent_of: NotRequired[list[str]]
    why: str
    working: WorkingData


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an estimate. `amount` is rounded to the minor unit; `rate` may be exact.

    section: one of `SECTIONS`. unit: the trade's word, singular ("day", "hour", "mile", "licence"). percent: of the
    amounts in the sections `percent_of`, where a line is such a part of others and its reader may reckon it again.
    """

    section: str
    item: str
    quantity: Decimal
    unit: str
    rate: Money
    amount: Money
    working: Working
    percent: Decimal | None = None
    percent_of: tuple[str, ...] = ()

    @classmethod
    def flat(cls, section: str, item: str, exact: Money, working: Working) -> Line:
        """A line for one flat sum. Its rate is the rounded amount; the exact one stays in the working."""
        rounded = exact.rounded()
        return cls(section, item, Decimal(1), "flat", rounded, rounded, working)

    def as_share(self, percent: Decimal, of: tuple[str, ...]) -> Line:
        """The same line, saying which part of what it is."""
        return replace(self, percent=percent, percent_of=of)

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
            **self._share(),
            "why": self.why,
            "working": self.working.data(),
        }

    def _share(self) -> _Share:
        if self.percent is None:
            return {}
        return {"percent": plain(self.percent), "percent_of": list(self.percent_of)}


class _Share(TypedDict):
    percent: NotRequired[str]
    percent_of: NotRequired[list[str]]


@dataclass(frozen=True, slots=True)
class Shares:
    """Which single days a line is for: position of the day in the brief, from 1 -> its weight in the line."""

    section: str
    item: str
    weights: Mapping[int, Decimal]
