"""The days of a job: as planned in the accepted quote, as they fall by now, as they were worked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import plain
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.shoot_day import ShootDay
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.jobs import Job
    from bizkit.store.work_days import MoveRecord, WorkedDay


@dataclass(frozen=True, slots=True)
class JobDays:
    """A job's days: as planned in the accepted quote, as they fall by now, and what was logged (position -> rows)."""

    job: Job
    quote: IssuedQuote
    card: RateCard
    planned: Brief
    actual: list[ShootDay]
    logged: dict[int, list[WorkedDay]]


def job_days(folder: StudioFolder, work: Connection, job: str) -> JobDays:
    """The days of a job. Raises NotFound, and RuleBroken for a quote whose brief was not kept."""
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.services.job.basis import on_its_days, quoted_brief
    from bizkit.services.job.jobs import the_job
    from bizkit.store.issued import by_number
    from bizkit.store.work_days import worked_days

    row = the_job(work, job)
    quote = by_number(work, row.quote_number, row.quote_revision)
    found = quoted_brief(folder, work, quote) if quote else None
    if quote is None or found is None:
        raise RuleBroken(f"{row.quote_number} was sent before briefs were kept with quotes: its days have no plan")
    card, planned = found
    actual = day_list(on_its_days(work, row.key, planned))
    logged = {position: rows for (key, position), rows in worked_days(work, row.key).items()}
    return JobDays(row, quote, card, planned, actual, logged)


def hold_days(folder: StudioFolder, days: JobDays, moves: list[MoveRecord]) -> Holds:
    """Hold days agreed and used, how they are charged and at what rate.

    Used are the dates on which crew and kit waited, as moves say; not one to which the day came back.
    """
    from bizkit.services.quoting.bookings import weather_of

    now = {number: str(day.date or "") for number, day in enumerate(days.actual, start=1)}
    waited = {move.moved_from for move in moves if move.hold and now.get(move.position) != move.moved_from}
    used = sorted(waited)
    found: Holds = {"agreed": 0, "used": used, "charge": "", "rate": "", "percent": ""}
    plan = weather_of(folder, days.card, days.planned)
    if plan is None:
        return found
    return {
        "agreed": plan.hold_days,
        "used": used,
        "charge": plan.request.charge,
        "rate": plan.hold_rate.rounded().text,
        "percent": plain(plan.request.hold_percent),
    }


class Holds(TypedDict):
    """Hold days agreed and used, how they are charged, and at what rate; empty without a weather plan."""

    agreed: int
    used: list[str]
    charge: str
    rate: str
    percent: str
