"""Opening a book and working in it.

A write is one unit of work: `with book.work() as work:` begins, and commits only if the block ends well. Writers
take turns on both engines (SQLite: BEGIN IMMEDIATE; PostgreSQL: one advisory lock), so numbers and the chain of
issued documents never collide.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, Executable, NullPool, create_engine, event, inspect, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.store.address import WANTED, Address
from bizkit.store.ahead import forget, reading_ahead
from bizkit.store.schema import APPEND_ONLY, HEAD, guards

#: Any fixed number: the name of the advisory lock that writers to a PostgreSQL book take in turn.
WRITE_LOCK = 0x62697A6B

#: Seconds a writer waits for another before giving up.
WAIT_S = 30

#: What a connection carries until its unit of work is committed.
_AFTER = "bizkit after commit"

_TRIGGERS_HERE = (
    "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
    "JOIN pg_namespace ON pg_namespace.oid = relnamespace WHERE NOT tgisinternal AND nspname = current_schema()"
)


class Book:
    """The records of one studio. file: where they are a file, None on a server."""

    def __init__(self, address: Address) -> None:
        self._address = address
        self._engine = _engine(address)
        self.name = address.name
        self.file = address.file.resolve() if address.file is not None else None

    @classmethod
    def create(cls, place: str | Path) -> Book:
        """A new book in the file or at the URL `place`. Raises RuleBroken when one is there already."""
        book = cls(Address.of(place))
        try:
            with book._begin(writes=True) as work:
                if _revision(work) is not None:
                    raise RuleBroken(f"{book.name}: a book is there already; nothing was changed")
                _migrate(work)
        except BaseException:
            book.close()
            raise
        return book

    @classmethod
    def open(cls, place: str | Path) -> Book:
        """The book in the file or at the URL `place`, brought up to date when it was made by an older bizkit.

        Raises BadInput when there is none, RuleBroken when a newer bizkit made it.
        """
        address = Address.of(place)
        if address.file is not None and not address.file.is_file():
            hint = "Make a studio with: bizkit init FOLDER"
            raise BadInput(wanted="a book", got="no file", where=address.name, hint=hint)
        book = cls(address)
        try:
            book._bring_up_to_date()
        except BaseException:
            book.close()
            raise
        return book

    def _bring_up_to_date(self) -> None:
        with self.read() as work:
            revision = _revision(work)
        if revision is None:
            hint = "Make one there, with a studio for it: bizkit init FOLDER --book URL"
            raise BadInput(wanted="a book", got="a database without one", where=self.name, hint=hint)
        if revision > HEAD:
            raise RuleBroken(
                f"{self.name}: this book was made by a newer bizkit (book {revision}, this bizkit knows {HEAD}): "
                "update bizkit, nothing was changed"
            )
        if revision != HEAD:
            from alembic.util import CommandError

            try:
                with self._begin(writes=True) as work:
                    _migrate(work)
            except CommandError as error:
                raise RuleBroken(
                    f"{self.name}: no bizkit known to this one made a book {revision}: nothing was changed ({error})"
                ) from None

    @contextmanager
    def work(self, *, keep: bool = True) -> Iterator[Connection]:
        """A unit of work: committed when the block ends well, rolled back when it raises.

        keep: False rolls it back at its end too, for a preview that goes the whole way of the thing itself.
        """
        with self._begin(writes=True, keep=keep) as connection:
            yield connection

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A consistent look at the book; nothing is written."""
        with self._begin(writes=False) as connection:
            yield connection

    @contextmanager
    def read_all(self) -> Iterator[Connection]:
        """The same for what looks at every job: each question is read once for all of them, see `store.ahead`."""
        with self.read() as connection, reading_ahead(connection):
            yield connection

    @contextmanager
    def _begin(self, *, writes: bool, keep: bool = True) -> Iterator[Connection]:
        try:
            with self._engine.connect() as plain:
                connection = plain.execution_options(bizkit_writes=writes)
                with connection.begin() as transaction:
                    if connection.dialect.name == "postgresql":
                        if writes:
                            connection.execute(text(f"SET LOCAL lock_timeout = '{WAIT_S}s'"))
                            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": WRITE_LOCK})
                        else:
                            connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"))
                    yield connection
                    if not writes or not keep:
                        transaction.rollback()
                if writes and keep:
                    for done in connection.info.pop(_AFTER, ()):
                        done()
        except DBAPIError as error:
            raise _in_one_line(error, self._address) from error
        except OverflowError as error:
            if "SQLite INTEGER" not in str(error):
                raise
            raise RuleBroken(f"{self.name}: a number is larger than the book can hold") from None

    def damage(self) -> list[str]:
        """What is broken in the file itself or its guards, one line each; empty when it is whole."""
        found: list[str] = []
        with self.read() as work:
            if work.dialect.name == "sqlite":
                said = list(work.execute(text("PRAGMA integrity_check(10)")).scalars())
                found += [
                    f"{self.name}: {one}: the file is damaged: restore it from a copy" for one in said if one != "ok"
                ]
                names = set(work.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars())
            else:
                names = set(work.execute(text(_TRIGGERS_HERE)).scalars())
            wanted = {table: _triggers(work.dialect.name, table) for table in APPEND_ONLY}
        return found + [
            f"{self.name}: {table}: what keeps its rows from being changed is gone: compare the book with a copy"
            for table, triggers in wanted.items()
            if not triggers <= names
        ]

    def close(self) -> None:
        """Let go of the file or the server."""
        self._engine.dispose()


