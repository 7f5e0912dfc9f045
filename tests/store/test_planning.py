"""The planning ledger: what was sent, worked, moved, called off and spent is never changed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import create_engine, insert, text

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.store.basis import Basis, basis_of, put_basis
from bizkit.store.book import Book
from bizkit.store.charges import add_charge, charges, drop_open_charges, set_charge_invoice, waive_charge
from bizkit.store.jobs import open_job, shoot_days
from bizkit.store.schema.planning import APPEND_ONLY, basis, called_off, cost, moved_day, worked_day
from bizkit.store.stamp import Stamp
from bizkit.store.work_days import add_worked_day, move_day, moved_days, worked_days

STAMP = Stamp("Ailsa Gannet", date(2027, 5, 10), "2027-05-10T19:00:00+00:00")
LINE = Line(
    "crew",
    "Overrun",
    Decimal(1),
    "day",
    Money("107.50", "GBP"),
    Money("107.50", "GBP"),
    Working("2 h", "crew.overrun"),
)
TABLES = {table.name: table for table in (basis, worked_day, moved_day, called_off, cost)}


@pytest.fixture
def kelp(book: Book) -> Book:
    """A book with one job of two shoot days."""
    with book.work() as work:
        open_job(
            work,
            {
                "key": "kelp", "title": "Kelp", "client": "skerrow", "quote_number": "Q-1", "quote_revision": 1,
                "opened_on": "2027-02-08", "closed_on": "", "currency": "GBP", "net_minor": 100000, "licence": None,
            },
            days=[
                {"on": "2027-05-10", "kind": "water", "place": "Otter Sound", "data": {}},
                {"on": "2027-05-11", "kind": "dry", "place": "Selkie Bay", "data": {}},
            ],
            stages=[],
        )  # fmt: skip
    return book


def test_a_charge_is_open_until_it_is_billed_or_waived(kelp: Book) -> None:
    with kelp.work() as work:
        first, second, third = (
            add_charge(work, STAMP, job="kelp", kind="overrun", line=LINE, source="day 2027-05-10") for _ in range(3)
        )
        set_charge_invoice(work, first, "GL-1")
        waive_charge(work, STAMP, second, "goodwill")
        drop_open_charges(work, "kelp", "day 2027-05-10")
    with kelp.read() as work:
        rows = charges(work, "kelp")
    assert [(row.id, row.invoice, row.waived) for row in rows] == [
        (first, "GL-1", ""),
        (second, "", "goodwill"),
    ]
    assert third not in {row.id for row in rows}
    assert rows[0].amount.text == "107.50"
    assert rows[0].working == {"text": "2 h", "rule": "crew.overrun"}


def test_the_newest_log_of_a_day_counts_for_the_same_people(kelp: Book) -> None:
    row: dict[str, Any] = {
        "job": "kelp", "position": 1, "on": "2027-05-10", "who": [], "call": "07:30", "wrap": "19:00",
        "meal_minutes": None, "dives": 3, "note": "",
    }  # fmt: skip
    with kelp.work() as work:
        add_worked_day(work, STAMP, row)
        add_worked_day(work, STAMP, {**row, "wrap": "20:00"})
        add_worked_day(work, STAMP, {**row, "who": ["Rowan Lark"], "wrap": "17:00"})
    with kelp.read() as work:
        assert [(one.who, one.wrap) for one in worked_days(work, "kelp")["kelp", 1]] == [
            ([], "20:00"),
            (["Rowan Lark"], "17:00"),
        ]


def test_a_moved_day_takes_its_date_along_and_says_where_it_came_from(kelp: Book) -> None:
    move = {
        "job": "kelp", "position": 1, "moved_from": "2027-05-10", "moved_to": "2027-05-14", "why": "weather",
        "hold": 1, "note": "",
    }  # fmt: skip
    with kelp.work() as work:
        move_day(work, STAMP, move)
    with kelp.read() as work:
        assert [day.on for day in shoot_days(work, "kelp")] == ["2027-05-14", "2027-05-11"]
        (row,) = moved_days(work, "kelp")
    assert (row.moved_from, row.moved_to, row.recorded_by) == ("2027-05-10", "2027-05-14", "Ailsa Gannet")


def test_what_a_revision_was_priced_from_is_kept_word_for_word(book: Book) -> None:
    kept = Basis("Q-1", 1, "kelp", "kelp.toml", 'key = "kelp"\n# £ 🦑', 'name = "card"', ("a", "drone"))
    with book.work() as work:
        put_basis(work, kept)
    with book.read() as work:
        assert basis_of(work, "Q-1", 1) == kept
        assert basis_of(work, "Q-1", 2) is None


@pytest.mark.parametrize("name", sorted(APPEND_ONLY))
def test_records_of_planning_can_be_neither_changed_nor_removed_nor_taken_over(kelp: Book, name: str) -> None:
    table = TABLES[name]
    row = {column.name: 1 if "INT" in str(column.type) else "x" for column in table.columns} | (
        {"job": "kelp"} if "job" in table.columns else {}
    )
    with kelp.work() as work:
        work.execute(insert(table).values(row))
    columns = ", ".join(f'"{column}"' for column in row)
    slots = ", ".join(f":{column}" for column in row)
    first = APPEND_ONLY[name][0][0]
    attacks = [f'UPDATE {name} SET "{first}" = "{first}"', f"DELETE FROM {name}"]
    if "sqlite" in kelp.name:
        attacks.append(f"INSERT OR REPLACE INTO {name} ({columns}) VALUES ({slots})")
    for attack in attacks:
        with pytest.raises(RuleBroken, match="never changes"), kelp.work() as work:
            work.execute(text(attack), row)


def test_a_book_made_before_planning_is_brought_up_to_date_with_its_jobs(sqlite_url: str) -> None:
    Book.create(sqlite_url).close()
    raw = create_engine(sqlite_url)
    with raw.begin() as connection:
        for name in [*TABLES, "charge"]:
            connection.execute(text(f"DROP TABLE {name}"))
        names = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'")).scalars().all()
        first_book = {
            "answer", "draft", "event", "filed", "issued", "job", "payment", "deliverable", "holding", "shoot_day",
            "stage", "review_round", "version", "alembic_version",
        }  # fmt: skip
        for name in set(names) - first_book:
            connection.execute(text(f"DROP TABLE {name}"))
        connection.execute(text("ALTER TABLE job DROP COLUMN crew"))
        connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
        connection.execute(
            text("INSERT INTO job VALUES ('kelp', 'Kelp', 'skerrow', 'Q-1', 1, '2027-02-08', '', 'GBP', 1, 'null')")
        )
    raw.dispose()
    book = Book.open(sqlite_url)
    with book.work() as work:
        add_charge(work, STAMP, job="kelp", kind="overrun", line=LINE, source="day 2027-05-10")
        assert len(charges(work)) == 1
    book.close()
