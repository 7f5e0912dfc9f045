"""Journeys by own vehicle: append-only rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.store.rows import row_of, rows
from bizkit.store.schema.billing import journey
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


@row_of(journey)
@dataclass(frozen=True, slots=True)
class Journey:
    """A journey by own vehicle, its distance in `unit`. A distance below zero takes a wrong entry back."""

    id: int
    on: str
    who: str
    vehicle: str
    distance: str
    unit: str
    origin: str
    destination: str
    purpose: str
    job: str
    recorded_at: str
    recorded_by: str


def add_journey(work: Connection, stamp: Stamp, row: Row) -> int:
    """Write one journey; returns its id."""
    values = {**row, "recorded_at": stamp.at, "recorded_by": stamp.who}
    return int(work.execute(insert(journey).values(values).returning(journey.c.id)).scalar_one())


def journeys(work: Connection) -> list[Journey]:
    """Journeys in the order recorded."""
    return rows(work, select(journey).order_by(journey.c.id), Journey)
