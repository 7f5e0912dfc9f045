"""Both engines: a SQLite file, and a schema of its own in a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from bizkit.store.book import Book


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'book.sqlite'}"


@pytest.fixture
def fresh_postgresql_url(postgresql_url: str) -> Iterator[str]:
    """A database of its own in the session's PostgreSQL."""
    server = create_engine(postgresql_url, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS bizkit_book"))
        connection.execute(text("CREATE DATABASE bizkit_book"))
    yield server.url.set(database="bizkit_book").render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE bizkit_book WITH (FORCE)"))
    server.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest) -> str:
    return str(request.getfixturevalue("sqlite_url" if request.param == "sqlite" else "fresh_postgresql_url"))


@pytest.fixture
def book(url: str) -> Iterator[Book]:
    book = Book.create(url)
    yield book
    book.close()
