"""Jobs, their shoot days, stages and holdings: plain rows in and out."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, RowMapping, insert, select, update

from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema import holding, job, shoot_day, stage

Row = dict[str, Any]


def open_job(work: Connection, row: Row, *, days: list[Row], stages: list[Row]) -> None:
    """Write a job with its shoot days and billing stages. `row["licence"]` is data or None, `row["crew"]` names."""
    work.execute(
        insert(job).values({**row, "licence": canonical(row["licence"]), "crew": canonical(row.get("crew", []))})
    )
    for position, day in enumerate(days, start=1):
        work.execute(
            insert(shoot_day).values({**day, "job": row["key"], "position": position, "data": canonical(day["data"])})
        )
    for position, one in enumerate(stages, start=1):
        work.execute(insert(stage).values({**one, "job": row["key"], "position": position}))


def jobs(work: Connection, key: str | None = None) -> list[Row]:
    """Every job in the order opened, or the one of `key`."""
    found = of_one(work, "jobs", key, lambda: jobs(work), lambda row: row["key"])
    if found is not None:
        return found
    query = select(job).order_by(job.c.opened_on, job.c.key)
    query = of_job(work, query, job.c.key, key)
    return [job_row(row) for row in work.execute(query).mappings()]


def job_row(row: RowMapping) -> Row:
    """A row of the table `job` as everybody takes it."""
    return {**row, "licence": parsed(row["licence"]), "crew": parsed(row["crew"])}


def job_named(work: Connection, name: str) -> Row | None:
    """The job of that key, else of the quote with that number; None without one."""
    for found in jobs(work, name):
        return found
    query = select(job).where(job.c.quote_number == name)
    row = work.execute(query).mappings().one_or_none()
    return job_row(row) if row else None


def job_keys(work: Connection) -> list[str]:
    """The key of every job in the order opened."""
    return list(work.execute(select(job.c.key).order_by(job.c.opened_on, job.c.key)).scalars())


def opened_on(work: Connection, key: str | None = None) -> dict[str, str]:
    """Key -> the day the job was opened, of every job or one."""
    found = of_one(work, "opened_on", key, lambda: opened_on(work).items(), lambda one: one[0])
    if found is not None:
        return dict(found)
    query = select(job.c.key, job.c.opened_on)
    query = of_job(work, query, job.c.key, key)
    return {row.key: row.opened_on for row in work.execute(query)}


def shoot_days(work: Connection, key: str | None = None) -> list[Row]:
    """Shoot days in order, of one job or all."""
    found = of_one(work, "shoot_days", key, lambda: shoot_days(work), job_of)
    if found is not None:
        return found
    query = select(shoot_day).order_by(shoot_day.c.job, shoot_day.c.position)
    query = of_job(work, query, shoot_day.c.job, key)
    return [{**row, "data": parsed(row["data"])} for row in work.execute(query).mappings()]


def stages(work: Connection, key: str | None = None) -> list[Row]:
    """Billing stages in order, of one job or all."""
    found = of_one(work, "stages", key, lambda: stages(work), job_of)
    if found is not None:
        return found
    query = select(stage).order_by(stage.c.job, stage.c.position)
    query = of_job(work, query, stage.c.job, key)
    return [dict(row) for row in work.execute(query).mappings()]


def set_stage_invoice(work: Connection, key: str, position: int, number: str) -> None:
    """Tie a stage to the invoice that bills it."""
    work.execute(update(stage).where(stage.c.job == key, stage.c.position == position).values(invoice=number))


def close_job(work: Connection, key: str, on: str) -> None:
    """Mark a job as closed."""
    work.execute(update(job).where(job.c.key == key).values(closed_on=on))


def add_holding(work: Connection, row: Row) -> int:
    """Write a holding; returns its id. `row["data"]` is the holding's own data."""
    done = work.execute(insert(holding).values({**row, "data": canonical(row["data"])}).returning(holding.c.id))
    return int(done.scalar_one())


def set_holding(work: Connection, holding_id: int, **values: Any) -> None:
    """Change columns of a holding (status, expiry, data)."""
    if "data" in values:
        values["data"] = canonical(values["data"])
    work.execute(update(holding).where(holding.c.id == holding_id).values(values))


def holdings(work: Connection, *, key: str | None = None, kinds: tuple[str, ...] | None = None) -> list[Row]:
    """Holdings by id, of one job and of some kinds when asked."""
    found = of_one(work, "holdings", key, lambda: holdings(work), job_of)
    if found is not None:
        return [row for row in found if kinds is None or row["kind"] in kinds]
    query = select(holding).order_by(holding.c.id)
    query = of_job(work, query, holding.c.job, key)
    if kinds is not None:
        query = query.where(holding.c.kind.in_(kinds))
    return [{**row, "data": parsed(row["data"])} for row in work.execute(query).mappings()]
