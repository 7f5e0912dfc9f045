"""What every table of a book shares: the metadata, and the guards that keep records from changing."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import BigInteger, Integer, MetaData

#: The migration that the tables match; a test compares them.
HEAD = "0012"

metadata = MetaData()

#: Amounts in minor units and sizes in bytes, 64 bits on both engines. A plain integer ends at 2,147,483,647 on
#: PostgreSQL: 2 GB, or 21 million pounds. SQLite's integers are this wide by themselves.
Whole = BigInteger().with_variant(Integer(), "sqlite")


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
