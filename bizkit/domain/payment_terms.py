"""How a studio wants to be paid: how days are counted, what it charges when late, when it reminds.

The shipped ladder of reminders is common practice; a studio writes its own as `[[reminders]]` tables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from bizkit.domain.fields import Fields

#: How days to pay are counted; see `billing.payment.due_date`.
COUNTED_IN: Final = ("days", "working_days", "days_after_month_end")
STATUTORY: Final = "statutory"
CONTRACT: Final = "contract"
NONE: Final = "none"
ROUNDINGS: Final = ("end", "day")


@dataclass(frozen=True, slots=True)
class LateTerms:
    """What the studio charges when paid late: the `[late]` table of its settings.

    interest: "statutory", "contract" (then `rate`, percent a year) or "none". rounding: one of `ROUNDINGS`.
    compensation: whether the fixed sum is asked for too. reference_rates: day -> percent, beside the shipped table.
    suspends_licence: whether the terms say that the licence rests while an invoice is unpaid after a last reminder.
    """

    interest: str = STATUTORY
    rate: Decimal | None = None
    rounding: str = "end"
    compensation: bool = True
    suspends_licence: bool = False
    reference_rates: Mapping[date, Decimal] = field(default_factory=lambda: MappingProxyType({}))

    @classmethod
    def read(cls, fields: Fields) -> LateTerms:
        """From the `[late]` table. Raises BadInput, also for a contract rate without the rate."""
        interest = fields.choice("interest", (STATUTORY, CONTRACT, NONE), STATUTORY)
        rate = fields.number("rate", most=100) if "rate" in fields or interest == CONTRACT else None
        own = {}
        for row in fields.rows("reference_rates"):
            own[row.day("on")] = row.number("rate", most=100)
            row.text("source")
            row.done()
        terms = cls(
            interest=interest,
            rate=rate,
            rounding=fields.choice("rounding", ROUNDINGS, "end"),
            compensation=fields.flag("compensation", True),
            suspends_licence=fields.flag("suspends_licence", False),
            reference_rates=MappingProxyType(own),
        )
        fields.done()
        return terms

    def agreed(self, late: Mapping[str, Any] | None) -> LateTerms:
        """These terms as a quote states them: its `extras.late`, None for none. Banks' rates are facts of today."""
        if late is None:
            return LateTerms(interest=NONE, compensation=False, reference_rates=self.reference_rates)
        return LateTerms(
            interest=late["interest"],
            rate=Decimal(late["rate"]) if late["rate"] else None,
            rounding=late["rounding"],
            compensation=late["compensation"],
            suspends_licence=late["suspends_licence"],
            reference_rates=self.reference_rates,
        )


@dataclass(frozen=True, slots=True)
class Step:
    """One step. days_after_due: first day it may be sent. charges: whether interest and compensation are asked for.

    suspends_licence: whether the licence is suspended from then on where the terms say so.
    """

    name: str
    days_after_due: int
    charges: bool = False
    suspends_licence: bool = False


LADDER: Final = (
    Step("friendly", 3),
    Step("firm", 14, charges=True),
    Step("final", 30, charges=True, suspends_licence=True),
)


def read_ladder(rows: Sequence[Fields]) -> tuple[Step, ...]:
    """From the `[[reminders]]` tables; the shipped ladder where there are none. Raises BadInput."""
    if not rows:
        return LADDER
    steps: list[Step] = []
    for row in rows:
        step = Step(
            row.text("name"),
            row.whole("days_after_due", least=1, most=365),
            row.flag("charges", False),
            row.flag("suspends_licence", False),
        )
        if steps and step.days_after_due <= steps[-1].days_after_due:
            raise row.wrong("days_after_due", f"more than {steps[-1].days_after_due}", step.days_after_due)
        if step.name in {earlier.name for earlier in steps}:
            raise row.wrong("name", "a name used once", step.name)
        row.done()
        steps.append(step)
    return tuple(steps)
