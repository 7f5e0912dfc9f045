"""The crew side of a rate card: roles with their day rates, and the terms a crew day is paid by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import time
from decimal import Decimal

from bizkit.domain.fields import Fields
from bizkit.domain.money import Money
from bizkit.domain.pricing.bands import Ladder, read_minutes
from bizkit.domain.pricing.sentences import in_hours
from bizkit.domain.pricing.shoot_day import KINDS, clock

#: What a kind of day is paid at, in percent of the day rate, where the card does not say.
USUAL_PERCENT = {kind: Decimal(100) for kind in (*KINDS, "short_travel", "half_day")} | {
    "short_travel": Decimal(50),
    "half_day": Decimal(60),
    "hold": Decimal(50),
}


@dataclass(frozen=True, slots=True)
class Role:
    """One crew role: its day rate, the hours it buys, and its own percentages by kind of day.

    day_minutes, half_day_minutes: minutes of work. meal_minutes: the unpaid break. minimum_minutes: what a call by
    the hour pays at least.
    """

    key: str
    title: str
    day_rate: Money
    percent: Mapping[str, Decimal]
    day_minutes: int
    meal_minutes: int
    minimum_minutes: int
    half_day_minutes: int


@dataclass(frozen=True, slots=True)
class FixedRate:
    """A day rate agreed for one person in exactly these roles."""

    roles: frozenset[str]
    title: str
    day_rate: Money


@dataclass(frozen=True, slots=True)
class Window:
    """Clock hours with an uplift of `percent` of the basic hour; may run past midnight."""

    start: time
    end: time
    percent: Decimal


@dataclass(frozen=True, slots=True)
class LateCall:
    """A call at or after `start` has a basic day of `minutes` only."""

    start: time
    minutes: int


@dataclass(frozen=True, slots=True)
class CrewTerms:
    """Everything the card says about crew days. Percentages are of the day rate, minutes of work without the meal.

    step_minutes: overtime counts in started steps of this length. extra_role_percent: of the highest role's day
    rate, for each further role of the same person. rest_minutes: the rest due between wrap and the next call.
    """

    roles: Mapping[str, Role]
    fixed: tuple[FixedRate, ...]
    extra_role_percent: Decimal
    continuous_minutes: int
    short_travel_minutes: int
    step_minutes: int
    percent: Mapping[str, Decimal]
    overtime: Ladder
    saturday_percent: Decimal
    sunday_percent: Decimal
    holiday_percent: Decimal
    night: Window | None
    late_call: LateCall | None
    rest_minutes: int
    rest: Ladder

    @classmethod
    def read(cls, fields: Fields, currency: str) -> CrewTerms:
        """From the card's [crew], [day], [several_roles], [[overtime]], [uplift], [night], [late_call], [rest]."""
        day = fields.table("day", optional=True)
        hours = _hours(day, {"hours": 600, "meal_hours": 60, "minimum_hours": 240, "half_day_hours": 300})
        roles = {key: _role(key, row, currency, hours) for key, row in fields.tables("crew")}
        if not roles:
            raise fields.wrong("crew", "one role or more, as [crew.NAME] tables", "none")
        several = fields.table("several_roles", optional=True)
        uplift = fields.table("uplift", optional=True)
        rest = fields.table("rest", optional=True)
        terms = cls(
            roles=roles,
            fixed=tuple(_fixed(row, roles, currency) for row in several.rows("fixed")),
            extra_role_percent=several.number("extra_role_percent", 25, most=100),
            continuous_minutes=read_minutes(day, "continuous_hours", "9"),
            short_travel_minutes=read_minutes(day, "short_travel_hours", "5"),
            step_minutes=day.whole("overtime_step_minutes", 30, least=1, most=60),
            percent=USUAL_PERCENT | _percents(day),
            overtime=Ladder.read(fields, "overtime"),
            saturday_percent=uplift.number("saturday_percent", 0),
            sunday_percent=uplift.number("sunday_percent", 0),
            holiday_percent=uplift.number("holiday_percent", 0),
            night=_night(fields) if "night" in fields else None,
            late_call=_late_call(fields) if "late_call" in fields else None,
            rest_minutes=read_minutes(rest, "due_hours", "11"),
            rest=Ladder.read(rest, "penalty"),
        )
        if 60 % terms.step_minutes:
            raise day.wrong("overtime_step_minutes", "a step that divides the hour (15, 30, 60)", terms.step_minutes)
        for table in (several, day, uplift, rest):
            table.done()
        return terms

    def pay_percent(self, role: Role, kind: str) -> Decimal:
        """Percent of the day rate that `role` is paid on this kind of day."""
        return role.percent.get(kind, self.percent[kind])


def _role(key: str, fields: Fields, currency: str, usual: Mapping[str, int]) -> Role:
    hours = _hours(fields, usual)
    role = Role(
        key,
        fields.text("title"),
        fields.money("day_rate", currency),
        _percents(fields),
        day_minutes=hours["hours"],
        meal_minutes=hours["meal_hours"],
        minimum_minutes=hours["minimum_hours"],
        half_day_minutes=hours["half_day_hours"],
    )
    fields.done()
    return role


def _hours(fields: Fields, usual: Mapping[str, int]) -> dict[str, int]:
    """Minutes by key, `usual` where the table does not say. No part of a day is longer than the day."""
    minutes = {key: read_minutes(fields, key) if key in fields else usual[key] for key in usual}
    if not minutes["hours"]:
        raise fields.wrong("hours", "a day of more than 0 hours", 0)
    for key in ("minimum_hours", "half_day_hours"):
        if minutes[key] > minutes["hours"]:
            if key in fields:
                raise fields.wrong(
                    key, f"no more than the {in_hours(minutes['hours'])} h of a day", in_hours(minutes[key])
                )
            minutes[key] = minutes["hours"]
    return minutes


def _percents(fields: Fields) -> dict[str, Decimal]:
    table = fields.table("percent", optional=True)
    percents = {}
    for kind in table.names():
        if kind not in USUAL_PERCENT:
            raise table.unknown(kind, "kind of day", kind, USUAL_PERCENT)
        percents[kind] = table.number(kind)
    return percents


def _fixed(row: Fields, roles: Mapping[str, Role], currency: str) -> FixedRate:
    names: Sequence[str] = row.texts("roles")
    for name in names:
        if name not in roles:
            raise row.unknown("roles", "role", name, roles)
    if len(set(names)) != len(names) or len(names) < 2:
        raise row.wrong("roles", "two roles or more, each once", ", ".join(names))
    fixed = FixedRate(frozenset(names), row.text("title", ""), row.money("day_rate", currency))
    row.done()
    return fixed


def _night(fields: Fields) -> Window:
    table = fields.table("night")
    start, end = clock(table, "from"), clock(table, "until")
    if start is None or end is None or start == end:
        raise table.wrong("from", "both from and until, two different times", "nothing")
    window = Window(start, end, table.number("percent"))
    table.done()
    return window


def _late_call(fields: Fields) -> LateCall:
    table = fields.table("late_call")
    start = clock(table, "from")
    if start is None:
        raise table.wrong("from", 'a time of day such as "13:00"', "nothing")
    minutes = read_minutes(table, "hours", "8")
    table.done()
    return LateCall(start, minutes)
