"""Copies of one book on two machines, moved, put back and used by turns: no number is given twice unasked.

Numbers given once are the law of a series (SI 1995/2518 regulation 14(1)(a), Directive 2006/112/EC article 226(2));
that copies of a book must not break it is common practice.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import RuleBroken
from bizkit.services.studio.numbers import draw
from bizkit.services.studio.papers_folder import admit
from bizkit.services.studio.starting import PRACTICE, init_studio
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.whereabouts import begin_here, take_over
from bizkit.store.canonical import sha256
from bizkit.store.filed import add_filed
from bizkit.store.issued import issue

TODAY = date.today()
MACHINES = ("selkie", "kittiwake")


def number_paper(path: Path, said: str) -> str:
    """Issue the least there is: a number, its document and its paper."""
    folder = StudioFolder(path, who="Ailsa Gannet")
    stamp = folder.stamp(TODAY)
    with folder.book.work() as work:
        series, number = draw(work, "GL-{year}-{number:04}", TODAY)
        paper = folder.papers / f"{number}.pdf"
        content = admit(folder, work, paper, lambda: f"{number} {said}".encode())
        document = {"kind": "delivery_note", "said": said}
        issue(work, stamp, kind="delivery_note", series=series, number=number, key="kelp", document=document)
        add_filed(
            work, stamp, sha256=sha256(content), file=f"papers/{number}.pdf", size=len(content), kind="delivery_note",
            about=number, name=paper.name,
        )  # fmt: skip
    paper.parent.mkdir(exist_ok=True)
    paper.write_bytes(content)
    return number


@pytest.fixture
def on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Sit down at a machine: what its user keeps is in a folder of its own."""

    def at(machine: str) -> None:
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / machine))
        monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / machine))
        monkeypatch.setattr("socket.gethostname", lambda: machine)

    at("selkie")
    return at


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio whose book was not worked in anywhere yet; copied, never worked in."""
    path = tmp_path_factory.mktemp("empty") / "studio"
    init_studio(path, practice=True)
    settings_file = path / "studio.toml"
    settings_file.write_text(settings_file.read_text("utf-8").replace(PRACTICE, ""), "utf-8")
    return path


@pytest.fixture
def new(tmp_path: Path, on: Callable[[str], None], monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BIZKIT_WHO", "Ailsa Gannet")
    init_studio(tmp_path / "new")
    return tmp_path / "new"


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["issue", "issue", "issue", "copy", "move", "put book back", "keep book", "no papers"]),
        st.sampled_from(MACHINES),
        st.integers(0, 2),
        st.integers(0, 2),
    ),
    min_size=3,
    max_size=12,
)


@settings(
    max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None
)
@given(acts=ACTS)
def test_no_number_is_given_twice_on_a_machine_unless_somebody_says_so(acts, tmp_path_factory, empty):
    """Whatever is copied, moved, restored and emptied, with no word said: each number names one paper."""
    home = tmp_path_factory.mktemp("play")
    with pytest.MonkeyPatch.context() as patch:

        def sit(machine: str) -> None:
            patch.setenv("XDG_DATA_HOME", str(home / f"data-{machine}"))
            patch.setenv("LOCALAPPDATA", str(home / f"data-{machine}"))

        sit("selkie")
        shutil.copytree(empty, home / "selkie-0")
        begin_here(StudioFolder(home / "selkie-0", who="Ailsa Gannet"))
        given_out: dict[str, list[str]] = {}
        for step, (act, machine, first, second) in enumerate(acts):
            sit(machine)
            here, there = home / f"{machine}-{first}", home / f"{machine}-{second}"
            other = home / f"{MACHINES[1 - MACHINES.index(machine)]}-{second}"
            if act == "issue" and here.is_dir():
                try:
                    given_out.setdefault(number_paper(here, f"paper {step}"), []).append(str(here))
                except RuleBroken:
                    continue
            elif act == "copy" and (source := next((one for one in (there, other) if one.is_dir()), None)):
                if not here.exists():
                    shutil.copytree(source, here)
            elif act == "move" and here.is_dir() and not there.exists():
                here.rename(there)
            elif act == "keep book" and here.is_dir():
                shutil.copy(here / "book.sqlite", home / "kept.sqlite")
            elif act == "put book back" and here.is_dir() and (home / "kept.sqlite").exists():
                shutil.copy(home / "kept.sqlite", here / "book.sqlite")
            elif act == "no papers" and here.is_dir():
                shutil.rmtree(here / "papers", ignore_errors=True)
        assert {number: where for number, where in given_out.items() if len(where) > 1} == {}


def test_a_copy_on_the_second_laptop_waits_for_a_word(new, tmp_path, on):
    assert number_paper(new, "one") == f"GL-{TODAY.year}-0001"
    shutil.copytree(new, tmp_path / "copied")
    on("kittiwake")
    with pytest.raises(
        RuleBroken, match=rf"last used by Ailsa Gannet in {new} on selkie on {TODAY}. Nothing was issued: if it"
    ):
        number_paper(tmp_path / "copied", "two")
    done = take_over(StudioFolder(tmp_path / "copied", who="Rowan Lark"), "the new laptop")
    assert (done["taken_over"], done["lost"]) == (True, [])
    assert number_paper(tmp_path / "copied", "two") == f"GL-{TODAY.year}-0002"
    # Moved on that machine, and the whole folder renamed: no question.
    (tmp_path / "copied").rename(tmp_path / "renamed")
    assert number_paper(tmp_path / "renamed", "three") == f"GL-{TODAY.year}-0003"


def test_a_synced_folder_asks_each_machine_once(new, tmp_path, on):
    def sync(source: Path, target: Path) -> None:
        shutil.copytree(source, target, dirs_exist_ok=True)

    number_paper(new, "one")
    sync(new, tmp_path / "rowan")
    on("kittiwake")
    take_over(StudioFolder(tmp_path / "rowan"), "we share this folder")
    for step in range(3):
        on("kittiwake")
        number_paper(tmp_path / "rowan", f"rowan {step}")
        sync(tmp_path / "rowan", new)
        on("selkie")
        number_paper(new, f"ailsa {step}")
        sync(new, tmp_path / "rowan")
    # Both work before the sync has run: the one whose book is overwritten learns it at the next number.
    number_paper(new, "ailsa at once")
    on("kittiwake")
    lost = number_paper(tmp_path / "rowan", "rowan at once")
    shutil.copy(new / "book.sqlite", tmp_path / "rowan" / "book.sqlite")
    with pytest.raises(RuleBroken, match=rf"{lost} was issued here, by {TODAY}; the book here has another paper of"):
        number_paper(tmp_path / "rowan", "next")


def test_links_and_the_other_spelling_of_a_path_are_the_same_place(new, tmp_path):
    number_paper(new, "one")
    (tmp_path / "link").symlink_to(new)
    assert number_paper(tmp_path / "link", "two") == f"GL-{TODAY.year}-0002"
    other = tmp_path / "other"
    shutil.copytree(new, other)
    (other / "book.sqlite").unlink()
    (other / "book.sqlite").hardlink_to(new / "book.sqlite")
    assert number_paper(other, "three") == f"GL-{TODAY.year}-0003"


def test_two_studio_folders_with_one_file_draw_from_one_series(new, tmp_path, monkeypatch):
    monkeypatch.setenv("BIZKIT_BOOK", f"sqlite:///{new / 'book.sqlite'}")
    number_paper(new, "one")
    shutil.copytree(new, tmp_path / "second")
    assert number_paper(tmp_path / "second", "two") == f"GL-{TODAY.year}-0002"
    shutil.copytree(tmp_path / "second" / "papers", new / "papers", dirs_exist_ok=True)
    assert number_paper(new, "three") == f"GL-{TODAY.year}-0003"


def test_where_nothing_can_be_kept_the_file_itself_is_known(new, tmp_path, monkeypatch):
    number_paper(new, "one")
    (tmp_path / "no folder").write_text("")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "no folder"))
    assert number_paper(new, "two") == f"GL-{TODAY.year}-0002"
    shutil.copytree(new, tmp_path / "copied")
    with pytest.raises(RuleBroken, match=r"if this is a copy, issue in one of the two only"):
        number_paper(tmp_path / "copied", "three")
    monkeypatch.setenv("BIZKIT_MACHINE", "build")
    with pytest.raises(RuleBroken, match=r"was last used by"):
        number_paper(tmp_path / "copied", "three")
    take_over(StudioFolder(tmp_path / "copied"), "the build has it")
    assert number_paper(tmp_path / "copied", "three") == f"GL-{TODAY.year}-0003"


def test_a_home_folder_copied_to_another_machine_is_another_machine(new, tmp_path, on):
    number_paper(new, "one")
    shutil.copytree(tmp_path / "selkie", tmp_path / "kittiwake")
    on("kittiwake")
    with pytest.raises(RuleBroken, match="on selkie on"):
        number_paper(new, "two")


def test_a_book_from_before_takes_its_place_with_the_first_number(new, tmp_path):
    import sqlite3

    number_paper(new, "one")
    with sqlite3.connect(new / "book.sqlite") as book:
        trigger = book.execute("SELECT sql FROM sqlite_master WHERE name = 'event_kept_delete'").fetchone()[0]
        book.execute("DROP TRIGGER event_kept_delete")
        book.execute("DELETE FROM event WHERE subject = 'the book'")
        book.execute(trigger)
    shutil.copytree(new, tmp_path / "copied")
    assert number_paper(new, "two") == f"GL-{TODAY.year}-0002"
    # Its copies are known by their first document: the machine remembers what was issued.
    with pytest.raises(RuleBroken, match=rf"GL-{TODAY.year}-0002 was issued in {new}, by {TODAY}; it is not in"):
        number_paper(tmp_path / "copied", "three")


def test_a_practice_studio_and_a_server_are_asked_nothing(tmp_path, on, fresh_postgresql):
    init_studio(tmp_path / "trying", practice=True)
    init_studio(tmp_path / "team", book_url=fresh_postgresql)
    for name in ("trying", "team"):
        assert number_paper(tmp_path / name, "one") == f"GL-{TODAY.year}-0001"
        shutil.copytree(tmp_path / name, tmp_path / f"{name} 2")
        on("kittiwake")
        assert number_paper(tmp_path / f"{name} 2", "two") == f"GL-{TODAY.year}-0002"
        on("selkie")


def test_a_stop_between_the_book_and_the_memory_asks_nothing(new, tmp_path, monkeypatch):
    """The memory is behind then, never ahead: the number is issued, and the next one is the next."""
    number_paper(new, "one")

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("bizkit.services.studio.whereabouts.remember", stopped)
        with pytest.raises(KeyboardInterrupt):
            number_paper(new, "two")
    (new / "papers" / f"GL-{TODAY.year}-0002.pdf").write_bytes(f"GL-{TODAY.year}-0002 two".encode())
    assert number_paper(new, "three") == f"GL-{TODAY.year}-0003"
    for kept in (tmp_path / "selkie" / "bizkit" / "books").iterdir():
        kept.write_text('{"papers": [["', encoding="utf-8")
    assert number_paper(new, "four") == f"GL-{TODAY.year}-0004"
