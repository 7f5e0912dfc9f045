"""What logged days cost over the plan, and anew where the rest before them has become another one."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.money import Money, total
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.services.shooting.job_days import JobDays
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp
    from bizkit.store.work_days import WorkedDay

#: A rest before a day is held against the work of as many days before it.
REACH = timedelta(days=2)


def put_rests(
    folder: StudioFolder, work: Connection, stamp: Stamp, days: JobDays, dates: Collection[date]
) -> list[RestRow]:
    """Charge anew the logged days that follow one of `dates`, whose work is another one by now; those that changed.

    What was billed or waived stays: an open charge asks for the difference or gives it back.
    """
    found = []
    for position in days.logged:
        on = days.actual[position - 1].date
        if on is not None and any(before < on <= before + REACH for before in dates):
            found += _again(folder, work, stamp, days, position, on)
    return sorted(found, key=lambda row: str(row["on"]))


def _again(
    folder: StudioFolder, work: Connection, stamp: Stamp, days: JobDays, position: int, on: date
) -> list[RestRow]:
    from bizkit.services.job.charges import put_charges, put_difference
    from bizkit.store.charges import charges

    job, currency, source = days.job.key, days.job.currency, day_source(days, position)
    lines, rows = overrun_lines(folder, days, position), charges(work, job, source=source)
    now, before = total((line.amount for line in lines), currency), total((row.amount for row in rows), currency)
    if now == before:
        return []
    if any(row.invoice or row.waived for row in rows):
        section, item = (lines[0].section, lines[0].item) if lines else (rows[0].section, rows[0].item)
        why = "; ".join(line.why for line in lines) or "within the plan by now"
        one = Line(section, item, Decimal(1), "flat", now, now, Working(why, "shoot_day.overrun", now))
        left = put_difference(work, stamp, job, "overrun", one, source=source)
    else:
        put_charges(work, stamp, job, "overrun", lines, source=source)
        left = now
    return [{"on": on.isoformat(), "before": _text(before), "overrun": _text(now), "to_invoice": _text(left)}]


def _text(amount: Money) -> str:
    return amount.rounded().text


def day_source(days: JobDays, position: int) -> str:
    """The record that an overrun comes from: the date, and which day where several fall on it; empty while open."""
    on = days.actual[position - 1].date
    several = sum(1 for one in days.actual if one.date == on) > 1
    return "" if on is None else f"day {on}, {position}" if several else f"day {on}"


def overrun_lines(folder: StudioFolder, days: JobDays, position: int) -> list[Line]:
    """What a logged day cost over the plan, one line for each crew entry paid more, in the quote's currency."""
    from bizkit.domain.pricing.crew_days import MEAL_HOURS, overrun, short_rests, who_of
    from bizkit.domain.pricing.sentences import number_in
    from bizkit.services.studio.wording import words_of

    day = days.actual[position - 1]
    rows = days.logged.get(position, [])
    rests, words = short_rests(days.card.crew, days.planned.days), words_of(folder, days.quote.document)
    field, number = [(one.field, many) for one in days.planned.days for many in range(one.count)][position - 1]
    lines: list[Line] = []
    for entry in day.crew:
        name = who_of(entry)
        row = logged_for(rows, name)
        if row is None or day.date is None:
            continue
        found = overrun(
            days.card.crew,
            replace(day, crew=(entry,)),
            call=time.fromisoformat(row.call),
            wrap=time.fromisoformat(row.wrap),
            words=days.card.words,
            holiday=folder.holiday,
            meal_minutes=row.meal_minutes,
            wrapped_before=_wrap_before(days, position, name),
            planned_rest_short=rests.get((field, number, name), 0),
            where=days.planned.where,
        )
        for line in found:
            meal = dict(line.working.inputs)[MEAL_HOURS]
            said = {"item": line.item, "date": str(day.date), "call": row.call, "wrap": row.wrap}
            item = (
                words.say("charges.beyond_plan_meal", **said, meal=number_in(days.card.words, meal))
                if Decimal(meal)
                else words.say("charges.beyond_plan", **said)
            )
            lines.append(replace(line, item=item))
    exchange = days.planned.exchange
    return [exchange.line(line, days.job.currency) for line in lines] if exchange else lines


def logged_for(rows: list[WorkedDay], name: str) -> WorkedDay | None:
    """What was logged of a day for one person: a row of their own before the one for everybody."""
    own = [row for row in rows if name in row.who]
    everybody = [row for row in rows if not row.who]
    return max(own or everybody, key=lambda row: int(row.id), default=None)


def _wrap_before(days: JobDays, position: int, name: str) -> tuple[date, time] | None:
    """When this person wrapped last on an earlier date, as logged, else as planned; of the two days before."""
    from bizkit.domain.pricing.crew_days import who_of

    this = days.actual[position - 1].date
    ends: list[tuple[date, time]] = []
    for number, day in enumerate(days.actual, start=1):
        if this is None or day.date is None or not this - timedelta(days=2) <= day.date < this:
            continue
        if name not in [who_of(entry) for entry in day.crew]:
            continue
        row = logged_for(days.logged.get(number, []), name)
        call = time.fromisoformat(row.call) if row else day.call
        wrap = time.fromisoformat(row.wrap) if row else day.wrap
        if call is not None and wrap is not None:
            ends.append((day.date + timedelta(days=1) if wrap <= call else day.date, wrap))
    return max(ends, default=None)


class RestRow(TypedDict):
    """A logged day whose rest became another: over the plan before and by now, and what of it is to invoice."""

    on: str
    before: str
    overrun: str
    to_invoice: str
