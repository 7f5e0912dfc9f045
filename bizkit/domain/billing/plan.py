"""When the price is asked for: stages that add up to the whole, to the penny.

[[stages]]
title = "On acceptance"      percent = 50     when = "acceptance"
[[stages]]
title = "On delivery"        percent = 50     when = "delivery"
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Final

from bizkit.domain.dates import check_year, day_meant
from bizkit.domain.errors import BadInput, RuleBroken, suggest
from bizkit.domain.inputs.keys import Form, Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, decimal, percent, plain, total

ACCEPTANCE: Final = "acceptance"
FIRST_SHOOT_DAY: Final = "first_shoot_day"
DELIVERY: Final = "delivery"
EVENTS: Final = (ACCEPTANCE, FIRST_SHOOT_DAY, DELIVERY)

_WHEN: Final = f"{', '.join(EVENTS)} or a date such as 2027-05-03"


_WHEN_FORM: Final = Form(
    _WHEN, {"anyOf": [{"enum": list(EVENTS)}, {"type": "string", "format": "date", "pattern": "^[0-9]"}]}
)


def _when(value: object) -> str:
    """One of `EVENTS`, or the ISO text of a date. Raises BadInput."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return check_year(value, field="").isoformat()
    if isinstance(value, str) and value.strip() in EVENTS:
        return value.strip()
    hint = ""
    if isinstance(value, str):
        hint = day_meant(value) or suggest(value, EVENTS)
    raise BadInput(wanted=_WHEN, got=value, hint=hint if "Known" not in hint else "")


@dataclass(frozen=True, slots=True)
class Stage:
    """One part of the price. percent: of the whole, above zero. when: one of `EVENTS` or an ISO date."""

    title: Annotated[str, Key("What its invoice is for.", example="On acceptance")]
    percent: Annotated[Decimal, Key("Of the whole price.", "percent", above=0, most=100, example=50)]
    when: Annotated[str, Key("When it is due to be invoiced.", form=_WHEN_FORM, rule=_when, example="acceptance")]

    @property
    def day(self) -> date | None:
        """The day, where the stage hangs on one."""
        return None if self.when in EVENTS else date.fromisoformat(self.when)


@dataclass(frozen=True, slots=True)
class BillingPlan:
    """Stages in order; their percentages add up to 100 exactly."""

    stages: tuple[Stage, ...]

    def __post_init__(self) -> None:
        check_stages(self.stages)

    @classmethod
    def whole(cls) -> "BillingPlan":
        """Everything on delivery."""
        return cls((Stage("On delivery", Decimal(100), DELIVERY),))


def report_stages(stages: Sequence[Stage], at: Table) -> None:
    """Report `[[stages]]` that do not add up to exactly 100 %, or whose dates run backwards."""
    last: date | None = None
    for number, stage in enumerate(stages, start=1):
        if stage.day and last and stage.day < last:
            wanted = f"a date on or after the stage before it ({last})"
            at.problem(f"stages[{number}].when", wanted, stage.day)
        last = stage.day or last
    whole = sum((stage.percent for stage in stages), Decimal(0))
    if stages and whole != 100:
        at.problem("stages", "stages that add up to 100 %", f"{plain(whole)} %")


def _iso(text: str) -> bool:
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def check_stages(stages: Sequence[Stage], *, where: str = "", field: str = "stages") -> None:
    """Refuse stages that do not add up to 100 percent, or hang on nothing known. Raises BadInput."""
    whole = sum((stage.percent for stage in stages), Decimal(0))
    if whole != 100:
        raise BadInput(wanted="percentages that add up to 100", got=plain(whole), field=field, where=where)
    for stage in stages:
        if stage.when not in EVENTS and not _iso(stage.when):
            raise BadInput(wanted=_WHEN, got=stage.when, field=f"{field}.when", where=where)
        if stage.percent <= 0:
            raise BadInput(wanted="a percentage above zero", got=plain(stage.percent), field=field, where=where)


#: A tax category and its rate in percent.
Bracket = tuple[str, Decimal]


