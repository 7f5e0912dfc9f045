"""What lists show in columns is what the documents say, in books of before too, on both engines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, select, text

from bizkit.services.demo.playing import play
from bizkit.services.overview.verifying import verify_book
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.book import Book
from bizkit.store.issued import every
from bizkit.store.register import KINDS, everything
from bizkit.store.schema import job, register


@pytest.fixture
def studio(url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> StudioFolder:
    """The demo, in a book on either engine."""
    monkeypatch.setenv("BIZKIT_BOOK", url)
    monkeypatch.setenv("BIZKIT_WHO", "Ailsa Gannet")
    list(play(tmp_path / "studio"))
    return StudioFolder(tmp_path / "studio", who="Ailsa Gannet")


def rows(book: Book) -> tuple[list[Any], dict[str, list[str]]]:
    with book.read() as work:
        crews = {row.key: row.crew for row in work.execute(select(job.c.key, job.c.crew))}
        return [tuple(row) for row in work.execute(select(register).order_by(register.c.position))], crews


def test_an_entry_says_what_its_document_does(studio: StudioFolder) -> None:
    with studio.book.read() as work:
        documents, entries = [one for one in every(work) if one.kind in KINDS], everything(work)
    assert len(documents) == len(entries) >= 5
    for one in documents:
        entry, said = entries[one.position], one.document
        assert (entry.kind, entry.number, entry.revision, entry.key) == (one.kind, one.number, one.revision, one.key)
        assert (entry.net.text, entry.tax.text, entry.gross.text) == (said["net"], said["tax"], said["gross"])
        assert (entry.client, entry.client_name) == (said["client"]["key"], said["client"]["name"])
        assert entry.due_on == said.get("due_on", "")
        assert entry.valid_until == said.get("valid_until", "")
        assert entry.stage == (said.get("stage") or {}).get("title", "")
        assert entry.accepted == bool(said.get("accepted"))
    assert {entry.kind for entry in entries.values()} >= {"quote", "invoice"}
    assert any(entry.accepted for entry in entries.values())


def test_a_book_of_before_is_given_its_register_and_crews(studio: StudioFolder, url: str) -> None:
    wanted = rows(studio.book)
    assert any(wanted[1].values())
    raw = create_engine(url)
    with raw.begin() as work:
        work.execute(text("DROP TABLE register"))
        work.execute(text("ALTER TABLE job DROP COLUMN crew"))
        work.execute(text("UPDATE alembic_version SET version_num = '0011'"))
    raw.dispose()
    book = Book.open(url)
    assert rows(book) == wanted
    assert book.damage() == []
    book.close()


@pytest.mark.parametrize(
    "change", ["UPDATE register SET due_minor = due_minor + 1", "DELETE FROM register WHERE kind = 'invoice'"]
)
def test_verify_names_an_entry_that_says_something_else(studio: StudioFolder, url: str, change: str) -> None:
    assert verify_book(studio)["faults"] == []
    raw = create_engine(url)
    with raw.begin() as work:
        if raw.dialect.name == "sqlite":
            triggers = work.execute(
                text("SELECT name FROM sqlite_master WHERE type='trigger' AND tbl_name='register'")
            )
            for name in triggers.scalars().all():
                work.execute(text(f"DROP TRIGGER {name}"))
        else:
            work.execute(text("ALTER TABLE register DISABLE TRIGGER ALL"))
        work.execute(text(change))
    raw.dispose()
    faults = verify_book(studio)["faults"]
    assert any("the register says something else" in one and "invoice" in one for one in faults)
