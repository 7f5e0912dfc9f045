"""Call and wrap of shoot days as they were, and the overrun to invoice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, cast

from bizkit.domain.dated_ahead import check_not_before
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, total
from bizkit.services.job.called_off import refuse_cancelled
from bizkit.services.job.jobs import by_date
from bizkit.services.shooting.job_days import JobDays, Row, hold_days, job_days
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import Line
    from bizkit.store.work_days import WorkedDay


def log_day(
    folder: StudioFolder,
    job: str,
    day: date,
    on: date,
    *,
    call: str,
    wrap: str,
    who: Sequence[str] = (),
    meal_hours: str = "",
    dives: int | None = None,
    note: str = "",
    number: int | None = None,
) -> Row:
    """Write down call and wrap of a day as it was; what it cost over the plan becomes charges with their working.

    who: people (or roles of people without a name) it is about, everybody when empty. A later log for the same
    people takes the place of the one before. The plan is the hours planned on the date the day falls on; what that
    date itself costs above the one agreed (`moved`) is charged with the move. number: which of the job's days, where
    several fall on the date. Raises
    NotFound for a date or a person that is not in the plan, RuleBroken for a day to come or charges that are billed.
    """
    from bizkit.domain.dates import clock_time
    from bizkit.domain.pricing.crew_days import who_of
    from bizkit.services.job.charges import put_charges
    from bizkit.services.shooting.dearer_days import put_dearer
    from bizkit.store.events import record
    from bizkit.store.work_days import add_worked_day, moved_days

    started, ended = clock_time(call, field="--call"), clock_time(wrap, field="--wrap")
    meal = _meal_minutes(meal_hours)
    stamp = folder.stamp(on, ("DATE", day))
    with folder.book.work() as work:
        days = job_days(folder, work, job)
        refuse_cancelled(work, days.job.key)
        position = _position(days, day, number)
        check_not_before(day, on, field="DATE", why="it is still to come, and is logged when it was worked")
        names = [who_of(entry) for entry in days.actual[position - 1].crew]
        for name in who:
            if name not in names:
                raise NotFound("person of the day", name, names, field="--who")
        row = {
            "job": days.job.key,
            "position": position,
            "on": day.isoformat(),
            "who": sorted(who),
            "call": f"{started:%H:%M}",
            "wrap": f"{ended:%H:%M}",
            "meal_minutes": meal,
            "dives": dives,
            "note": note,
        }
        add_worked_day(work, stamp, row)
        days = job_days(folder, work, days.job.key)
        lines = overrun_lines(folder, days, position)
        put_charges(work, stamp, days.job.key, "overrun", lines, source=_source(days, position))
        moved = put_dearer(folder, work, stamp, days, moved_days(work, days.job.key), [position])
        over = total((line.amount for line in lines), days.job.currency)
        record(work, stamp, "logged day", days.job.key, day=day.isoformat(), who=row["who"], overrun=over.text)
    return {
        **row,
        "currency": days.job.currency,
        "overrun": over.rounded().text,
        "lines": [line.data() for line in lines],
        "moved": moved[0] if moved and moved[0]["borne_by"] else None,
    }


def list_days(folder: StudioFolder, job: str) -> Row:
    """Each day of a job by date: planned and real times, overrun, where it moved from; and the hold days used."""
    from bizkit.services.job.charges import charge_rows
    from bizkit.store.work_days import moved_days

    with folder.book.read() as work:
        days = job_days(folder, work, job)
        moves = moved_days(work, days.job.key)
        charged = charge_rows(work, days.job.key)
    holds = hold_days(folder, days, moves)
    rows = []
    for position, one in enumerate(days.actual, start=1):
        source = _source(days, position)
        over = [row for row in charged if source and row["source"] == source and row["state"] != "waived"]
        rows.append(
            {
                "number": position,
                "on": one.date.isoformat() if one.date else "",
                "kind": one.kind,
                "place": one.place,
                "planned": _times(one.call, one.wrap),
                "logged": [
                    {"who": row.who, "call": row.call, "wrap": row.wrap, "dives": row.dives}
                    for row in days.logged.get(position, [])
                ],
                "overrun": total((Money(row["amount"], row["currency"]) for row in over), days.job.currency)
                .rounded()
                .text,
                "moved": [
                    {"from": move.moved_from, "to": move.moved_to, "why": move.why}
                    for move in moves
                    if move.position == position
                ],
            }
        )
    rows.sort(key=lambda row: by_date(str(row["on"]), cast(int, row["number"])))
    return {"job": days.job.key, "currency": days.job.currency, "days": rows, "holds": holds}


def _source(days: JobDays, position: int) -> str:
    """The record that an overrun comes from: the date, and which day where several fall on it; empty while open."""
    on = days.actual[position - 1].date
    several = sum(1 for one in days.actual if one.date == on) > 1
    return "" if on is None else f"day {on}, {position}" if several else f"day {on}"


def overrun_lines(folder: StudioFolder, days: JobDays, position: int) -> list[Line]:
    """What a logged day cost over the plan, one line for each crew entry paid more, in the quote's currency."""
    from bizkit.domain.pricing.crew_days import overrun, short_rests, who_of
    from bizkit.services.studio.wording import words_of

    day = days.actual[position - 1]
    rows = days.logged.get(position, [])
    rests, words = short_rests(days.card.crew, days.planned.days), words_of(folder, days.quote.document)
    field, number = [(one.field, many) for one in days.planned.days for many in range(one.count)][position - 1]
    lines: list[Line] = []
    for entry in day.crew:
        name = who_of(entry)
        row = _row_of(rows, name)
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
        lines += [
            replace(
                line,
                item=words.say(
                    "charges.beyond_plan", item=line.item, date=str(day.date), call=row.call, wrap=row.wrap
                ),
            )
            for line in found
        ]
    exchange = days.planned.exchange
    return [exchange.line(line, days.job.currency) for line in lines] if exchange else lines


def _row_of(rows: list[WorkedDay], name: str) -> WorkedDay | None:
    """What was logged for one person: a row of their own before the one for everybody."""
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
        row = _row_of(days.logged.get(number, []), name)
        call = time.fromisoformat(row.call) if row else day.call
        wrap = time.fromisoformat(row.wrap) if row else day.wrap
        if call is not None and wrap is not None:
            ends.append((day.date + timedelta(days=1) if wrap <= call else day.date, wrap))
    return max(ends, default=None)


def _position(days: JobDays, day: date, number: int | None) -> int:
    found = [place for place, one in enumerate(days.actual, start=1) if one.date == day]
    if number is not None:
        if number not in found:
            raise NotFound("day on that date", number, [str(one) for one in found], field="--number")
        return number
    if not found:
        raise NotFound("day of the job", day, [str(one.date) for one in days.actual if one.date], field="DATE")
    if len(found) > 1:
        each = ", ".join(f"{one} ({days.actual[one - 1].kind})" for one in found)
        raise BadInput(wanted=f"one day of {day}: {each}", got="none said", field="--number")
    return found[0]


def _meal_minutes(hours: str) -> int | None:
    from bizkit.domain.pricing.bands import hours_to_minutes
    from bizkit.domain.typed_numbers import number_of

    if not hours:
        return None
    wanted = "hours such as 0.75"
    exact = number_of(hours, field="--meal-hours", wanted=wanted, least=0, most=24)
    try:
        return hours_to_minutes(exact)
    except BadInput as error:
        raise BadInput(wanted=wanted, got=error.got, field="--meal-hours") from None


def _times(call: time | None, wrap: time | None) -> str:
    return f"{call:%H:%M}-{wrap:%H:%M}" if call and wrap else ""
