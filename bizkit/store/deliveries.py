"""Deliverables, their versions and their review rounds: plain rows in and out."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select, update

from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema import deliverable, review_round, version

Row = dict[str, Any]


def add_deliverable(work: Connection, row: Row) -> None:
    """Write one deliverable."""
    work.execute(insert(deliverable).values({**row, "data": canonical(row["data"])}))


def deliverables(work: Connection, job: str | None = None) -> list[Row]:
    """Deliverables in order, of one job or all, each with its `versions` and `review_rounds`."""
    found = of_one(work, "deliverables", job, lambda: deliverables(work), job_of)
    if found is not None:
        return found
    query = select(deliverable).order_by(deliverable.c.job, deliverable.c.position)
    sent = select(version).order_by(version.c.number)
    rounds = select(review_round).order_by(review_round.c.number)
    query = of_job(work, query, deliverable.c.job, job)
    sent = of_job(work, sent, version.c.job, job)
    rounds = of_job(work, rounds, review_round.c.job, job)
    versions_of: dict[tuple[str, str], list[Row]] = {}
    for row in work.execute(sent).mappings():
        versions_of.setdefault((row["job"], row["deliverable"]), []).append({**row, "data": parsed(row["data"])})
    rounds_of: dict[tuple[str, str], list[Row]] = {}
    for row in work.execute(rounds).mappings():
        rounds_of.setdefault((row["job"], row["deliverable"]), []).append({**row, "data": parsed(row["data"])})
    return [
        {
            **row,
            "data": parsed(row["data"]),
            "versions": versions_of.get((row["job"], row["key"]), []),
            "review_rounds": rounds_of.get((row["job"], row["key"]), []),
        }
        for row in work.execute(query).mappings()
    ]


def add_version(work: Connection, row: Row) -> None:
    """Write one version sent."""
    work.execute(insert(version).values({**row, "data": canonical(row["data"])}))


def add_round(work: Connection, row: Row) -> None:
    """Write one round of client notes."""
    work.execute(insert(review_round).values({**row, "data": canonical(row["data"])}))


def approve(work: Connection, job: str, key: str, on: str, number: int) -> None:
    """Mark a version of a deliverable as approved: it is the final one."""
    here = (deliverable.c.job == job, deliverable.c.key == key)
    data = parsed(work.execute(select(deliverable.c.data).where(*here)).scalar_one())
    changed = {"approved_on": on, "data": canonical({**data, "final": number})}
    work.execute(update(deliverable).where(*here).values(changed))


def take_back_approval(work: Connection, job: str, key: str) -> None:
    """No version of a deliverable is the final one any more."""
    here = (deliverable.c.job == job, deliverable.c.key == key)
    data = parsed(work.execute(select(deliverable.c.data).where(*here)).scalar_one())
    data.pop("final", None)
    work.execute(update(deliverable).where(*here).values(approved_on="", data=canonical(data)))
