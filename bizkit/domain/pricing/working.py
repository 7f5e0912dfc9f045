"""Why an amount is what it is: a small tree of rule, inputs and parts, kept beside every line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NotRequired, TypedDict

from bizkit.domain.money import Money


@dataclass(frozen=True, slots=True)
class Working:
    """One step of a calculation.

    text: the step in one sentence with the numbers used ("2 days x GBP 430.00").
    rule: the rule's name, dotted, the same in code and documentation ("crew.day").
    amount: the outcome of the step where it is money; exact before the line's one rounding.
    source: the published source of the rule, or "common practice", or empty where the card itself is the source.
    inputs: name -> value as text, in the order used.
    parts: the steps this one adds up or builds on.
    """

    text: str
    rule: str
    amount: Money | None = None
    source: str = ""
    inputs: tuple[tuple[str, str], ...] = ()
    parts: tuple[Working, ...] = ()

    def data(self) -> WorkingData:
        """As JSON-ready data; amounts as strings, empty members left out."""
        result: WorkingData = {"text": self.text, "rule": self.rule}
        if self.amount is not None:
            result["amount"] = self.amount.text
            result["currency"] = self.amount.currency
        if self.source:
            result["source"] = self.source
        if self.inputs:
            result["inputs"] = dict(self.inputs)
        if self.parts:
            result["parts"] = [part.data() for part in self.parts]
        return result


class WorkingData(TypedDict):
    """A step of a calculation as JSON; empty members are left out."""

    text: str
    rule: str
    amount: NotRequired[str]
    currency: NotRequired[str]
    source: NotRequired[str]
    inputs: NotRequired[dict[str, str]]
    parts: NotRequired[list[WorkingData]]
