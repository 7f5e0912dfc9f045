"""Billing stages: which part of the price falls due when. They always add up to 100 %."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.money import plain

#: Moments a stage can wait for, beside a fixed date.
MOMENTS = ("acceptance", "first_shoot_day", "delivery")


@dataclass(frozen=True, slots=True)
class Stage:
    """`percent` of the price, due at a moment (one of `MOMENTS`) or on a date."""

    title: str
    percent: Decimal
    when: str | date

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {"title": self.title, "percent": plain(self.percent), "when": str(self.when)}


def read_stages(fields: Fields, key: str = "stages") -> tuple[Stage, ...]:
    """Each `[[stages]]` table; none when absent.

    Raises BadInput when they do not add up to exactly 100 %, when one is zero, or when dates run backwards.
    """
    stages: list[Stage] = []
    last: date | None = None
    for row in fields.rows(key):
        when = _when(row)
        percent = row.number("percent", most=100)
        if percent == 0:
            raise row.wrong("percent", "more than 0 %", percent)
        if isinstance(when, date):
            if last and when < last:
                raise row.wrong("when", f"a date on or after the stage before it ({last})", when)
            last = when
        stages.append(Stage(row.text("title"), percent, when))
        row.done()
    whole = sum((stage.percent for stage in stages), Decimal(0))
    if stages and whole != 100:
        raise fields.wrong(key, "stages that add up to 100 %", f"{plain(whole)} %")
    return tuple(stages)


def _when(row: Fields) -> str | date:
    try:
        return row.day("when")
    except BadInput:
        return row.choice("when", MOMENTS)
