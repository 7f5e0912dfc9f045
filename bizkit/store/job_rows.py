"""What the book holds of one job, table by table, and forgetting a job of which it holds but the beginning."""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import Connection, delete, select

from bizkit.store.schema import issued, metadata

Row = dict[str, Any]

#: Tables whose rows accepting a quote writes, and `shown`, which says who is in a deliverable: they go with the job.
#: Children come first.
BEGUN: Final = ("shown", "deliverable", "stage", "shoot_day", "job")


def rows_of_job(work: Connection, key: str) -> dict[str, list[Row]]:
    """Table -> its rows that name the job, of every table that can; `BEGUN` left out."""
    found = {}
    for table in metadata.sorted_tables:
        if "job" in table.c and table.name not in BEGUN:
            rows = work.execute(select(table).where(table.c.job == key)).mappings()
            found[table.name] = [dict(row) for row in rows]
    return found


def papers_of_job(work: Connection, key: str) -> list[str]:
    """Numbers of everything issued under the job's key but its quote, in the order issued."""
    query = select(issued.c.number).where(issued.c.key == key, issued.c.kind != "quote").order_by(issued.c.position)
    return list(work.execute(query).scalars())


def forget_job(work: Connection, key: str) -> None:
    """Take a job out of the book, its charges and what its beginning wrote. Nothing else may name it any more."""
    for name in ("charge", *BEGUN):
        table = metadata.tables[name]
        column = table.c.key if name == "job" else table.c.job
        work.execute(delete(table).where(column == key))
