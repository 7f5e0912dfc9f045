"""Two revisions side by side: what changed, by how much, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypedDict

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.estimate import Estimate

#: A line as in `Line.data()`, such as the explained lines of a frozen quote.
LineData = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Change:
    """One line that is new, gone or different. kind: "added", "removed" or "changed"."""

    kind: str
    section: str
    item: str
    before: Money
    after: Money
    why: str

    @property
    def difference(self) -> Money:
        """After less before."""
        return self.after - self.before

    def data(self) -> ChangeData:
        """As JSON-ready data; amounts as strings."""
        return {
            "kind": self.kind,
            "section": self.section,
            "item": self.item,
            "before": self.before.text,
            "after": self.after.text,
            "difference": self.difference.text,
            "why": self.why,
        }


def compare(before: Estimate, after: Estimate) -> tuple[Change, ...]:
    """What changed from `before` to `after`; their differences add up to the difference of the nets.

    Raises RuleBroken where the currencies differ.
    """
    if before.currency != after.currency:
        raise RuleBroken(f"{before.currency} and {after.currency} cannot be compared: price both in one currency")
    return compare_lines(
        [line.data() for line in before.lines], [line.data() for line in after.lines], before.currency
    )


def compare_lines(before: Sequence[LineData], after: Sequence[LineData], currency: str) -> tuple[Change, ...]:
    """The same for the lines of frozen quotes. A line is itself while section and item stay the same; several such
    lines are matched in their order.
    """
    waiting: dict[tuple[str, str], list[LineData]] = {}
    for line in before:
        waiting.setdefault((line["section"], line["item"]), []).append(line)
    changes: list[Change] = []
    nothing = Money(0, currency)
    for line in after:
        old_lines = waiting.get((line["section"], line["item"]))
        new = Money(line["amount"], currency)
        if not old_lines:
            changes.append(Change("added", line["section"], line["item"], nothing, new, line["why"]))
            continue
        old = old_lines.pop(0)
        why = _difference(old, line)
        if why:
            old_amount = Money(old["amount"], currency)
            changes.append(Change("changed", line["section"], line["item"], old_amount, new, why))
    for old_lines in waiting.values():
        for line in old_lines:
            gone = Money(line["amount"], currency)
            changes.append(Change("removed", line["section"], line["item"], gone, nothing, line["why"]))
    return tuple(changes)


def _difference(old: LineData, new: LineData) -> str:
    """Which of quantity, rate and amount differ, and the reason given with the new line where it differs too."""
    found = []
    # The rate of a flat sum is its amount.
    for name in ("amount",) if new["unit"] == old["unit"] == "flat" else ("quantity", "rate", "amount"):
        if Decimal(old[name]) != Decimal(new[name]):
            unit = f" {new['unit']}" if name == "quantity" else ""
            found.append(f"{name} {old[name]} -> {new[name]}{unit}")
    if old["unit"] != new["unit"]:
        found.append(f"unit {old['unit']} -> {new['unit']}")
    if not found:
        return ""
    return "; ".join(found) + ("" if old["why"] == new["why"] else f"; now {new['why']}")


class ChangeData(TypedDict):
    """A line that differs, as JSON."""

    kind: str
    section: str
    item: str
    before: str
    after: str
    difference: str
    why: str
