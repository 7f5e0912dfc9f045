"""Which jobs still have something to come: by columns alone, so that others cost a look at the business nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from sqlalchemy import Connection, Integer, Select, and_, cast, func, or_, select

from bizkit.store.canonical import member
from bizkit.store.register import left_of_invoices
from bizkit.store.schema import deliverable, job, register, shoot_day, stage, version
from bizkit.store.schema.delivery import archive
from bizkit.store.schema.planning import called_off, charge
from bizkit.store.schema.rights import licence, licence_change


def unfinished(work: Connection, on: date, until: date) -> set[str]:
    """Keys of the jobs of which anything is to be invoiced, paid, paid back, delivered or shot, whose licence is not
    over on the day `on`, or of which a promise to keep files ends from then to `until` (both days included)."""
    found: set[str] = set()
    for query in _queries(work, on.isoformat(), until.isoformat()):
        found.update(work.execute(query).scalars())
    return found


def _queries(work: Connection, on: str, until: str) -> Iterator[Select[Any]]:
    cancelled = select(called_off.c.job).where(called_off.c.kind == "cancel")
    undone = select(register.c.credits).where(register.c.undoes)
    settled = select(register.c.key).where(register.c.settles, register.c.number.not_in(undone))
    # To invoice: a stage, the fee of a cancelled job, a charge.
    yield select(stage.c.job).where(stage.c.invoice == "", stage.c.job.not_in(cancelled))
    yield cancelled.where(called_off.c.job.not_in(settled))
    yield select(charge.c.job).where(charge.c.invoice == "", charge.c.waived == "")
    # To be paid or paid back.
    invoices = left_of_invoices().subquery()
    yield select(invoices.c.key).where(invoices.c["left"] != 0)
    # To deliver: not approved, or another version after the approved one.
    newest = select(version.c.job, version.c.deliverable, func.max(version.c.number).label("newest"))
    sent = newest.group_by(version.c.job, version.c.deliverable).subquery()
    final = cast(func.coalesce(member(work, deliverable.c.data, "final"), "0"), Integer)
    yield (
        select(deliverable.c.job)
        .outerjoin(sent, and_(sent.c.job == deliverable.c.job, sent.c.deliverable == deliverable.c.key))
        .where(
            deliverable.c.job.not_in(cancelled),
            or_(deliverable.c.approved_on == "", func.coalesce(sent.c.newest, 0) > final),
        )
    )
    # To shoot.
    yield select(shoot_day.c.job).where(
        shoot_day.c.job.not_in(cancelled), or_(shoot_day.c.on >= on, shoot_day.c.on == "")
    )
    # Licensed, or promised so.
    ends = member(work, licence.c.data, "request", "ends")
    stopped = select(licence_change.c.licence).where(licence_change.c.change == "ended")
    over = stopped.group_by(licence_change.c.licence).having(func.max(licence_change.c.on) < on)
    used = select(licence_change.c.licence).where(licence_change.c.change == "first used")
    open_ended = or_(ends == "", ends >= on, licence.c.number.in_(used))
    yield select(licence.c.job).where(open_ended, licence.c.number.not_in(over))
    granted = select(licence.c.job)
    yield select(job.c.key).where(job.c.licence != "null", job.c.closed_on == "", job.c.key.not_in(granted))
    # Kept for somebody, and soon no longer.
    yield select(archive.c.job).where(archive.c.gone_on == "", archive.c.keep_until.between(on, until))
