"""Where in the book a name stands: every text of every table, and taking it out where rows may change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, Table, Text, select, type_coerce, update

from bizkit.domain.names import Spelling
from bizkit.store.schema import APPEND_ONLY, metadata
from bizkit.store.schema.base import Json


@dataclass(frozen=True, slots=True)
class Mention:
    """One row that holds the name. row: its primary key, as text. kept: rows of that table never change."""

    table: str
    row: str
    columns: tuple[str, ...]
    kept: bool


def mentions(work: Connection, name: str | Spelling) -> list[Mention]:
    """Every row that holds `name`, however it is written there."""
    wanted = name if isinstance(name, Spelling) else Spelling(name)
    found = []
    for table in metadata.sorted_tables:
        texts = [column for column in table.columns if isinstance(column.type, Text | Json)]
        for row in work.execute(_as_written(table)).mappings():
            columns = tuple(column.name for column in texts if wanted.stands_in(row[column.name] or ""))
            if columns:
                found.append(Mention(table.name, _key(table, row), columns, table.name in APPEND_ONLY))
    return found


def take_out(work: Connection, name: str | Spelling, put: str, but: Iterable[tuple[str, str]] = ()) -> list[Mention]:
    """Write `put` for `name` in every row that may change, except keys of rows and those named in `but`.

    but: (table, row) as in `Mention`. Returns what was changed.
    """
    wanted, spared = name if isinstance(name, Spelling) else Spelling(name), set(but)
    changed = []
    for one in mentions(work, name):
        table = metadata.tables[one.table]
        if one.kept or (one.table, one.row) in spared:
            continue
        columns = [column for column in one.columns if not _is_key(table, column)]
        for row in work.execute(_as_written(table)).mappings():
            if _key(table, row) == one.row and columns:
                values = {column: type_coerce(wanted.taken_out(row[column], put), Text) for column in columns}
                here = [table.c[column.name] == row[column.name] for column in table.primary_key.columns]
                work.execute(update(table).where(*here).values(values))
                changed.append(one)
    return changed


def _as_written(table: Table) -> Select[Any]:
    """The rows of a table, its JSON as the text it is."""
    columns = (type_coerce(one, Text).label(one.name) if isinstance(one.type, Json) else one for one in table.columns)
    return select(*columns)


def _key(table: Table, row: Any) -> str:
    return "/".join(str(row[column.name]) for column in table.primary_key.columns)


def _is_key(table: Table, column: str) -> bool:
    return table.c[column].primary_key or bool(table.c[column].foreign_keys)
