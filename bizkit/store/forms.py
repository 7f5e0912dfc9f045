"""Forms written to be signed: plain rows in and out."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from bizkit.store.canonical import canonical, parsed
from bizkit.store.schema.rights import form
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_form(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write a form under its number. `row["terms"]` and `row["data"]` are data."""
    values = {**row, "on": stamp.on.isoformat(), "terms": canonical(row["terms"]), "data": canonical(row["data"])}
    work.execute(insert(form).values({**values, "recorded_at": stamp.at, "recorded_by": stamp.who}))


def forms(work: Connection, *, job: str | None = None, number: str | None = None) -> list[Row]:
    """Forms in the order written, of one job, or the one of a number, when asked."""
    query = select(form).order_by(form.c.recorded_at, form.c.number)
    if job is not None:
        query = query.where(form.c.job == job)
    if number is not None:
        query = query.where(form.c.number == number)
    rows = work.execute(query).mappings()
    return [{**row, "terms": parsed(row["terms"]), "data": parsed(row["data"])} for row in rows]


def set_form(work: Connection, number: str, *, data: Row) -> None:
    """Change what is kept of whom a form is about; what it asks for never changes."""
    work.execute(update(form).where(form.c.number == number).values(data=canonical(data)))


def form_numbers(work: Connection) -> set[str]:
    """The numbers of all forms."""
    return set(work.execute(select(form.c.number)).scalars())


def form_series(work: Connection) -> set[str]:
    """The series that the numbers are of, as `F-2027-{number:04}`."""
    return set(work.execute(select(form.c.series).distinct()).scalars())


def count_forms(work: Connection, series: str) -> int:
    """How many numbers of a series are used."""
    return work.execute(select(func.count()).select_from(form).where(form.c.series == series)).scalar_one()
