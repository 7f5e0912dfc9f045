"""Whatever lists: as many questions to the book at 100 jobs as at 10.

The book is that of the demo with the rows of its jobs written again and again under other names, which is quick; what
lists read of it is what the services wrote.
"""

from __future__ import annotations

import re
import shutil
from contextlib import contextmanager
from itertools import count

import pytest
from sqlalchemy import event, insert, select
from sqlalchemy.engine import Engine

from bizkit.store.book import Book
from bizkit.store.schema import metadata

#: What looks at the whole book beside the lists, which are found from the command tree.
WHOLE = (
    "status", "calendar --out all.ics", "kit bookings", "kit clashes", "rights ending", "report cash",
    "report debtors", "report margin", "report days", "report income", "report mileage",
)  # fmt: skip

DAY = "2027-09-01"

#: What stands in the names of what was written again, and in nothing else.
AGAIN = "-again-"


def multiplied(book: Book, first: int, last: int) -> None:
    """Write the rows of every job again, under names that end in each of these numbers."""
    with book.work() as work:
        names = list(work.execute(select(metadata.tables["job"].c.key)).scalars())
        for table in ("issued", "licence", "form", "handover"):
            names += work.execute(select(metadata.tables[table].c.number)).scalars()
        names = [name for name in dict.fromkeys(names) if AGAIN not in name]
        pattern = re.compile(rf"(?<!\w)({'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))})(?!\w)")
        position = count(max(work.execute(select(metadata.tables["issued"].c.position)).scalars()) + 1)
        for table in metadata.sorted_tables:
            if table.name in ("person", "bank_entry", "booking", "overhead", "journey", "evidence", "draft"):
                continue
            rows = [dict(row) for row in work.execute(select(table)).mappings()]
            rows = [row for row in rows if not any(AGAIN in str(value) for value in row.values())]
            for number in range(first, last):
                again = []
                for row in rows:
                    new = {
                        name: pattern.sub(rf"\1{AGAIN}{number}", value) if isinstance(value, str) else value
                        for name, value in row.items()
                        if not (name == "id" and table.c.id.primary_key)
                    }
                    if "position" in new and table.name == "issued":
                        new["position"] = next(position)
                    if new != row and not _same_key(table, new, row):
                        again.append(new)
                if again:
                    work.execute(insert(table), again)


def _same_key(table, new, row):
    keys = [column.name for column in table.primary_key if column.name in new]
    return bool(keys) and all(new[name] == row[name] for name in keys)


@contextmanager
def questions():
    """How many statements are sent meanwhile."""
    asked: list[str] = []

    def note(connection, cursor, statement, *more):
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(Engine, "before_cursor_execute", note)


@pytest.fixture(scope="module")
def grown(tmp_path_factory):
    """Two studios with the jobs of the demo, ten times and a hundred times."""
    from bizkit.services.demo.playing import play

    small = tmp_path_factory.mktemp("grown") / "10"
    list(play(small))
    book = Book.open(small / "book.sqlite")
    multiplied(book, 1, 10)
    book.close()
    large = small.with_name("100")
    shutil.copytree(small, large)
    book = Book.open(large / "book.sqlite")
    multiplied(book, 10, 100)
    book.close()
    return small, large


def looks(commands) -> list[list[str]]:
    """Every look at the whole book as one types it, by a day where it takes one."""
    lists = [
        name
        for name, command in commands.items()
        if name.endswith(" list") and not any(one.required for one in command.params)
    ]
    found = []
    for name in (*lists, *WHOLE):
        words = name.split()
        command = commands[" ".join(words[: 1 if words[0] in commands else 2])]
        dated = any("--on" in one.opts for one in command.params)
        found.append([*words, *(("--on", DAY) if dated else ())])
    return found


def test_what_lists_asks_as_often_of_a_hundred_jobs_as_of_ten(grown, bizkit, commands, monkeypatch):
    grows = {}
    for words in looks(commands):
        asked = []
        for folder in grown:
            monkeypatch.chdir(folder)
            with questions() as sent:
                done = bizkit(*words)
            assert done.code == 0, (words, done.err)
            asked.append(len(sent))
        if asked[0] != asked[1]:
            grows[" ".join(words)] = asked
    assert grows == {}


def test_a_growing_list_is_seen(grown, monkeypatch):
    """The test above can fail: a reader that asks job by job."""
    from bizkit.store.jobs import jobs, stages

    asked = []
    for folder in grown:
        book = Book.open(folder / "book.sqlite")
        with questions() as sent, book.read() as work:
            for row in jobs(work):
                stages(work, row["key"])
        book.close()
        asked.append(len(sent))
    assert asked[1] > 9 * asked[0] - 20


def test_the_book_has_grown(grown, bizkit, monkeypatch):
    sizes = []
    for folder in grown:
        monkeypatch.chdir(folder)
        sizes.append(
            [len(bizkit(*name.split(), "--json").data) for name in ("job list", "quote list", "invoice list")]
        )
    small, large = sizes
    assert all(b == 10 * a >= 10 for a, b in zip(small, large, strict=True)), sizes
