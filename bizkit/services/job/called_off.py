"""Whether a job was cancelled, which ends its days and stages."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken

if TYPE_CHECKING:
    from sqlalchemy import Connection


def cancellations(work: Connection, job: str | None = None) -> dict[str, date]:
    """Job -> the day on which it was cancelled, of one job or all; those that were not are left out."""
    from bizkit.store.spent import called_off_jobs

    rows = [row for row in called_off_jobs(work, job) if row.kind == "cancel"]
    return {row.job: date.fromisoformat(row.notice_on) for row in rows}


def cancelled_on(work: Connection, job: str) -> str:
    """The day on which a job was cancelled; empty when it was not."""
    gone = cancellations(work, job).get(job)
    return gone.isoformat() if gone else ""


def refuse_cancelled(work: Connection, job: str) -> None:
    """Refuse to go on with a job that was cancelled. Raises RuleBroken."""
    gone = cancelled_on(work, job)
    if gone:
        raise RuleBroken(
            f"{job} was cancelled on {gone}: its days and stages stay as they are; settle the fee with "
            f"bizkit invoice settle {job}"
        )
