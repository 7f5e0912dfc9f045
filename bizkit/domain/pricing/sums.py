"""Sums of priced lines: of their rounded amounts, in one currency."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.line import Line

#: Sections that are the studio's own work and kit; costs, licence and weather are not.
OWN_WORK = ("crew", "kit", "post")


def sum_of(lines: Iterable[Line], currency: str) -> Money:
    """Sum of the lines, zero of `currency` when there are none. Raises RuleBroken for a line in another currency."""
    whole = Decimal(0)
    for line in lines:
        if line.amount.currency != currency:
            raise RuleBroken(f"{line.item} is in {line.amount.currency}, not {currency}: convert it first")
        whole += line.amount.amount
    return Money(whole, currency)


def section_sum(lines: Iterable[Line], sections: Sequence[str], currency: str) -> Money:
    """Sum of the lines in these sections."""
    return sum_of((line for line in lines if line.section in sections), currency)
