"""Whatever lists: as many questions to the book at 100 jobs as at 10.

The book is that of the demo with the rows of its jobs written again and again under other names, which is quick; what
lists read of it is what the services wrote.
"""

from __future__ import annotations

import runpy
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from bizkit.store.book import Book

#: What looks at the whole book beside the lists, which are found from the command tree.
WHOLE = (
    "status", "calendar --out all.ics", "kit bookings", "kit clashes", "rights ending", "report cash",
    "report debtors", "report margin", "report days", "report income", "report mileage",
)  # fmt: skip

DAY = "2027-09-01"

JOB = "follow-the-kelp"

BENCH = Path(__file__).parents[1] / "bench"


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


def again(folder, first, last):
    """Write the jobs of a studio's book again, from one number to before another."""
    book = Book.open(folder / "book.sqlite")
    runpy.run_path(str(BENCH / "again.py"))["write_again"](book, first, last)
    book.close()


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """The demo at its end; copied, never worked in."""
    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    return folder


@pytest.fixture(scope="module")
def settled(played, tmp_path_factory):
    """The jobs of the demo ten times, which nobody owes anything for."""
    folder = tmp_path_factory.mktemp("settled") / "studio"
    shutil.copytree(played, folder)
    again(folder, 1, 10)
    return folder


@pytest.fixture(scope="module")
def grown(played, tmp_path_factory):
    """Two studios with the jobs of the demo, ten times and a hundred times, some of it late."""
    small = tmp_path_factory.mktemp("grown") / "10"
    shutil.copytree(played, small)
    # What is late, and a movement that waits: the demo leaves neither.
    for words in (
        ("charge", "add", JOB, "--what", "Drive", "--amount", "50", "--reason", "asked for", "--agreed", "Una",
         "--on", "2027-07-20"),
        ("invoice", "issue", JOB, "--charges", "--on", "2027-07-20"),
        ("bank", "reopen", "1", "--reason", "a slip", "--on", "2027-08-01"),
    ):  # fmt: skip
        done = subprocess.run([sys.executable, "-m", "bizkit", *words], cwd=small, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
    again(small, 1, 10)
    large = small.with_name("100")
    shutil.copytree(small, large)
    again(large, 10, 100)
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


def test_what_is_late_and_what_waits_is_among_what_is_listed(grown, bizkit, monkeypatch):
    late = []
    for folder in grown:
        monkeypatch.chdir(folder)
        late.append(len(bizkit("late", "list", "--on", DAY, "--json").data["late"]))
        (movement,) = [row for row in bizkit("bank", "list", "--json").data if row["entry"] == 1]
        assert (movement["state"], len(movement["suggestions"])) == ("open", 3)
    assert late == [20, 200]


def test_a_growing_list_is_seen(grown, monkeypatch):
    """The test above can fail: a reader that asks job by job."""
    from bizkit.store.jobs import jobs, stages

    asked = []
    for folder in grown:
        book = Book.open(folder / "book.sqlite")
        with questions() as sent, book.read() as work:
            for row in jobs(work):
                stages(work, row.key)
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


def test_finished_jobs_change_nothing_about_a_status_but_what_they_lack(settled, bizkit, monkeypatch):
    """Read for the jobs with something to come, and for all of them, on days from the first quote to long after."""
    from bizkit.store import unfinished
    from bizkit.store.jobs import job_keys

    monkeypatch.chdir(settled)
    real, came = unfinished.unfinished, []

    def noted(work, *days):
        came.append(real(work, *days))
        return came[-1]

    for day in ("2027-02-15", "2027-06-01", "2027-07-01", DAY, "2028-08-01", "2029-09-01", "2035-01-01"):
        read = []
        for which in (noted, lambda work, *days: set(job_keys(work))):
            monkeypatch.setattr(unfinished, "unfinished", which)
            read.append(bizkit("status", "--on", day, "--json").data)
        mine, whole = read
        kept = {name: [row for row in whole[name] if row["job"] in came[-1]] for name in ("missing", "ending")}
        assert mine == {**whole, **kept}, day
    assert len(came[-1]) < len(came[0])
