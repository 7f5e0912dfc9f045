"""How a studio wants to be paid: how days are counted, what it charges when late, when it reminds.

The shipped ladder of reminders is common practice; a studio writes its own as `[[reminders]]` tables.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Any, Final

from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table

#: How days to pay are counted; see `billing.payment.due_date`.
COUNTED_IN: Final = ("days", "working_days", "days_after_month_end")
STATUTORY: Final = "statutory"
CONTRACT: Final = "contract"
NONE: Final = "none"
ROUNDINGS: Final = ("end", "day")


@dataclass(frozen=True, slots=True)
class ReferenceRate:
    """A bank's rate of a day that the shipped table does not know."""

    on: Annotated[date, Key("The day it holds from.", example="2027-06-30")]
    rate: Annotated[Decimal, Key("The rate.", unit="percent a year", most=100)]
    source: Annotated[str, Key("Where it was read.")]


@dataclass(frozen=True, slots=True)
class LateTerms:
    """What the studio charges when paid late: the `[late]` table of its settings.

    interest: "statutory", "contract" (then `rate`, percent a year) or "none". rounding: one of `ROUNDINGS`.
    compensation: whether the fixed sum is asked for too. reference_rates: beside the shipped table.
    suspends_licence: whether the terms say that the licence rests while an invoice is unpaid after a last reminder.
    law: over whose rate a quote says that statutory interest runs; empty for that of the studio's country.
    """

    interest: Annotated[str, Key("What is charged on what is overdue.", choices=(STATUTORY, CONTRACT, NONE))] = (
        STATUTORY
    )
    rate: Annotated[
        Decimal | None, Key("The agreed rate, for interest = contract.", unit="percent a year", most=100)
    ] = None
    rounding: Annotated[str, Key("Whether interest is rounded once, or each day's.", choices=ROUNDINGS)] = "end"
    compensation: Annotated[bool, Key("Whether the fixed sum of the law is asked for too.")] = True
    suspends_licence: Annotated[
        bool, Key("Whether a licence rests while an invoice is unpaid after the last reminder.")
    ] = False
    reference_rates: Annotated[
        tuple[ReferenceRate, ...], Key("Banks' rates of days that bizkit does not know yet.")
    ] = ()

    law: str = ""

    def settled(self, at: Table) -> "LateTerms":
        """A contract rate needs the rate, and a rate that it is the contract's: it would be passed over."""
        if self.interest == CONTRACT and self.rate is None:
            at.problem("rate", "a number 0..100", "nothing", "Add rate to the file")
        if self.interest != CONTRACT and self.rate is not None:
            said = f'interest = "{self.interest}"' if at.says("interest") else "nothing"
            at.problem("interest", 'interest = "contract" beside an agreed rate', said)
        return self

    def reference_rate(self, day: date) -> Decimal | None:
        """The studio's own entry for a bank's rate of that day; the last one where there are several."""
        return next((one.rate for one in reversed(self.reference_rates) if one.on == day), None)

    def agreed(self, late: Mapping[str, Any] | None) -> "LateTerms":
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
            law=late["law"],
        )


@dataclass(frozen=True, slots=True)
class Step:
    """One step. days_after_due: first day it may be sent. charges: whether interest and compensation are asked for.

    suspends_licence: whether the licence is suspended from then on where the terms say so.
    """

    name: Annotated[str, Key("What the step is called.", example="friendly")]
    days_after_due: Annotated[
        int, Key("First day it may be sent.", unit="days after the due date", least=1, most=365)
    ]
    charges: Annotated[bool, Key("Whether interest and the fixed sum are asked for.")] = False
    suspends_licence: Annotated[bool, Key("Whether the licence rests from then on, where the terms say so.")] = False


LADDER: Final = (
    Step("friendly", 3),
    Step("firm", 14, charges=True),
    Step("final", 30, charges=True, suspends_licence=True),
)


def check_ladder(steps: Sequence[Step], at: Table) -> None:
    """Report each of the `[[reminders]]` that comes before the one above it, or has its name."""
    for number, (before, step) in enumerate(pairwise(steps), start=2):
        if step.days_after_due <= before.days_after_due:
            at.problem(
                f"reminders[{number}].days_after_due", f"more than {before.days_after_due}", step.days_after_due
            )
        if step.name in {earlier.name for earlier in steps[: number - 1]}:
            at.problem(f"reminders[{number}].name", "a name used once", step.name)
