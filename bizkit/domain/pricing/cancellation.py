"""What a client pays who cancels or postpones: a percentage of each shoot day by how late the notice comes, and every
cost already spent in full.

The scale is the studio's own data. Notice counts from the day it is given; the shoot day itself never counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, NamedTuple, TypedDict

from bizkit.domain.dates import DayOff, weekend
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.line import Line, LineData
from bizkit.domain.pricing.working import Working, WorkingData

COUNTINGS = ("working", "calendar")
COUNTS_TO = ("first_day", "each_day")
KINDS = ("cancel", "postpone")

#: What printed items are made of, in English; another language gives its own.
WORDS: Mapping[str, str] = MappingProxyType(
    {
        "cancelled_day": "Cancelled shoot day {date}",
        "postponed_day": "Postponed shoot day {date}",
        "worked_day": "Worked day {date}",
        "spent": "Already spent: {what}",
    }
)


@dataclass(frozen=True, slots=True)
class NoticeStep:
    """`percent` of a shoot day's price is due where notice is `notice_days` or more, up to the next longer step."""

    notice_days: Annotated[int, Key("With so many days of notice or more.", "days", most=3650, example=5)]
    percent: Annotated[Decimal, Key("Of the day's price.", "percent", most=100, example=50)]


class DayToCome(NamedTuple):
    """A day called off: its date and its price as quoted.

    item: what is printed, empty for the usual words. parts: what the price is made of. shoots: whether a camera would
    have run, as notice may count to the first such day.
    """

    on: date
    price: Money
    item: str = ""
    parts: tuple[Working, ...] = ()
    shoots: bool = True


@dataclass(frozen=True, slots=True)
class CancellationFee:
    """The fee: `lines` for an invoice (section "fees"), their sum, and how it came about."""

    kind: str
    amount: Money
    lines: tuple[Line, ...]
    working: Working

    def data(self) -> "CancellationFeeData":
        """As JSON-ready data."""
        return {
            "kind": self.kind,
            "amount": self.amount.text,
            "currency": self.amount.currency,
            "lines": [line.data() for line in self.lines],
            "working": self.working.data(),
        }


