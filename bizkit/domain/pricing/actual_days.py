"""The days of an accepted brief as they fall by now: weather and clients move them after the quote is sent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import RuleBroken
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.shoot_day import ShootDay


def day_list(brief: Brief) -> list[ShootDay]:
    """Every single day in the order of the brief, runs of like days taken apart."""
    return [
        replace(day, count=1, date=day.date + ONE_DAY * number if day.date else None)
        for day in brief.days
        for number in range(day.count)
    ]


def on_dates(brief: Brief, dates: Sequence[date | None]) -> Brief:
    """The brief with its single days on these dates (None: open), in the same order.

    Raises RuleBroken when there are more or fewer dates than days.
    """
    days = day_list(brief)
    if len(days) != len(dates):
        raise RuleBroken(f"{brief.key} has {len(days)} days and {len(dates)} dates: they belong to different quotes")
    moved = tuple(replace(day, date=on) for day, on in zip(days, dates, strict=True))
    return replace(brief, parts=replace(brief.parts, days=moved))
