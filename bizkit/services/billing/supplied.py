"""When the work of a job was done, as its invoices say it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection


def delivered_on(work: Connection, job: str) -> date | None:
    """The day on which the last deliverable of a job was approved; None while one is open or there are none."""
    from bizkit.store.deliveries import deliverables

    approvals = [one.approved_on for one in deliverables(work, job)]
    return date.fromisoformat(max(approvals)) if approvals and all(approvals) else None


def performed_on(work: Connection, job: str) -> date | None:
    """The day on which all work of a job was done, or is to be by its dates; None while that is not known.

    A job that promises no deliverable is done with its last day, a cancelled one when it was cancelled.
    """
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.store.deliveries import deliverables

    gone = cancelled_on(work, job)
    if gone:
        return date.fromisoformat(gone)
    done = delivered_on(work, job)
    days, all_dated = _days(work, job)
    if done is None and days and all_dated and not deliverables(work, job):
        done = max(days)
    return done


def supplied(work: Connection, job: str, on: date) -> tuple[date, date] | None:
    """First and last day (inclusive) on which a job was worked and delivered; None while it is not all done by `on`.

    A job that promises no deliverable is done with its last day.
    """
    from bizkit.store.deliveries import deliverables

    days, all_dated = _days(work, job)
    done = delivered_on(work, job)
    if done is None and days and all_dated and not deliverables(work, job):
        done = max(days)
    if done is None or done > on:
        return None
    return min((day for day in days if day <= done), default=done), done


def _days(work: Connection, job: str) -> tuple[list[date], bool]:
    """Days of a job that have a date, and whether all have one."""
    from bizkit.store.jobs import shoot_days

    dates = [row.on for row in shoot_days(work, job)]
    return [date.fromisoformat(day) for day in dates if day], all(dates)