@dataclass(frozen=True, slots=True)
class StageAmount:
    """What one stage asks for. nets: per tax category and rate, zero ones left out; all amounts rounded."""

    stage: Stage
    nets: tuple[tuple[Bracket, Money], ...]
    net: Money
    tax: Money
    gross: Money

    def data(self) -> dict[str, Any]:
        """The entry of a quote's `stages`; `amount` is what the client pays, tax included."""
        return {
            "title": self.stage.title,
            "percent": plain(self.stage.percent),
            "when": self.stage.when,
            "net": self.net.text,
            "tax": self.tax.text,
            "amount": self.gross.text,
        }


def stage_amounts(net_by_category: Mapping[Bracket, Money], plan: BillingPlan) -> tuple[StageAmount, ...]:
    """Split a price over the stages so that nets, taxes and grosses all add up to the whole.

    net_by_category: net sum per (tax category, percent), as the quote's tax lines have it (`base`).
    Nets are split by largest remainder. Each invoice rounds its own tax, so the taxes of the stages could miss the
    quote's by a penny or two; where they do, the fewest pennies of net move between two stages until they agree.
    """
    if not net_by_category:
        raise RuleBroken("there is nothing to bill: the price has no lines")
    currency = next(iter(net_by_category.values())).currency
    weights = [stage.percent for stage in plan.stages]
    columns: list[list[Money]] = []
    brackets = list(net_by_category)
    for bracket in brackets:
        columns.append(_agreeing(net_by_category[bracket].allocate(weights), decimal(bracket[1])))
    result = []
    for row, stage in enumerate(plan.stages):
        nets = tuple((bracket, column[row]) for bracket, column in zip(brackets, columns, strict=True) if column[row])
        net = total((amount for _, amount in nets), currency)
        tax = total((percent(amount, decimal(bracket[1])) for bracket, amount in nets), currency)
        result.append(StageAmount(stage, nets, net.rounded(), tax.rounded(), (net + tax).rounded()))
    return tuple(result)


def _agreeing(parts: list[Money], rate: Decimal) -> list[Money]:
    """Move the fewest minor units between two parts so that their rounded taxes add up to that of the sum."""
    currency = parts[0].currency
    wanted = percent(total(parts, currency), rate).minor
    parts = list(parts)

    def tax(amount: Money) -> int:
        return percent(amount, rate).minor

    while (missing := wanted - sum(tax(part) for part in parts)) != 0:
        moved = _shift(parts, tax, missing)
        if moved is None:
            break
        parts = moved
    return parts


def _shift(parts: list[Money], tax: Any, missing: int) -> list[Money] | None:
    """The smallest single move of net between two parts that brings the taxes nearer; the later parts move first."""
    for units in range(1, 101):
        step = Money.from_minor(units, parts[0].currency)
        for giver in reversed(range(len(parts))):
            for taker in reversed(range(len(parts))):
                if giver == taker:
                    continue
                less, more = parts[giver] - step, parts[taker] + step
                gain = tax(less) + tax(more) - tax(parts[giver]) - tax(parts[taker])
                if gain and (gain > 0) == (missing > 0) and abs(missing - gain) < abs(missing):
                    changed = list(parts)
                    changed[giver], changed[taker] = less, more
                    return changed
    return None


@dataclass(frozen=True, slots=True)
class Facts:
    """What has happened to a job so far; None where it has not (or is not known)."""

    today: date
    accepted_on: date | None = None
    first_shoot_day: date | None = None
    delivered_on: date | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """Whether a stage may be invoiced, since or from when (None where unknown), and why."""

    due: bool
    on: date | None
    why: str


def stage_due(stage: Stage, facts: Facts) -> Due:
    """Whether the stage is due on `facts.today`."""
    day, event, not_yet = {
        ACCEPTANCE: (facts.accepted_on, "accepted on", "the quote is not accepted yet"),
        FIRST_SHOOT_DAY: (facts.first_shoot_day, "first shoot day", "no shoot day is set"),
        DELIVERY: (facts.delivered_on, "all delivered on", "not everything is delivered yet"),
    }.get(stage.when, (stage.day, "agreed for", ""))
    if day is None:
        return Due(False, None, not_yet)
    return Due(day <= facts.today, day, f"{event} {day.isoformat()}")
