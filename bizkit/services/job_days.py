"""The days of a job: as planned in the accepted quote, as they fall by now, as they were worked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import plain
from bizkit.services.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.shoot_day import ShootDay
    from bizkit.store.issued import Issued

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class JobDays:
    """A job's days: as planned in the accepted quote, as they fall by now, and what was logged (position -> rows)."""

    job: Row
    quote: Issued
    card: RateCard
    planned: Brief
    actual: list[ShootDay]
    logged: dict[int, list[Row]]


def job_days(folder: StudioFolder, work: Connection, job: str) -> JobDays:
    """The days of a job. Raises NotFound, and RuleBroken for a quote whose brief was not kept."""
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.domain.pricing.options import choose, chosen_brief
    from bizkit.services.bookings import actual_brief
    from bizkit.services.jobs import the_job
    from bizkit.services.pricing import read_basis
    from bizkit.store.basis import basis_of
    from bizkit.store.issued import by_number
    from bizkit.store.work_days import worked_days

    row = the_job(work, job)
    quote = by_number(work, row["quote_number"], row["quote_revision"])
    basis = basis_of(work, row["quote_number"], row["quote_revision"])
    actual = actual_brief(folder, work, row, quote) if quote else None
    if quote is None or basis is None or actual is None:
        raise RuleBroken(f"{row['quote_number']} was sent before briefs were kept with quotes: its days have no plan")
    card, planned, _ = read_basis(folder, basis.brief, basis.brief_file, basis.card, quote.document)
    planned = choose(planned, basis.options) if basis.options else chosen_brief(planned)
    logged = {position: rows for (key, position), rows in worked_days(work, row["key"]).items()}
    return JobDays(row, quote, card, planned, day_list(actual[1]), logged)


def hold_days(folder: StudioFolder, days: JobDays, moves: list[Row]) -> Row:
    """Hold days agreed and used, how they are charged and at what rate."""
    from bizkit.domain.pricing.estimate import price

    used = sorted({move["moved_from"] for move in moves if move["hold"]})
    found: Row = {"agreed": 0, "used": used, "charge": "", "rate": "", "percent": ""}
    if days.planned.weather is None:
        return found
    plan = price(days.card, days.planned, day_off=folder.day_off, holiday=folder.holiday).weather
    if plan is None:
        return found
    rate = {"rate": plan.hold_rate.rounded().text, "percent": plain(plan.request.hold_percent)}
    return {**found, "agreed": plan.hold_days, "charge": plan.request.charge, **rate}
