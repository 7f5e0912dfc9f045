"""Journeys by own vehicle: append-only rows."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.store.schema.billing import journey
from bizkit.store.stamp import Stamp

Row = dict[str, Any]


def add_journey(work: Connection, stamp: Stamp, row: Row) -> int:
    """Write one journey; returns its id."""
    values = {**row, "recorded_at": stamp.at, "recorded_by": stamp.who}
    return int(work.execute(insert(journey).values(values).returning(journey.c.id)).scalar_one())


def journeys(work: Connection) -> list[Row]:
    """Journeys in the order recorded."""
    return [dict(row) for row in work.execute(select(journey).order_by(journey.c.id)).mappings()]
