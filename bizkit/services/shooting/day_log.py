"""Call and wrap of shoot days as they were, and the overrun to invoice."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.dated_ahead import check_not_before
from bizkit.domain.errors import BadInput, NotFound, suggest
from bizkit.domain.money import Money, total
from bizkit.services.job.called_off import refuse_cancelled
from bizkit.services.job.jobs import by_date
from bizkit.services.shooting.job_days import JobDays, hold_days, job_days
from bizkit.services.shooting.overruns import day_source, overrun_lines, put_rests
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import LineData
    from bizkit.services.shooting.dearer_days import DearerRow
    from bizkit.services.shooting.job_days import Holds
    from bizkit.services.shooting.overruns import RestRow

    pass


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
) -> DayLogged:
    """Write down call and wrap of a day as it was; what it cost over the plan becomes charges with their working.

    who: people (or roles of people without a name) it is about, everybody when empty. A later log for the same
    people takes the place of the one before. The plan is the hours planned on the date the day falls on; what that
    date itself costs above the one agreed (`moved`) is charged with the move. Days logged before that follow this one
    are charged anew (`following`), as the rest before them is another one. number: which of the job's days, where
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
    if started == ended:
        raise BadInput(
            wanted="another time than the call",
            got=wrap,
            field="--wrap",
            hint="Round the clock is a wrap a minute before the call",
        )
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
                more = f"bizkit cost add {days.job.key} and, agreed with the client, bizkit charge add {days.job.key}"
                hint = f"{suggest(name, names)}; whoever came beyond the plan is no part of it: {more}"
                raise NotFound("person of the day", name, names, field="--who", hint=hint)
        row: WorkedTimes = {
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
        put_charges(work, stamp, days.job.key, "overrun", lines, source=day_source(days, position))
        moved = put_dearer(folder, work, stamp, days, moved_days(work, days.job.key), [position])
        following = put_rests(folder, work, stamp, days, [day])
        over = total((line.amount for line in lines), days.job.currency)
        record(work, stamp, "logged day", days.job.key, day=day.isoformat(), who=row["who"], overrun=over.text)
    return {
        **row,
        "currency": days.job.currency,
        "overrun": over.rounded().text,
        "lines": [line.data() for line in lines],
        "moved": moved[0] if moved and moved[0]["borne_by"] else None,
        "following": following,
    }


def list_days(folder: StudioFolder, job: str) -> DaysShown:
    """Each day of a job by date: planned and real times, overrun, where it moved from; and the hold days used."""
    from bizkit.services.job.charges import charge_rows
    from bizkit.store.work_days import moved_days

    with folder.book.read() as work:
        days = job_days(folder, work, job)
        moves = moved_days(work, days.job.key)
        charged = charge_rows(work, days.job.key)
    holds = hold_days(folder, days, moves)
    rows: list[DayShown] = []
    for position, one in enumerate(days.actual, start=1):
        source = day_source(days, position)
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
    rows.sort(key=lambda row: by_date(row["on"], row["number"]))
    return {"job": days.job.key, "currency": days.job.currency, "days": rows, "holds": holds}


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


class WorkedTimes(TypedDict):
    """Call and wrap of a day as they were; who: people it is about, empty for everybody."""

    job: str
    position: int
    on: str
    who: list[str]
    call: str
    wrap: str
    meal_minutes: int | None
    dives: int | None
    note: str


class DayLogged(WorkedTimes):
    """A day as it was worked, and what that costs over the plan."""

    currency: str
    overrun: str
    lines: list[LineData]
    moved: DearerRow | None
    following: list[RestRow]


class DaysShown(TypedDict):
    """The days of a job by date."""

    job: str
    currency: str
    days: list[DayShown]
    holds: Holds


class DayShown(TypedDict):
    """A day: planned and real times, its overrun, and where it moved from."""

    number: int
    on: str
    kind: str
    place: str
    planned: str
    logged: list[TimesLogged]
    overrun: str
    moved: list[DayMove]


class TimesLogged(TypedDict):
    """Call and wrap as they were; who: empty for everybody."""

    who: list[str]
    call: str
    wrap: str
    dives: int | None


#: A move of a day.
DayMove = TypedDict(
    "DayMove",
    {"from": str, "to": str, "why": str},
)
