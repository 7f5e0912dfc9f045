"""Post-production: work in the edit, by the day or by the hour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bizkit.domain.errors import NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import shown, trimmed
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class PostWork:
    """A kind of work on the card: its day rate for a day of `hours`, and an hour rate where that is not its share."""

    key: str
    title: str
    day_rate: Money
    hours: Decimal
    hour_rate: Money | None

    @classmethod
    def read(cls, key: str, fields: Fields, currency: str) -> PostWork:
        """One [post.NAME] table of the card; `hours` is how long its day is (8 where not said)."""
        work = cls(
            key,
            fields.text("title"),
            fields.money("day_rate", currency),
            fields.number("hours", 8, least=1, most=24),
            fields.money("hour_rate", currency) if "hour_rate" in fields else None,
        )
        fields.done()
        return work


@dataclass(frozen=True, slots=True)
class PostTask:
    """Work a brief needs: `quantity` days or hours (`unit`) of it."""

    work: str
    title: str
    quantity: Decimal
    unit: str
    field: str
    where: str

    @classmethod
    def read(cls, fields: Fields) -> PostTask:
        """One [[post]] table of the brief, with either days or hours."""
        if ("days" in fields) == ("hours" in fields):
            raise fields.wrong("days", "either days or hours", "both" if "days" in fields else "nothing")
        unit = "day" if "days" in fields else "hour"
        quantity = fields.number("days" if unit == "day" else "hours")
        task = cls(fields.text("work"), fields.text("title", ""), quantity, unit, fields.path, fields.where)
        fields.done()
        return task


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
