"""What every table of a book shares: the metadata, and the guards that keep records from changing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import BigInteger, Dialect, Integer, MetaData, Text
from sqlalchemy.types import TypeDecorator

from bizkit.store.canonical import canonical, parsed

#: The migration that the tables match; a test compares them.
HEAD = "0012"

metadata = MetaData()

#: What most columns of JSON hold, read without a parser.
EMPTY: dict[str | None, type] = {"[]": list, "{}": dict}

#: Amounts in minor units and sizes in bytes, 64 bits on both engines. A plain integer ends at 2,147,483,647 on
#: PostgreSQL: 2 GB, or 21 million pounds. SQLite's integers are this wide by themselves.
Whole = BigInteger().with_variant(Integer(), "sqlite")


class Json(TypeDecorator[Any]):
    """A column of canonical JSON text, written from data and read as data."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        """The data as text."""
        return canonical(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """The text as data."""
        return EMPTY[value]() if value in EMPTY else parsed(value or "null")

    def coerce_compared_value(self, op: Any, value: Any) -> Any:
        """Beside such a column text is text: it is compared with what is written there."""
        return Text()


def guards(dialect: str, tables: dict[str, tuple[tuple[str, ...], ...]]) -> Iterator[str]:
    """DDL that makes `tables` append-only on `dialect` ("sqlite" or "postgresql")."""
    if dialect == "postgresql":
        yield (
            "CREATE OR REPLACE FUNCTION bizkit_refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION '% never changes', TG_TABLE_NAME; END $$"
        )
        for table in tables:
            yield (
                f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION bizkit_refuse_change()"
            )
            yield (
                f"CREATE TRIGGER {table}_kept_whole BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION bizkit_refuse_change()"
            )
        return
    for table, keys in tables.items():
        for verb in ("UPDATE", "DELETE"):
            yield (
                f"CREATE TRIGGER {table}_kept_{verb.lower()} BEFORE {verb} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} never changes'); END"
            )
        for number, columns in enumerate(keys):
            same = " AND ".join(f'"{column}" = NEW."{column}"' for column in columns)
            yield (
                f"CREATE TRIGGER {table}_kept_insert_{number} BEFORE INSERT ON {table} "
                f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
                f"BEGIN SELECT RAISE(ABORT, '{table} never changes'); END"
            )
