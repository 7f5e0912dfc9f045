"""Post-production: work in the edit, by the day or by the hour."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import NotFound
from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import shown, trimmed
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class PostWork:
    """A [post.NAME] table of the card: its day rate for a day of `hours`, and its hour rate where it is no share."""

    key: Annotated[str, Given.NAME]
    title: Annotated[str, Key("What papers call it.", example="Edit")]
    day_rate: Annotated[Money, Key("What a day of it costs.", example=380)]
    hours: Annotated[Decimal, Key("How long its day is.", "hours", least=1, most=24)] = Decimal(8)
    hour_rate: Annotated[Money | None, Key("What an hour costs, where it is not its share of the day.")] = None


@dataclass(frozen=True, slots=True)
class PostTask:
    """A [[post]] table of a brief: days or hours of a kind of work."""

    work: Annotated[str, Key("Name of the work on the card.", example="edit")]
    field: Annotated[str, Given.PLACE]
    where: Annotated[str, Given.FILE]
    title: Annotated[str, Key("What for.", example="Campaign film")] = ""
    days: Annotated[Decimal | None, Key("How many, or hours.", "days", example=6)] = None
    hours: Annotated[Decimal | None, Key("How many, instead of days.", "hours")] = None

    def settled(self, at: Table) -> "PostTask":
        """It takes days or hours."""
        if (self.days is None) == (self.hours is None):
            at.problem("days", "either days or hours", "nothing" if self.days is None else "both")
        return self

    @property
    def unit(self) -> str:
        """What is counted: "day" or "hour"."""
        return "hour" if self.days is None else "day"

    @property
    def quantity(self) -> Decimal:
        """How many days or hours."""
        return self.days if self.days is not None else self.hours or Decimal(0)


def post_lines(works: Mapping[str, PostWork], tasks: Sequence[PostTask]) -> list[Line]:
    """One line a task. Raises NotFound for work the card does not know."""
    lines = []
    for task in tasks:
        if task.work not in works:
            raise NotFound("post work", task.work, works, field=f"{task.field}.work", where=task.where)
        work = works[task.work]
        rate, exact, why = _price(work, task)
        s = "" if task.quantity == 1 else "s"
        text = f"{plain(task.quantity)} {task.unit}{s} x {shown(rate)}{why} = {shown(exact)}"
        rate = trimmed(rate)
        inputs = ((f"{task.unit}s", plain(task.quantity)), ("rate", rate.text))
        working = Working(text, f"post.{task.unit}", exact, inputs=inputs)
        title = f"{work.title}: {task.title}" if task.title else work.title
        lines.append(Line("post", title, task.quantity, task.unit, rate, exact.rounded(), working))
    return lines


def _price(work: PostWork, task: PostTask) -> tuple[Money, Money, str]:
    """The rate, the exact amount (multiplied before divided, so that no digit is lost) and where the rate is from."""
    if task.unit == "day":
        return work.day_rate, work.day_rate * task.quantity, ""
    if work.hour_rate is not None:
        return work.hour_rate, work.hour_rate * task.quantity, " (hour rate)"
    day, currency = work.day_rate.amount, work.day_rate.currency
    rate, exact = Money(day / work.hours, currency), Money(day * task.quantity / work.hours, currency)
    return rate, exact, f" ({work.day_rate} / {plain(work.hours)} h)"
