"""A studio with two open jobs, in a file or in PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder

JOBS = ("follow-the-kelp", "mind-the-gulls")


def opened(path: Path, book_url: str = "") -> StudioFolder:
    """A studio with an accepted quote for each of `JOBS`."""
    init_studio(path, book_url=book_url, practice=True)
    folder = StudioFolder(path, who="Ailsa Gannet")
    brief = path / "briefs" / f"{JOBS[0]}.toml"
    text = brief.read_text(encoding="utf-8")
    for key in JOBS:
        (path / "briefs" / f"{key}.toml").write_text(text.replace(f'key = "{JOBS[0]}"', f'key = "{key}"'), "utf-8")
        draft_quote(folder, Path(key), date(2027, 1, 26))
        send_quote(folder, key, date(2027, 1, 26))
        accept_quote(folder, key, date(2027, 2, 8))
    return folder


@pytest.fixture
def open_jobs() -> Callable[..., StudioFolder]:
    """Opens jobs in a new studio at a path, its book at a URL when one is given."""
    return opened


@pytest.fixture
def fresh_postgresql(postgresql_url: str) -> Iterator[str]:
    """A database of its own in the session's PostgreSQL."""
    from sqlalchemy import create_engine, text

    server = create_engine(postgresql_url, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS bizkit_services WITH (FORCE)"))
        connection.execute(text("CREATE DATABASE bizkit_services"))
    yield server.url.set(database="bizkit_services").render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text("DROP DATABASE bizkit_services WITH (FORCE)"))
    server.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def jobs(request: pytest.FixtureRequest, tmp_path: Path) -> StudioFolder:
    """The studio, with its book on each engine."""
    url = "" if request.param == "sqlite" else str(request.getfixturevalue("fresh_postgresql"))
    return opened(tmp_path / "studio", url)


@pytest.fixture
def file_jobs(tmp_path: Path) -> StudioFolder:
    """The studio with its book in a file."""
    return opened(tmp_path / "studio")
