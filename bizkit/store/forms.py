"""Forms written to be signed: rows in and out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from bizkit.store.rows import row_of, rows
from bizkit.store.schema.rights import form
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(form)
@dataclass(frozen=True, slots=True)
class Form:
    """A form written to be signed. terms: as printed. data: about whom, conditions, SHA-256 of what it prints."""

    number: str
    series: str
    job: str
    kind: str
    on: str
    terms: dict[str, Any]
    data: dict[str, Any]
    recorded_at: str
    recorded_by: str


def add_form(work: Connection, stamp: Stamp, row: Row) -> None:
    """Write a form under its number. `row["terms"]` and `row["data"]` are data."""
    values = {**row, "on": stamp.on.isoformat()}
    work.execute(insert(form).values({**values, "recorded_at": stamp.at, "recorded_by": stamp.who}))


def forms(work: Connection, *, job: str | None = None, number: str | None = None) -> list[Form]:
    """Forms in the order written, of one job, or the one of a number, when asked."""
    query = select(form).order_by(form.c.recorded_at, form.c.number)
    if job is not None:
        query = query.where(form.c.job == job)
    if number is not None:
        query = query.where(form.c.number == number)
    return rows(work, query, Form)


def set_form(work: Connection, number: str, *, data: Row) -> None:
    """Change what is kept of whom a form is about; what it asks for never changes."""
    work.execute(update(form).where(form.c.number == number).values(data=data))


def form_numbers(work: Connection) -> set[str]:
    """The numbers of all forms."""
    return set(work.execute(select(form.c.number)).scalars())


def form_series(work: Connection) -> set[str]:
    """The series that the numbers are of, as `F-2027-{number:04}`."""
    return set(work.execute(select(form.c.series).distinct()).scalars())


def count_forms(work: Connection, series: str) -> int:
    """How many numbers of a series are used."""
    return work.execute(select(func.count()).select_from(form).where(form.c.series == series)).scalar_one()
