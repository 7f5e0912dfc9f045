"""Rows as frozen classes: one class a table, its members the columns in their order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, fields
from typing import Any, TypeVar

from sqlalchemy import Connection, Select, Table

T = TypeVar("T")


def row_of(table: Table) -> Callable[[type[T]], type[T]]:
    """Says that a frozen class holds the rows of `table`: a member for each column, in order.

    What is joined to a row follows, with a default. Raises TypeError where the two differ, so that a column added to
    one of them alone stops the first command that reads it.
    """

    def checked(kind: type[T]) -> type[T]:
        members, columns = fields(kind), [column.name for column in table.columns]  # type: ignore[arg-type]
        joined = [one for one in members[len(columns) :] if one.default is MISSING and one.default_factory is MISSING]
        if [one.name for one in members[: len(columns)]] != columns or joined:
            raise TypeError(f"{kind.__name__} does not hold the columns of {table.name}: {', '.join(columns)}")
        return kind

    return checked


def rows(work: Connection, query: Select[Any], kind: type[T]) -> list[T]:
    """What a query over one table finds, each row as the class of that table."""
    return [kind(*row) for row in work.execute(query)]
