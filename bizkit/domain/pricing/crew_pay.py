"""What one person is paid for one day, and why: the day rate for the roles, overtime, uplifts, short rest.

Overtime, night and rest count in basic hours: the day rate divided by the hours of a day, whatever share of the
rate the kind of day pays. They are on labour only; kit knows no overtime.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.dates import DayOff
from bizkit.domain.errors import NotFound
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.crew_terms import CrewTerms, Role
from bizkit.domain.pricing.sentences import COMMON, in_hours, listed, shown, trimmed
from bizkit.domain.pricing.shoot_day import KINDS, MINUTES_A_DAY, SHOOT_KINDS, ShootDay, minute_of_day
from bizkit.domain.pricing.working import Working

#: How basic hour and overtime hour follow from the day rate.
OVERTIME_SOURCE = "Recommended Terms for Engaging Crew on the Production of Commercials (1 Sep 2014), cl. 2.1.1"
REST_SOURCE = "time off the clock, T1.5 / T2 / T3 by successive hour: union guide to TV drama terms, 2017"

#: How a sentence calls a day paid at less (or more) than the day rate.
LABELS = {kind: f"{kind} day" for kind in KINDS} | {"half_day": "half day", "short_travel": "short travel day"}

#: Kinds of day without overtime: nobody is on set.
NO_OVERTIME = frozenset({"travel", "hold"})


@dataclass(frozen=True, slots=True)
class RoleRate:
    """The day rate of one person in all of their roles."""

    title: str
    lead: Role
    rate: Money
    working: Working


@dataclass(frozen=True, slots=True)
class Shape:
    """All that makes one paid day differ from another.

    kind: kind of day. worked: minutes of work, None for a plain day. mode: "day", "half_day" or "by_hour". basic:
    minutes the day rate buys. uplift: "", "saturday", "sunday" or "holiday". night: minutes inside the night
    window. short_rest: minutes of due rest missing before the call.
    """

    kind: str
    worked: int | None
    mode: str
    basic: int
    abroad: bool = False
    uplift: str = ""
    night: int = 0
    short_rest: int = 0


@dataclass(frozen=True, slots=True)
class DayPay:
    """One person's pay for one day: `rate` for `length` basic minutes, of which `minutes` are paid; `amount` in all.

    notes: keys of `words` that say how it departs from a plain day. parts: the steps, `steps` the same as a sentence.
    """

    rate: Money
    length: int
    minutes: Decimal
    paid_as: str
    overtime_minutes: int
    notes: tuple[str, ...]
    parts: tuple[Working, ...]
    amount: Money
    steps: str

    def times(self, days: int) -> Money:
        """For `days` such days. Multiplied before divided, so that halves of a penny stay halves."""
        return self.amount if days == 1 else _paid(self.rate, self.minutes * days, self.length)


def role_rate(
    terms: CrewTerms, roles: Sequence[str], words: Mapping[str, str], *, field: str, where: str
) -> RoleRate:
    """The rate for one person in `roles`. Several roles: a fixed rate where the card has one for exactly these,
    else the highest day rate plus the card's percentage of it for each further role.

    Raises NotFound for a role the card does not know.
    """
    found = []
    for name in roles:
        if name not in terms.roles:
            raise NotFound("role", name, terms.roles, field=f"{field}.roles", where=where)
        found.append(terms.roles[name])
    title = listed([role.title for role in found], words["and"])
    if len(found) == 1:
        rate = found[0].day_rate
        return RoleRate(title, found[0], rate, Working(f"{title} {rate} a day", "crew.rate", rate))
    lead = max(found, key=lambda role: role.day_rate.amount)
    names = frozenset(roles)
    for fixed in terms.fixed:
        if fixed.roles == names:
            text = f"{fixed.day_rate} a day, the fixed rate for {title} in one person"
            return RoleRate(
                fixed.title or title, lead, fixed.day_rate, Working(text, "crew.fixed_rate", fixed.day_rate)
            )
    others = [role.title for role in found if role is not lead]
    percent = terms.extra_role_percent
    rate = lead.day_rate * (1 + percent * len(others) / 100)
    each = f"{plain(percent)} %" if len(others) == 1 else f"{len(others)} x {plain(percent)} %"
    text = f"{lead.title} {lead.day_rate}, the highest rate, + {each} of it for {listed(others, words['and'])}"
    inputs = (*((role.title, role.day_rate.text) for role in found), ("percent a further role", plain(percent)))
    return RoleRate(
        title, lead, rate, Working(f"{text} = {shown(rate)} a day", "crew.several_roles", rate, COMMON, inputs)
    )


def shape(
    terms: CrewTerms, role: Role, day: ShootDay, on: date | None, holiday: DayOff, short_rest: int = 0
) -> Shape:
    """The shape of `day` for `role` on the date `on` (None while open: no weekend or holiday uplift)."""
    worked = _worked(role, day)
    basic = min(terms.continuous_minutes, role.day_minutes) if day.continuous else role.day_minutes
    night = 0
    if day.call is not None and day.kind not in NO_OVERTIME:
        if terms.late_call and day.call >= terms.late_call.start:
            basic = min(basic, terms.late_call.minutes)
        night = _night_minutes(terms, day)
    mode = "half_day" if day.half_day else "by_hour" if day.by_hour else "day"
    uplift = _uplift(terms, on, holiday) if on is not None and day.kind != "hold" else ""
    return Shape(day.kind, worked, mode, basic, day.abroad, uplift, night, short_rest)


def day_pay(terms: CrewTerms, role: RoleRate, form: Shape) -> DayPay:
    """What `role` is paid for a day of this shape, with the steps."""
    rate, length = role.rate, role.lead.day_minutes
    minutes, paid_as, parts = _base(terms, role, form)
    plain_day = paid_as in SHOOT_KINDS and form.mode == "day" and minutes == length
    notes = [] if plain_day else [paid_as]
    base = minutes
    overtime = 0
    if form.worked is not None and form.kind not in NO_OVERTIME and paid_as not in ("half_day", "by_hour"):
        over = max(0, form.worked - form.basic)
        overtime = -(-over // terms.step_minutes) * terms.step_minutes if terms.overtime.bands else 0
    if overtime:
        minutes += _ladder(parts, role, terms.overtime.split(overtime), overtime, "overtime")
        notes.append("overtime")
    if form.uplift:
        percent = _uplift_percent(terms, form.uplift)
        more = base * percent / 100
        before, extra = _paid(rate, base, length), _paid(rate, more, length)
        text = f"+ {plain(percent)} % {form.uplift.capitalize()} uplift on {shown(before)} = {shown(extra)}"
        inputs = (("percent", plain(percent)), ("base", trimmed(before).text))
        parts.append(Working(text, f"crew.{form.uplift}", extra, inputs=inputs))
        minutes += more
        notes.append(form.uplift)
    if form.night and terms.night:
        more = form.night * terms.night.percent / 100
        extra, hour = _paid(rate, more, length), _paid(rate, Decimal(60), length)
        text = f"+ {in_hours(form.night)} h at night with {plain(terms.night.percent)} % of {shown(hour)} an hour"
        inputs = (("night hours", in_hours(form.night)), ("percent", plain(terms.night.percent)))
        parts.append(Working(f"{text} = {shown(extra)}", "crew.night", extra, inputs=inputs))
        minutes += more
        notes.append("night")
    if form.short_rest and terms.rest.bands:
        minutes += _ladder(parts, role, terms.rest.split(form.short_rest), form.short_rest, "rest")
        notes.append("rest")
    amount, steps = _paid(rate, minutes, length), "; ".join(part.text for part in parts)
    return DayPay(rate, length, minutes, paid_as, overtime, tuple(notes), tuple(parts), amount, steps)


def short_rest_minutes(terms: CrewTerms, rested_minutes: int) -> int:
    """Minutes missing from the rest due between wrap and the next call."""
    return max(0, terms.rest_minutes - rested_minutes)


def _paid(rate: Money, minutes: Decimal, length: int) -> Money:
    """`rate` buys `length` minutes: the pay for `minutes` of them."""
    return rate if minutes == length else Money(rate.amount * minutes / length, rate.currency)


def _base(terms: CrewTerms, role: RoleRate, form: Shape) -> tuple[Decimal, str, list[Working]]:
    """The basic minutes paid before overtime and uplifts; how the day is paid; the steps."""
    rate, worked, lead = role.rate, form.worked, role.lead
    length = Decimal(lead.day_minutes)
    if form.mode == "by_hour" and worked is not None and worked < length:
        minutes = max(worked, lead.minimum_minutes)
        amount = _paid(rate, Decimal(minutes), lead.day_minutes)
        text = f"{in_hours(minutes)} h of {shown(rate)} for {in_hours(length)} h = {shown(amount)}"
        if minutes > worked:
            text += f" (the minimum call, {in_hours(worked)} h worked)"
        return Decimal(minutes), "by_hour", [role.working, Working(text, "crew.minimum_call", amount, COMMON)]
    kind = form.kind
    if form.mode == "half_day" and (worked is None or worked <= lead.half_day_minutes):
        kind = "half_day"
    elif kind == "travel" and not form.abroad and worked is not None and worked <= terms.short_travel_minutes:
        kind = "short_travel"
    percent = terms.pay_percent(lead, kind)
    if percent == 100:
        return length, kind, [role.working]
    minutes_paid = length * percent / 100
    amount = _paid(rate, minutes_paid, lead.day_minutes)
    text = f"a {LABELS[kind]} is paid at {plain(percent)} % of {shown(rate)} = {shown(amount)}"
    step = Working(text, f"crew.{kind}", amount, COMMON, (("percent", plain(percent)), ("day rate", rate.text)))
    return minutes_paid, kind, [role.working, step]


def _ladder(
    parts: list[Working], role: RoleRate, split: list[tuple[int, Decimal]], minutes: int, rule: str
) -> Decimal:
    """Adds the step for overtime or rest; returns the basic minutes it is worth."""
    length = role.lead.day_minutes
    weighted = sum((many * factor for many, factor in split), Decimal(0))
    amount, hour = _paid(role.rate, weighted, length), _paid(role.rate, Decimal(60), length)
    bands = " + ".join(f"{in_hours(many)} h at {plain(factor)} x {shown(hour)}" for many, factor in split)
    name = "overtime" if rule == "overtime" else f"rest short by {in_hours(minutes)} h"
    inputs = (
        ("basic hour", trimmed(hour).text),
        ("hours", in_hours(minutes)),
        ("basic hours paid", in_hours(weighted)),
    )
    source = OVERTIME_SOURCE if rule == "overtime" else REST_SOURCE
    parts.append(Working(f"+ {name}: {bands} = {shown(amount)}", f"crew.{rule}", amount, source, inputs))
    return weighted


def meal_of(role: Role, day: ShootDay) -> int:
    """The minutes between call and wrap that are no work: the meal break, as far as it is taken off."""
    span, worked = day.minutes_on_set, _worked(role, day)
    return 0 if span is None or worked is None else max(0, span - worked)


def _worked(role: Role, day: ShootDay) -> int | None:
    """Minutes of work: as said, or from call to wrap less the meal. A continuous day and a call by the hour have no
    meal, a half day only once it runs past its hours.
    """
    if day.minutes is not None:
        return day.minutes
    span = day.minutes_on_set
    if span is None:
        return None
    no_meal = day.continuous or day.by_hour or day.kind in NO_OVERTIME
    usual = 0 if no_meal else role.meal_minutes
    worked = max(0, span - (usual if day.meal_minutes is None else day.meal_minutes))
    return max(worked, min(span, role.half_day_minutes)) if day.half_day else worked


def _night_minutes(terms: CrewTerms, day: ShootDay) -> int:
    span = day.minutes_on_set
    if terms.night is None or day.call is None or span is None:
        return 0
    call = minute_of_day(day.call)
    start = minute_of_day(terms.night.start)
    length = (minute_of_day(terms.night.end) - start) % MINUTES_A_DAY
    return sum(
        max(0, min(call + span, start + shift + length) - max(call, start + shift))
        for shift in (-MINUTES_A_DAY, 0, MINUTES_A_DAY)
    )


def _uplift(terms: CrewTerms, on: date, holiday: DayOff) -> str:
    """The dearest uplift that applies on this date, or ""."""
    best, name = Decimal(0), ""
    for key, applies in (
        ("saturday", on.weekday() == 5),
        ("sunday", on.weekday() == 6),
        ("holiday", terms.holiday_percent > 0 and holiday(on)),
    ):
        if applies and _uplift_percent(terms, key) > best:
            best, name = _uplift_percent(terms, key), key
    return name


def _uplift_percent(terms: CrewTerms, name: str) -> Decimal:
    return {"saturday": terms.saturday_percent, "sunday": terms.sunday_percent, "holiday": terms.holiday_percent}[
        name
    ]
