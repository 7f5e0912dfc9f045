"""What every table of a book shares: the metadata, and the guards that keep records from changing."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import MetaData

#: The migration that the tables match; a test compares them.
HEAD = "0006"

metadata = MetaData()


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
