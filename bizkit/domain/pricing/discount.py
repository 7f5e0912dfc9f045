"""Discounts: always with a reason, never below the floor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bizkit.domain.errors import RuleBroken
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.sums import OWN_WORK, section_sum
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class Discount:
    """A discount a brief gives: `percent` of the sections in `on`, or a fixed `amount`, with the reason."""

    percent: Decimal | None
    amount: Decimal | None
    reason: str
    on: tuple[str, ...]

    @classmethod
    def read(cls, fields: Fields) -> Discount:
        """The [discount] table of the brief. Raises BadInput unless it has percent or amount, and a reason."""
        if ("percent" in fields) == ("amount" in fields):
            raise fields.wrong("percent", "either percent or amount", "both" if "percent" in fields else "nothing")
        discount = cls(
            percent=fields.number("percent", most=100) if "percent" in fields else None,
            amount=fields.number("amount") if "amount" in fields else None,
            reason=fields.text("reason"),
            on=fields.texts("on", OWN_WORK),
        )
        for section in discount.on:
            if section not in SECTIONS or section == "discount":
                raise fields.unknown("on", "section", section, SECTIONS[:-1])
        fields.done()
        return discount


@dataclass(frozen=True, slots=True)
class DiscountTerms:
    """The card's [discount]: the most a discount may take in percent, and from how many shoot days on the studio
    gives one by itself: (shoot days, percent, reason), dearest last.
    """

    most_percent: Decimal
    by_days: tuple[tuple[int, Decimal, str], ...]

    @classmethod
    def read(cls, fields: Fields) -> DiscountTerms:
        """The [discount] table of the card; no limit below 100 % and none by itself where it is absent."""
        table = fields.table("discount", optional=True)
        steps: list[tuple[int, Decimal, str]] = []
        for row in table.rows("by_days"):
            days, percent = row.whole("days", least=1), row.number("percent", most=100)
            if steps and (days <= steps[-1][0] or percent < steps[-1][1]):
                raise row.wrong("days", f"more days than the step before ({steps[-1][0]}), for no less", days)
            steps.append((days, percent, row.text("reason")))
            row.done()
        terms = cls(table.number("most_percent", 100, most=100), tuple(steps))
        table.done()
        return terms

    def for_days(self, shoot_days: int) -> Discount | None:
        """The discount the card itself gives for this many shoot days."""
        found = None
        for days, percent, reason in self.by_days:
            if shoot_days >= days and percent:
                found = Discount(percent, None, reason, OWN_WORK)
        return found


def discount_lines(
    terms: DiscountTerms,
    discounts: Sequence[Discount],
    lines: Sequence[Line],
    words: Mapping[str, str],
    *,
    currency: str,
    minimum: Money,
    where: str = "",
) -> tuple[list[Line], list[str]]:
    """The lines (negative amounts), and a warning for each discount that stopped at the floor.

    Each is taken of the full price, not of what another discount has left. The floor: crew, kit, post and fees never
    cost less than `minimum` after it. Raises RuleBroken when together they take more than the card's most_percent.
    """
    result: list[Line] = []
    warnings: list[str] = []
    taken = Decimal(0)
    room = section_sum(lines, (*OWN_WORK, "fees"), currency) - minimum
    for discount in discounts:
        base = section_sum(lines, discount.on, currency)
        if discount.percent is not None:
            exact = base * (discount.percent / 100)
            text = f"{plain(discount.percent)} % of {', '.join(discount.on)}, {base} = {shown(exact)}"
            inputs = [("percent", plain(discount.percent)), ("base", base.text)]
        else:
            exact = Money(discount.amount or 0, currency)
            text = f"{shown(exact)} off {', '.join(discount.on)}, {base}"
            inputs = [("amount", exact.text), ("base", base.text)]
            if exact > base:
                raise RuleBroken(f"{where}: discount.amount: {shown(exact)} is more than the {base} it is taken of")
        if not base:
            continue
        taken += exact.amount * 100 / base.amount if discount.percent is None else discount.percent
        if taken > terms.most_percent:
            raise RuleBroken(
                f"{where}: discount: {plain(round(taken, 2))} % is more than the {plain(terms.most_percent)} % the "
                "rate card allows (discount.most_percent): give less, or change the card"
            )
        if set(discount.on) <= set(OWN_WORK):
            if exact > room:
                kept = max(room, Money(0, currency), key=lambda money: money.amount)
                text += f"; stops at {shown(kept)}, so that the minimum fee of {shown(minimum)} stays"
                warnings.append(f"the discount for {discount.reason!r} stops at the minimum fee: {shown(kept)}")
                exact = kept
            room = room - exact
        if not exact.rounded():
            continue
        working = Working(f"{text} ({discount.reason})", "discount", -exact, inputs=tuple(inputs))
        item = words["discount"].replace("{reason}", discount.reason)
        result.append(Line.flat("discount", item, -exact, working))
    return result, warnings
