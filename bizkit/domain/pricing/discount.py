"""Discounts: always with a reason, never below the floor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Annotated

from bizkit.domain.errors import RuleBroken
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.sums import OWN_WORK, section_sum
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class Discount:
    """The [discount] table of a brief: `percent` of the sections in `on`, or a fixed `amount`, with the reason."""

    reason: Annotated[str, Key("Why; it is printed.", example="Second campaign")]
    percent: Annotated[Decimal | None, Key("Of the sections in on, or an amount.", "percent", most=100)] = None
    amount: Annotated[Decimal | None, Key("A fixed sum, in the brief's currency.")] = None
    on: Annotated[
        tuple[str, ...], Key("Sections it is taken of.", choices=SECTIONS[:-1], wanted="a known section")
    ] = OWN_WORK

    def settled(self, at: Table) -> "Discount":
        """It is a percentage or an amount."""
        if (self.percent is None) == (self.amount is None):
            at.problem("percent", "either percent or amount", "nothing" if self.percent is None else "both")
        return self


@dataclass(frozen=True, slots=True)
class DiscountStep:
    """A [[discount.by_days]] table of the card: from so many shoot days on."""

    days: Annotated[int, Key("Shoot days from which it is given.", "days", least=1, example=5)]
    percent: Annotated[Decimal, Key("Of your own work.", "percent", most=100, example=5)]
    reason: Annotated[str, Key("Why; it is printed.", example="Five days or more")]


@dataclass(frozen=True, slots=True)
class DiscountTerms:
    """The card's [discount]: the most a discount may take, and what the studio gives by itself, dearest last."""

    most_percent: Annotated[Decimal, Key("The most a discount may take.", "percent", most=100)] = Decimal(100)
    by_days: Annotated[tuple[DiscountStep, ...], Key("Given by itself from so many shoot days on.")] = ()

    def settled(self, at: Table) -> "DiscountTerms":
        """More days never get less."""
        for number, (before, step) in enumerate(pairwise(self.by_days), start=2):
            if step.days <= before.days or step.percent < before.percent:
                wanted = f"more days than the step before ({before.days}), for no less"
                at.problem(f"by_days[{number}].days", wanted, step.days)
        return self

    def for_days(self, shoot_days: int) -> Discount | None:
        """The discount the card itself gives for this many shoot days."""
        found = None
        for step in self.by_days:
            if shoot_days >= step.days and step.percent:
                found = Discount(step.reason, step.percent)
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
        stopped = False
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
                exact, stopped = kept, True
            room = room - exact
        if not exact.rounded():
            continue
        working = Working(f"{text} ({discount.reason})", "discount", -exact, inputs=tuple(inputs))
        item = words["discount"].replace("{reason}", discount.reason)
        line = Line.flat("discount", item, -exact, working)
        result.append(line.as_share(discount.percent, discount.on) if discount.percent and not stopped else line)
    return result, warnings
