"""Crew days of a brief as priced lines: equal days of one person are one line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, time
from decimal import Decimal
from itertools import pairwise
from typing import Final

from bizkit.domain.dates import DayOff
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.pricing.crew_pay import (
    DayPay,
    RoleRate,
    Shape,
    day_pay,
    meal_of,
    role_rate,
    shape,
    short_rest_minutes,
)
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.line import Line, Shares
from bizkit.domain.pricing.sentences import in_hours, number_in, shown, trimmed
from bizkit.domain.pricing.shoot_day import MINUTES_A_DAY, CrewEntry, ShootDay, minute_of_day
from bizkit.domain.pricing.working import Working

#: Where the working of an overrun says how long its meal break was.
MEAL_HOURS: Final = "meal hours"


@dataclass(slots=True)
class _Group:
    """Like days of one person (or of like unnamed people)."""

    person: str
    role: RoleRate
    pay: DayPay
    kinds: dict[str, int] = field(default_factory=dict)
    dates: list[date] = field(default_factory=list)
    people: dict[int, int] = field(default_factory=dict)  # position of the single day -> how many

    @property
    def quantity(self) -> int:
        return sum(self.kinds.values())

    @property
    def section(self) -> str:
        return "weather" if set(self.kinds) == {"hold"} else "crew"


def crew_lines(
    terms: CrewTerms, days: Sequence[ShootDay], words: Mapping[str, str], *, holiday: DayOff, where: str = ""
) -> list[Line]:
    """One line for each person, roles and pay of a day, in the order of the brief; hold days under "weather".

    Raises NotFound for an unknown role, BadInput when one person is paid two whole days on one date.
    """
    return [_line(group, words) for group in _groups(terms, days, words, holiday, where)]


def crew_shares(
    terms: CrewTerms, days: Sequence[ShootDay], words: Mapping[str, str], *, holiday: DayOff, where: str = ""
) -> list[Shares]:
    """Which single days each of the `crew_lines` is for, in the same order, by the people paid on it."""
    return [
        Shares(group.section, _title(group, words), {place: Decimal(many) for place, many in group.people.items()})
        for group in _groups(terms, days, words, holiday, where)
    ]


def _groups(
    terms: CrewTerms, days: Sequence[ShootDay], words: Mapping[str, str], holiday: DayOff, where: str
) -> list[_Group]:
    position = 0
    rates: dict[tuple[str, ...], RoleRate] = {}
    pays: dict[tuple[tuple[str, ...], Shape], DayPay] = {}
    groups: dict[tuple[object, ...], _Group] = {}
    rests = short_rests(terms, days)
    _refuse_paid_twice(days, where)
    for day in days:
        for number in range(day.count):
            position += 1
            on = day.dates()[number] if day.date else None
            for entry in day.crew:
                rate = rates.get(entry.roles)
                if rate is None:
                    rate = role_rate(terms, entry.roles, words, field=entry.field, where=where)
                    rates[entry.roles] = rate
                rest = rests.get((day.field, number, who_of(entry)), 0)
                form = shape(terms, rate.lead, day, on, holiday, rest)
                pay = pays.get((entry.roles, form))
                if pay is None:
                    pay = pays[entry.roles, form] = day_pay(terms, rate, form)
                like = (day.kind, pay.paid_as) if pay.notes else ("shoot",)
                key = (entry.person, entry.roles, like, pay.notes, pay.minutes)
                group = groups.setdefault(key, _Group(entry.person, rate, pay))
                group.kinds[day.kind] = group.kinds.get(day.kind, 0) + entry.people
                group.people[position] = group.people.get(position, 0) + entry.people
                if on:
                    group.dates.append(on)
    return list(groups.values())


def overrun(
    terms: CrewTerms,
    planned: ShootDay,
    *,
    call: time,
    wrap: time,
    words: Mapping[str, str],
    holiday: DayOff,
    meal_minutes: int | None = None,
    wrapped_before: tuple[date, time] | None = None,
    planned_rest_short: int = 0,
    where: str = "",
) -> list[Line]:
    """What a day really cost over the plan: one line for each crew entry paid more by the real call and wrap.

    planned: one day of the accepted brief (its `date` is the day's date). wrapped_before: date and time of the wrap
    before this call, for the rest rule; None when there was none close by. planned_rest_short: minutes of rest that
    were missing in the plan already, and so are in the price. A day that ran shorter gives no line: the day rate
    stands.
    """
    actual = replace(
        planned,
        minutes=None,
        call=call,
        wrap=wrap,
        meal_minutes=planned.meal_minutes if meal_minutes is None else meal_minutes,
    )
    rest = 0
    if wrapped_before and planned.date:
        call_at = planned.date.toordinal() * MINUTES_A_DAY + minute_of_day(call)
        wrap_at = wrapped_before[0].toordinal() * MINUTES_A_DAY + minute_of_day(wrapped_before[1])
        if wrap_at >= call_at:
            got = f"a wrap at {wrapped_before[1]:%H:%M} on {wrapped_before[0]}"
            raise BadInput(
                wanted=f"a last wrap before the call at {call:%H:%M} on {planned.date}", got=got, field="wrap"
            )
        rest = short_rest_minutes(terms, call_at - wrap_at)
    lines = []
    for entry in planned.crew:
        role = role_rate(terms, entry.roles, words, field=entry.field, where=where)
        plan = day_pay(terms, role, shape(terms, role.lead, planned, planned.date, holiday, planned_rest_short))
        real = day_pay(terms, role, shape(terms, role.lead, actual, planned.date, holiday, rest))
        more = real.amount - plan.amount
        if more.amount <= 0:
            continue
        exact = real.times(entry.people) - plan.times(entry.people)
        text = f"{call:%H:%M} to {wrap:%H:%M} pays {shown(real.amount)}, planned were {shown(plan.amount)}"
        if entry.people > 1:
            text += f"; {entry.people} people x {shown(more)}"
        working = Working(
            f"{text} = {shown(exact)} more",
            "crew.overrun",
            exact,
            inputs=(
                ("call", f"{call:%H:%M}"),
                ("wrap", f"{wrap:%H:%M}"),
                (MEAL_HOURS, in_hours(meal_of(role.lead, actual))),
                ("planned", trimmed(plan.amount).text),
            ),
            parts=real.parts,
        )
        item = _item(entry.person, role, _notes(real, words, plan))
        counted = _overtime_alone(terms, plan, real, entry.people, exact)
        quantity, unit, rate = counted or (Decimal(entry.people), "flat", trimmed(more))
        lines.append(Line("crew", item, quantity, unit, rate, exact.rounded(), working))
    return lines


def _overtime_alone(
    terms: CrewTerms, plan: DayPay, real: DayPay, people: int, more: Money
) -> tuple[Decimal, str, Money] | None:
    """Hours, unit and price of an hour where a day cost more for overtime alone, and all of it at one price."""
    rest = [[part for part in pay.parts if part.rule != "crew.overtime"] for pay in (plan, real)]
    bands = [terms.overtime.split(pay.overtime_minutes) for pay in (plan, real)]
    beyond = [
        (many - (bands[0][place][0] if place < len(bands[0]) else 0), factor)
        for place, (many, factor) in enumerate(bands[1])
    ]
    beyond = [(many, factor) for many, factor in beyond if many > 0]
    if rest[0] != rest[1] or len({factor for _, factor in beyond}) != 1:
        return None
    hours = Decimal(sum(many for many, _ in beyond) * people) / 60
    rate = trimmed(Money(more.amount / hours, more.currency))
    even = hours == round(hours, 2) and (rate * hours).rounded() == more.rounded()
    return (hours, "hour", rate) if even else None


def day_cost(terms: CrewTerms, day: ShootDay, words: Mapping[str, str], *, kind: str, where: str = "") -> Money:
    """What the crew of `day` costs for one plain day of `kind`, without overtime or uplifts, exact."""
    currency = next(iter(terms.roles.values())).day_rate.currency
    whole = Money(0, currency)
    for entry in day.crew:
        role = role_rate(terms, entry.roles, words, field=entry.field, where=where)
        form = Shape(kind, None, "day", role.lead.day_minutes)
        whole = whole + day_pay(terms, role, form).amount * entry.people
    return whole


def crew_on(
    terms: CrewTerms,
    day: ShootDay,
    on: date | None,
    words: Mapping[str, str],
    *,
    holiday: DayOff,
    where: str = "",
) -> list[tuple[CrewEntry, DayPay]]:
    """What each crew entry of a single day is paid where it falls on the date `on`, by the times planned.

    Rest cut short by the days beside it is left out: it follows from call and wrap as they were, see `overrun`.
    """
    paid = []
    for entry in day.crew:
        role = role_rate(terms, entry.roles, words, field=entry.field, where=where)
        paid.append((entry, day_pay(terms, role, shape(terms, role.lead, day, on, holiday))))
    return paid


def _line(group: _Group, words: Mapping[str, str]) -> Line:
    pay, quantity = group.pay, group.quantity
    exact = pay.times(quantity)
    count = " and ".join(f"{number} {kind} day" + ("s" if number > 1 else "") for kind, number in group.kinds.items())
    each = f" x {shown(pay.amount)}" if quantity > 1 or len(pay.parts) > 1 else ""
    text = f"{count}{each}: {pay.steps}"
    rate = trimmed(pay.amount)
    inputs = [("days", str(quantity)), ("rate per day", rate.text)]
    if group.dates:
        inputs.append(("dates", ", ".join(str(day) for day in sorted(set(group.dates)))))
    working = Working(text, "crew.day", exact, inputs=tuple(inputs), parts=pay.parts)
    return Line(group.section, _title(group, words), Decimal(quantity), "day", rate, exact.rounded(), working)


def _title(group: _Group, words: Mapping[str, str]) -> str:
    return _item(group.person, group.role, _notes(group.pay, words))


def _item(person: str, role: RoleRate, notes: str) -> str:
    title = f"{person}: {role.title}" if person else role.title
    return f"{title} ({notes})" if notes else title


def _notes(pay: DayPay, words: Mapping[str, str], plan: DayPay | None = None) -> str:
    """How a day departs from a plain one; beyond `plan`, where it is held against one."""
    overtime = pay.overtime_minutes - (plan.overtime_minutes if plan else 0)
    planned = plan.notes if plan else ()
    return ", ".join(
        words[note].replace("{hours}", number_in(words, in_hours(overtime)))
        for note in pay.notes
        if (overtime > 0 if "{hours}" in words[note] else note not in planned)
    )


def who_of(entry: CrewEntry) -> str:
    """The person, or the roles of people without a name."""
    return entry.person or "/".join(entry.roles)


@dataclass(frozen=True, slots=True)
class Rested:
    """The rest of one person before a day. minutes: from the last wrap to its call. field, number: the day, and which
    of a run of like days."""

    who: str
    field: str
    number: int
    minutes: int


def rests_before(days: Sequence[ShootDay]) -> list[Rested]:
    """Everybody's rests between days with a call and a wrap.

    All that one person does on one date is one stretch of work. Days without a date are apart from all others.
    """
    worked: dict[str, dict[int, tuple[int, int, str, int]]] = {}
    for index, day in enumerate(days):
        span = day.minutes_on_set
        if span is None or day.call is None:
            continue
        first = day.date.toordinal() if day.date else -(index + 1) * 1000
        for number in range(day.count):
            call = (first + number) * MINUTES_A_DAY + minute_of_day(day.call)
            for entry in day.crew:
                same = worked.setdefault(who_of(entry), {})
                old = same.get(first + number, (call, call, day.field, number))
                at = (day.field, number) if call < old[0] else old[2:]
                same[first + number] = (min(call, old[0]), max(call + span, old[1]), *at)
    return [
        Rested(who, field_, number, max(0, call - wrap))
        for who, by_date in worked.items()
        for (_, wrap, _, _), (call, _, field_, number) in pairwise(by_date[on] for on in sorted(by_date))
    ]


def short_rests(terms: CrewTerms, days: Sequence[ShootDay]) -> dict[tuple[str, int, str], int]:
    """Minutes of rest missing before a day, by (day, number within it, who), where the card charges them."""
    if not terms.rest.bands:
        return {}
    short = {(one.field, one.number, one.who): short_rest_minutes(terms, one.minutes) for one in rests_before(days)}
    return {day: missing for day, missing in short.items() if missing}


def _refuse_paid_twice(days: Sequence[ShootDay], where: str) -> None:
    paid: dict[tuple[str, date], str] = {}
    for day in days:
        if day.half_day or day.by_hour or (day.kind == "travel" and day.minutes is not None):
            continue
        for entry in day.crew:
            for on in day.dates() if entry.person else ():
                if (entry.person, on) in paid:
                    also = f"{entry.person} on {on} is also in {paid[entry.person, on]}"
                    raise BadInput(
                        wanted=f"one whole day a person and date ({also})",
                        got="two",
                        field=entry.field,
                        where=where,
                        hint="Put all roles in one entry, or mark the days half_day",
                    )
                paid[entry.person, on] = day.field