@dataclass(frozen=True, slots=True)
class CancellationScale:
    """A studio's scale.

    counting: in "working" or "calendar" days. counts_notice_day: whether the day of notice itself counts.
    counts_to: notice is counted to the first shoot day for all of them, or to each on its own. cancel, postpone:
    steps from the longest notice to none.
    """

    counting: Annotated[str, Key("Days of notice are working days or calendar days.", choices=COUNTINGS)] = "working"
    counts_notice_day: Annotated[bool, Key("Whether the day of notice itself counts.")] = True
    counts_to: Annotated[
        str, Key("Notice counts to the first shoot day, or to each on its own.", choices=COUNTS_TO)
    ] = "first_day"
    cancel: Annotated[tuple[NoticeStep, ...], Key("What cancelling costs by its notice.", name="steps")] = ()
    postpone: Annotated[
        tuple[NoticeStep, ...],
        Key("What postponing costs by its notice; without it as cancelling.", name="postponement_steps"),
    ] = ()

    def settled(self, at: Table) -> "CancellationScale":
        """Steps run from the longest notice to none, whatever their order in the file; shorter never costs less."""
        cancel = _ordered(self.cancel, at, "steps")
        said = at.says("postponement_steps")
        postpone = _ordered(self.postpone, at, "postponement_steps") if said else cancel
        return replace(self, cancel=cancel, postpone=postpone)

    def notice_days(self, notice_on: date, shoot_on: date, day_off: DayOff = weekend) -> int:
        """Days of notice from `notice_on` to `shoot_on`, the shoot day not counted.

        >>> scale = CancellationScale("working", True, "first_day", (), ())
        >>> scale.notice_days(date(2027, 5, 7), date(2027, 5, 14))
        5
        """
        days = range(notice_on.toordinal() + (not self.counts_notice_day), shoot_on.toordinal())
        if self.counting == "calendar":
            return len(days)
        return sum(1 for day in days if not day_off(date.fromordinal(day)))

    def percent(self, kind: str, notice_days: int) -> Decimal:
        """Percentage due for `kind` ("cancel" or "postpone") at so many days of notice."""
        steps = self.cancel if kind == "cancel" else self.postpone
        return next(step.percent for step in steps if notice_days >= step.notice_days)

    def fee(
        self,
        kind: str,
        shoot_days: Sequence[tuple[date, Money]] | Sequence[DayToCome],
        *,
        notice_on: date,
        spent: Sequence[tuple[str, Money]] = (),
        day_off: DayOff = weekend,
        words: Mapping[str, str] = WORDS,
    ) -> CancellationFee:
        """The fee for cancelling or postponing `shoot_days` (day, its quoted price) by notice on `notice_on`.

        Days without a camera (travel, prep) bear the same percentage of their own price. spent: costs already spent,
        charged in full. One rounding a day. Raises BadInput for an unknown kind or no
        shoot day, RuleBroken for a shoot day before the notice and for costs below zero.
        """
        if kind not in KINDS:
            raise BadInput(wanted=f"one of {', '.join(KINDS)}", got=kind, field="kind")
        if not shoot_days:
            raise BadInput(wanted="one shoot day or more", got="none", field="shoot_days")
        days = sorted((DayToCome(*each) for each in shoot_days), key=lambda each: each.on)
        past = [day.on.isoformat() for day in days if day.on < notice_on]
        if past:
            raise RuleBroken(
                f"shoot days before the notice of {notice_on} cannot be cancelled or postponed: {', '.join(past)}. "
                "Bill them as worked, or correct the date of notice"
            )
        first = next((day.on for day in days if day.shoots), days[0].on)
        lines = []
        for day in days:
            notice = self.notice_days(notice_on, first if self.counts_to == "first_day" else day.on, day_off)
            lines.append(self._day_line(kind, day, notice_on, notice, words))
        for what, cost in spent:
            if cost.amount < 0:
                raise RuleBroken(f"costs already spent are zero or more, not {cost} for {what}")
            working = Working(f"{what}: {cost}, already spent, in full", "cancellation.spent", cost)
            lines.append(
                Line("fees", words["spent"].format(what=what), Decimal(1), "cost", cost, cost.rounded(), working)
            )
        kept = tuple(line for line in lines if line.amount)
        currency = days[0].price.currency
        amount = total((line.amount for line in lines), currency).rounded()
        verb = "Cancelling" if kind == "cancel" else "Postponing"
        text = f"{verb} {_counted(days)} by notice on {notice_on} = {amount}"
        working = Working(text, f"cancellation.{kind}", amount, parts=tuple(line.working for line in lines))
        return CancellationFee(kind, amount, kept, working)

    def _day_line(
        self, kind: str, to_come: DayToCome, notice_on: date, notice: int, words: Mapping[str, str]
    ) -> Line:
        day, price = to_come.on, to_come.price
        share = self.percent(kind, notice)
        quantity = share * Decimal("0.01")
        exact = price * quantity
        counted = f"{notice} {self.counting} {'day' if notice == 1 else 'days'} of notice"
        working = Working(
            text=f"{day}: {counted} = {plain(share)}% of {price}",
            rule=f"cancellation.{kind}_day",
            amount=exact,
            inputs=(
                ("shoot_day", day.isoformat()),
                ("notice_on", notice_on.isoformat()),
                ("notice_days", str(notice)),
                ("counting", self.counting),
                ("counts_to", self.counts_to),
                ("percent", plain(share)),
                ("price", price.text),
            ),
            parts=to_come.parts,
        )
        usual = words["cancelled_day" if kind == "cancel" else "postponed_day"].format(date=day.isoformat())
        item = to_come.item or usual
        return Line("fees", item, quantity, "day", price, exact.rounded(), working)


def _counted(days: Sequence[DayToCome]) -> str:
    """`2 shoot days and 1 other day`."""
    shoots = sum(1 for day in days if day.shoots)
    others = len(days) - shoots
    found = [(shoots, "shoot"), (others, "other")]
    named = [f"{many} {name} {'day' if many == 1 else 'days'}" for many, name in found if many]
    return " and ".join(named)


def _ordered(steps: Sequence[NoticeStep], at: Table, key: str) -> tuple[NoticeStep, ...]:
    found: set[int] = set()
    for number, step in enumerate(steps, start=1):
        if step.notice_days in found:
            at.problem(f"{key}[{number}].notice_days", "each notice once", f"{step.notice_days} again")
            return tuple(steps)
        found.add(step.notice_days)
    if 0 not in found:
        known = ", ".join(str(days) for days in sorted(found)) or "no steps"
        at.problem(key, "a step for no notice at all (notice_days = 0)", known)
    ordered = sorted(steps, key=lambda step: -step.notice_days)
    for longer, shorter in pairwise(ordered):
        if shorter.percent < longer.percent:
            wanted = (
                f"{plain(longer.percent)}% or more at {shorter.notice_days} days, as at {longer.notice_days} days; "
                "shorter notice never costs less"
            )
            at.problem(key, wanted, f"{plain(shorter.percent)}%")
    return tuple(ordered)


class CancellationFeeData(TypedDict):
    """A fee for cancelling or postponing as JSON."""

    kind: str
    amount: str
    currency: str
    lines: list[LineData]
    working: WorkingData
