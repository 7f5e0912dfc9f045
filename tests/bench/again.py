"""Writing what a book holds of its jobs again and again under other names: a large book that services wrote."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any, Final

from sqlalchemy import Connection, insert, select

from bizkit.store.book import Book
from bizkit.store.schema import metadata

#: What stands in the names of what was written again, and in nothing else.
AGAIN: Final = "-again-"

#: Tables of things that belong to no job.
OF_THE_STUDIO: Final = ("person", "bank_entry", "booking", "money_in", "overhead", "journey", "evidence", "draft")


def write_again(book: Book, first: int, last: int, jobs: Collection[str] | None = None) -> None:
    """Write the rows of every job, or of these, again under names ending in each number from first to before last."""
    with book.work() as work:
        pattern = re.compile(rf"(?<!\w)({'|'.join(map(re.escape, _names(work, jobs)))})(?!\w)")
        issued = metadata.tables["issued"].c
        # Of those the services wrote: what is written again goes behind them, each round in a stretch of its own.
        places = select(issued.position).where(issued.number.not_like(f"%{AGAIN}%"))
        width = max(work.execute(places).scalars())
        for table in metadata.sorted_tables:
            if table.name in OF_THE_STUDIO:
                continue
            rows = [dict(row) for row in work.execute(select(table)).mappings()]
            rows = [row for row in rows if not any(AGAIN in str(value) for value in row.values())]
            keys = [column.name for column in table.primary_key]
            again = []
            for number in range(first, last):
                for row in rows:
                    new = {name: _renamed(value, pattern, number) for name, value in row.items()}
                    if new == row:
                        continue
                    if table.name in ("issued", "register"):
                        new["position"] += number * width
                    elif keys == ["id"]:
                        del new["id"]
                    if keys == ["id"] or any(new[name] != row[name] for name in keys):
                        again.append(new)
                if len(again) > 5000:
                    work.execute(insert(table), again)
                    again = []
            if again:
                work.execute(insert(table), again)


def _names(work: Connection, jobs: Collection[str] | None) -> list[str]:
    """Keys of jobs and numbers of their papers, the longest first."""
    keys = [key for key in work.execute(select(metadata.tables["job"].c.key)).scalars() if AGAIN not in key]
    names = [key for key in keys if jobs is None or key in jobs]
    for name, column in (("issued", "key"), ("licence", "job"), ("form", "job"), ("handover", "job")):
        table = metadata.tables[name]
        names += work.execute(select(table.c.number).where(table.c[column].in_(names))).scalars()
    return sorted(dict.fromkeys(names), key=len, reverse=True)


def _renamed(value: Any, pattern: re.Pattern[str], number: int) -> Any:
    return pattern.sub(rf"\1{AGAIN}{number}", value) if isinstance(value, str) else value