def after_commit(work: Connection, done: Callable[[], None]) -> None:
    """Have something done once the unit of work is committed, and never where it is not."""
    work.info.setdefault(_AFTER, []).append(done)


def _triggers(dialect: str, table: str) -> set[str]:
    """Names of the triggers that keep a table's rows as they are."""
    return set(re.findall(r"CREATE TRIGGER (\S+)", "\n".join(guards(dialect, {table: APPEND_ONLY[table]}))))


def _engine(address: Address) -> Engine:
    try:
        # A connection lasts one unit of work: nothing stays open, nobody has to remember to close.
        engine = create_engine(address.url, poolclass=NullPool)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        hint = address.without_secrets(str(error))
        raise BadInput(wanted=WANTED, got=address.name, field="book.url", hint=hint) from None
    if engine.dialect.name == "sqlite":

        @event.listens_for(engine, "connect")
        def _settle(connection, _record):  # type: ignore[no-untyped-def]
            connection.isolation_level = None  # we say BEGIN ourselves
            connection.execute(f"PRAGMA busy_timeout = {WAIT_S * 1000}")
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA recursive_triggers = ON")
            connection.execute("PRAGMA secure_delete = ON")  # what is erased is written over, whatever the build

        @event.listens_for(engine, "begin")
        def _begin(connection: Connection) -> None:
            writes = connection.get_execution_options().get("bizkit_writes", False)
            connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    @event.listens_for(engine, "before_execute")
    def _forget_what_was_read(connection: Connection, clause: Executable, *_: object) -> None:
        if clause.is_dml:
            forget(connection)

    if engine.dialect.name not in ("sqlite", "postgresql"):
        raise BadInput(wanted="SQLite or PostgreSQL", got=engine.dialect.name, field="book.url")
    return engine


def _revision(work: Connection) -> str | None:
    if not inspect(work).has_table("alembic_version"):
        return None
    return work.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def _migrate(work: Connection) -> None:
    import logging

    from alembic import command
    from alembic.config import Config

    logging.getLogger("alembic").setLevel(logging.WARNING)
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = work
    command.upgrade(config, "head")


def _in_one_line(error: DBAPIError, address: Address) -> Exception:
    name = address.name
    said = address.without_secrets(str(error.orig).strip().splitlines()[0] if error.orig else str(error))
    if "never changes" in said:
        return RuleBroken(f"{name}: {said}: issued papers and records are corrected by new ones")
    if "locked" in said or "busy" in said or "lock timeout" in said:
        # SQLite has the write turn when it commits: what it waits for then is a reader.
        does = "reading" if error.statement is None else "writing in"
        return RuleBroken(f"{name}: another bizkit is {does} the book for over {WAIT_S} s: try again")
    if "not a database" in said or "malformed" in said:
        return RuleBroken(f"{name}: {said}: this is no book, or it is damaged; restore it from a copy")
    if "disk is full" in said or "disk I/O error" in said or "No space left" in said:
        return RuleBroken(f"{name}: {said}: nothing was changed; make room, or look after that disk, then repeat it")
    if "readonly" in said or "read-only" in said:
        return RuleBroken(f"{name}: the book cannot be written: check the folder's permissions")
    return RuleBroken(f"{name}: {said}")
