"""The book: made once, guarded against change, rolled back unless committed, on both engines."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import create_engine, text

import bizkit.store.migrations
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.store.book import Book
from bizkit.store.canonical import canonical
from bizkit.store.events import history, record
from bizkit.store.issued import Issued, by_number, count_in_series, every, faults, issue, latest_of_series
from bizkit.store.schema import APPEND_ONLY, HEAD, metadata
from bizkit.store.stamp import Stamp

STAMP = Stamp("Ailsa Gannet", date(2027, 2, 1), "2027-02-01T09:00:00+00:00")


def put(book: Book, number: str, **content: Any) -> Issued:
    with book.work() as work:
        return issue(
            work, STAMP, kind="invoice", series="GL", number=number, key="kelp", document={"title": "Kelp", **content}
        )


def test_a_book_is_made_once_and_never_over_another(url: str) -> None:
    Book.create(url).close()
    with pytest.raises(RuleBroken, match="a book is there already"):
        Book.create(url)
    Book.open(url).close()


def test_the_tables_are_those_of_the_newest_migration(book: Book) -> None:
    with book.read() as work:
        context = MigrationContext.configure(work)
        assert compare_metadata(context, metadata) == []
    folder = Path(bizkit.store.migrations.__path__[0])
    assert ScriptDirectory(str(folder)).get_current_head() == HEAD


def test_a_paper_dated_ahead_counts_in_its_series_by_the_day_it_was_written_down(book: Book) -> None:
    for number, on, at in (("1", "2027-02-01", "01"), ("2", "2072-02-02", "02"), ("3", "2027-01-31", "03")):
        stamp = Stamp("Ailsa Gannet", date.fromisoformat(on), f"2027-02-{at}T09:00:00+00:00", ahead="a slip")
        with book.work() as work:
            issue(work, stamp, kind="invoice", series="GL", number=number, key="kelp", document={"title": "Kelp"})
            record(work, stamp, "issued", "kelp", number=number)
    with book.read() as work:
        assert latest_of_series(work, "GL", ahead_counts=False) == ("2", "2027-02-02")
        assert latest_of_series(work, "GL", ahead_counts=True) == ("2", "2072-02-02")
        assert latest_of_series(work, "LC", ahead_counts=False) is None
        assert history(work, "kelp")[-1].data == {"number": "3", "dated_ahead": "a slip"}


def test_work_is_rolled_back_when_it_raises(book: Book) -> None:
    def fail_half_way() -> None:
        with book.work() as work:
            record(work, STAMP, "drafted", "kelp")
            raise RuleBroken("half way")

    with pytest.raises(RuleBroken, match="half way"):
        fail_half_way()
    with book.read() as work:
        assert history(work, "kelp") == []


def test_a_read_writes_nothing(book: Book) -> None:
    if "sqlite" in book.name:
        with book.read() as work:
            record(work, STAMP, "drafted", "kelp")
    else:
        with pytest.raises(RuleBroken, match="cannot"), book.read() as work:
            record(work, STAMP, "drafted", "kelp")
    with book.read() as work:
        assert history(work, "kelp") == []


@pytest.mark.parametrize("table", ["issued", "event", "payment", "filed"])
def test_rows_of_records_can_be_neither_changed_nor_removed_nor_taken_over(book: Book, table: str) -> None:
    values: dict[str, dict[str, Any]] = {
        "issued": {
            "position": 1, "kind": "invoice", "series": "GL", "number": "GL-1", "revision": 1, "key": "kelp",
            "issued_on": "2027-02-01", "recorded_at": "x", "recorded_by": "x", "document": "{}", "sha256": "x",
            "previous": "x",
        },
        "event": {"id": 1, "at": "x", "by": "x", "verb": "x", "subject": "x", "data": "{}"},
        "payment": {
            "id": 1, "invoice": "GL-1", "on": "2027-02-01", "amount_minor": 1, "currency": "GBP", "fee_minor": 0,
            "received_currency": "", "reference": "", "recorded_at": "x", "recorded_by": "x",
        },
        "filed": {
            "id": 1, "sha256": "x", "file": "x", "bytes": 1, "kind": "x", "about": "x", "name": "x",
            "recorded_at": "x", "recorded_by": "x",
        },
    }  # fmt: skip
    row = values[table]
    columns = ", ".join(f'"{name}"' for name in row)
    slots = ", ".join(f":{name}" for name in row)
    insert = f"INTO {table} ({columns}) VALUES ({slots})"
    with book.work() as work:
        work.execute(text(f"INSERT {insert}"), row)
    first = APPEND_ONLY[table][0][0]
    attacks = [f'UPDATE {table} SET "{first}" = "{first}"', f"DELETE FROM {table}"]
    if "sqlite" in book.name:
        attacks.append(f"INSERT OR REPLACE {insert}")
    else:
        attacks += [
            f'INSERT {insert} ON CONFLICT ("{first}") DO UPDATE SET "{first}" = excluded."{first}"',
            f"TRUNCATE {table}",
        ]
    for attack in attacks:
        with pytest.raises(RuleBroken, match="never changes"), book.work() as work:
            work.execute(text(attack), row)


def test_an_issued_number_cannot_be_taken_over_from_another_position(sqlite_url: str) -> None:
    book = Book.create(sqlite_url)
    put(book, "GL-2027-0001")
    with pytest.raises(RuleBroken, match="never changes"), book.work() as work:
        work.execute(
            text(
                "INSERT OR REPLACE INTO issued SELECT 99, kind, series, number, revision, key, issued_on, "
                "recorded_at, recorded_by, '{}', sha256, previous FROM issued"
            )
        )
    book.close()


def test_documents_are_chained_and_an_untouched_chain_has_no_fault(book: Book) -> None:
    first, second = put(book, "GL-2027-0001"), put(book, "GL-2027-0002")
    with book.read() as work:
        assert faults(work) == []
        assert [one.number for one in every(work)] == ["GL-2027-0001", "GL-2027-0002"]
        assert count_in_series(work, "GL") == 2
        found = by_number(work, "GL-2027-0002")
    assert found == second
    assert first.sha256 != second.sha256


@pytest.mark.parametrize(
    ("tampering", "fault"),
    [
        ("UPDATE issued SET document = replace(document, 'Kelp', 'Gold') WHERE position = 1", "not what was issued"),
        ("UPDATE issued SET issued_on = '2026-12-31' WHERE position = 2", "not what was issued"),
        ("DELETE FROM issued WHERE position = 2", "a document is missing"),
        ("UPDATE issued SET previous = sha256 WHERE position = 3", "does not follow"),
    ],
)
def test_tampering_behind_the_guards_shows_in_the_chain(sqlite_url: str, tampering: str, fault: str) -> None:
    book = Book.create(sqlite_url)
    for number in ("GL-2027-0001", "GL-2027-0002", "GL-2027-0003"):
        put(book, number)
    raw = create_engine(sqlite_url)
    with raw.begin() as connection:
        for trigger in ("update", "delete"):
            connection.execute(text(f"DROP TRIGGER issued_kept_{trigger}"))
        connection.execute(text(tampering))
    raw.dispose()
    with book.read() as work:
        assert any(fault in one for one in faults(work))
    book.close()


def test_a_book_of_a_newer_bizkit_is_left_alone(url: str) -> None:
    book = Book.create(url)
    with book.work() as work:
        work.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    book.close()
    with pytest.raises(RuleBroken, match=r"newer bizkit.*update bizkit, nothing was changed"):
        Book.open(url)


def test_no_book_an_empty_file_and_no_database_each_say_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"gone\.sqlite: wanted a book, got no file"):
        Book.open(f"sqlite:///{tmp_path / 'gone.sqlite'}")
    (tmp_path / "empty.sqlite").write_bytes(b"")
    with pytest.raises(BadInput, match="wanted a book, got a database without one"):
        Book.open(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    (tmp_path / "text.sqlite").write_text("not a database, but long enough to be looked at as one" * 40)
    with pytest.raises(RuleBroken, match="this is no book, or it is damaged"):
        Book.open(f"sqlite:///{tmp_path / 'text.sqlite'}")
    with pytest.raises(BadInput, match=r"book\.url: wanted a database URL"):
        Book.open("ftp://somewhere")


def test_canonical_json_refuses_floats() -> None:
    with pytest.raises(TypeError, match="exact text"):
        canonical({"lines": [{"amount": 0.1}]})


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=10,
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(contents=st.lists(st.dictionaries(st.text(max_size=8), json_values, max_size=4), min_size=1, max_size=4))
def test_what_was_issued_reads_back_the_same_for_ever(tmp_path: Path, contents: list[dict[str, Any]]) -> None:
    url = f"sqlite:///{tmp_path / 'property.sqlite'}"
    book = Book.open(url) if (tmp_path / "property.sqlite").exists() else Book.create(url)
    with book.read() as work:
        before = every(work)
    for number, content in enumerate(contents, start=len(before) + 1):
        # NUL cannot stand in PostgreSQL text; names with one are refused long before.
        put(book, f"N-{number}", **{"content": content})
    with book.read() as work:
        after = every(work)
        assert faults(work) == []
    assert after[: len(before)] == before
    assert [one.document["content"] for one in after[len(before) :]] == contents
    book.close()
