"""Large amounts and files on both engines, an older book made wider, and writers that do not wait for ever.

PostgreSQL's integer ends at 2,147,483,647 (its manual, section 8.1, from memory); SQLite's holds 64 bits.
"""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, text

import bizkit.store.migrations
from bizkit.domain.errors import RuleBroken
from bizkit.store import book as books
from bizkit.store.book import WRITE_LOCK, Book

FILED = (
    "INSERT INTO filed (sha256, file, bytes, kind, about, name, recorded_at, recorded_by) "
    "VALUES ('x', 'x', :bytes, 'x', 'x', 'x', 'x', 'x')"
)


def at_revision(url: str, revision: str) -> None:
    """A book as bizkit made it when `revision` was the newest."""
    config = Config()
    config.set_main_option("script_location", str(bizkit.store.migrations.__path__[0]))
    config.set_main_option("path_separator", "os")
    engine = create_engine(url)
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()


def test_a_book_of_32_bits_is_made_wider_with_its_rows_and_guards(url: str) -> None:
    at_revision(url, "0006")
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text(FILED), {"bytes": 2_147_483_647})
    engine.dispose()
    book = Book.open(url)
    with book.work() as work:
        work.execute(text(FILED), {"bytes": 2_411_724_800})
    with book.read() as work:
        sizes = list(work.execute(text("SELECT bytes FROM filed ORDER BY id")).scalars())
        assert MigrationContext.configure(work).get_current_revision() == books.HEAD
    assert sizes == [2_147_483_647, 2_411_724_800]
    with pytest.raises(RuleBroken, match="never changes"), book.work() as work:
        work.execute(text("UPDATE filed SET bytes = 1"))
    assert book.damage() == []
    book.close()


def test_a_ship_can_be_bought_in_a_shared_book(fresh_postgresql_url: str, tmp_path: Path) -> None:
    from datetime import date

    from bizkit.services.billing.overheads import add_overhead, list_overheads
    from bizkit.services.studio.starting import init_studio
    from bizkit.services.studio.studio_folder import StudioFolder

    init_studio(tmp_path / "studio", book_url=fresh_postgresql_url)
    folder = StudioFolder(tmp_path / "studio", who="Ailsa Gannet")
    add_overhead(folder, "Ship", "30000000.00", date(2026, 2, 8))
    assert [row["net"] for row in list_overheads(folder)] == ["30000000.00"]


def test_a_writer_gives_up_when_another_holds_the_turn(
    fresh_postgresql_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(books, "WAIT_S", 1)
    book = Book.create(fresh_postgresql_url)
    engine = create_engine(fresh_postgresql_url)
    with engine.connect() as other:
        other.execute(text("SELECT pg_advisory_lock(:lock)"), {"lock": WRITE_LOCK})
        start = time.monotonic()
        with pytest.raises(RuleBroken, match="another bizkit is writing in the book for over 1 s"), book.work():
            pass
        assert time.monotonic() - start < 10
        # Who only reads does not wait.
        with book.read() as work:
            assert work.execute(text("SELECT count(*) FROM issued")).scalar_one() == 0
    engine.dispose()
    book.close()


def test_a_writer_says_whether_a_writer_or_a_reader_stands_in_its_way(
    sqlite_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(books, "WAIT_S", 1)
    book = Book.create(sqlite_url)
    other = sqlite3.connect(tmp_path / "book.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(RuleBroken, match="another bizkit is writing in the book for over 1 s"), book.work():
        pass
    other.execute("ROLLBACK")
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM issued").fetchone()
    with pytest.raises(RuleBroken, match="another bizkit is reading the book for over 1 s"), book.work() as work:
        work.execute(text(FILED), {"bytes": 1})
    other.close()
    book.close()


def test_a_damaged_file_is_found_without_being_read_by_chance(sqlite_url: str, tmp_path: Path) -> None:
    book = Book.create(sqlite_url)
    with book.work() as work:
        # Old text is written over (documentation of PRAGMA secure_delete): other builds of SQLite need to be told.
        assert work.execute(text("PRAGMA secure_delete")).scalar_one() == 1
        for number in range(400):
            work.execute(text(FILED), {"bytes": number})
    assert book.damage() == []
    file = tmp_path / "book.sqlite"
    content = bytearray(file.read_bytes())
    at = content.rfind(b"xxxxxx")
    content[at - 2000 : at] = b"\xff" * 2000
    file.write_bytes(content)
    assert any("the file is damaged: restore it from a copy" in line for line in book.damage()), book.damage()
    book.close()
