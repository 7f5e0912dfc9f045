"""A studio folder copied to a second laptop, a copy put back, papers lost: what is refused, told and can be done."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

TODAY = date.today()
KELP = "follow-the-kelp"
FIRST, SECOND = f"Q-{TODAY.year}-0001", f"Q-{TODAY.year}-0002"


@pytest.fixture
def laptop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Sit down at a laptop: what its user keeps is in a folder of its own."""

    def at(name: str) -> None:
        for variable in ("XDG_DATA_HOME", "LOCALAPPDATA"):
            monkeypatch.setenv(variable, str(tmp_path / "laptops" / name))
        monkeypatch.setattr("socket.gethostname", lambda: name)

    at("selkie")
    return at


@pytest.fixture
def real(bizkit, laptop, tmp_path, monkeypatch) -> Path:
    """A studio for real business with one quote sent, and the current folder in it."""
    assert bizkit("init", tmp_path / "real").code == 0
    monkeypatch.chdir(tmp_path / "real")
    send(bizkit, KELP)
    return tmp_path / "real"


def brief(folder: Path, key: str) -> None:
    text = (folder / "briefs" / f"{KELP}.toml").read_text("utf-8")
    text = text.replace(f'key = "{KELP}"', f'key = "{key}"').replace("Follow the Kelp", key)
    (folder / "briefs" / f"{key}.toml").write_text(text, "utf-8")


def send(bizkit, key: str, *, refused: str = "") -> str:
    if key != KELP:
        brief(Path.cwd(), key)
    assert bizkit("quote", "draft", key).code == 0
    done = bizkit("quote", "send", key, "--json")
    assert (done.code, refused in done.err) == (1 if refused else 0, True), done.err
    assert len(done.err.splitlines()) == (1 if refused else 0)
    return "" if refused else done.data["number"]


def test_the_folder_copied_to_a_second_laptop_issues_nothing_until_it_is_the_one(
    bizkit, real, laptop, tmp_path, monkeypatch
):
    shutil.copytree(real, tmp_path / "copied")
    monkeypatch.chdir(tmp_path / "copied")
    laptop("kittiwake")
    send(
        bizkit, "gull-cliff", refused=f"last used by Ailsa Gannet in {real} on selkie on {TODAY}. Nothing was issued"
    )
    # Looking asks nothing.
    for words in (("status",), ("quote", "list"), ("job", "list")):
        assert bizkit(*words).code == 0
    checked = bizkit("verify")
    told = f"Look: nothing is issued here: this book was last used by Ailsa Gannet in {real}"
    assert (checked.code, told in checked.out) == (0, True)
    shown = bizkit("here", "--json").data
    assert (shown["settled"], shown["taken_over"], len(shown["places"])) == (False, False, 1)
    said = bizkit("here", "--reason", "the new laptop")
    assert (said.code, f"From now on numbers are drawn in {tmp_path / 'copied'}" in said.out) == (0, True)
    assert send(bizkit, "gull-cliff") == SECOND
    with sqlite3.connect("book.sqlite") as book:
        [(verb, data)] = book.execute(
            "SELECT verb, data FROM event WHERE subject = 'the book' ORDER BY id DESC LIMIT 1"
        )
    kept = json.loads(data)
    assert (verb, kept["reason"], kept["host"]) == ("taken over in", "the new laptop", "kittiwake")
    # Said once more it changes nothing; the folder renamed on this laptop needs no word.
    assert bizkit("here", "--reason", "again", "--json").data["taken_over"] is False
    monkeypatch.chdir(tmp_path)
    (tmp_path / "copied").rename(tmp_path / "studio of ours")
    monkeypatch.chdir(tmp_path / "studio of ours")
    assert send(bizkit, "selkie-bay") == f"Q-{TODAY.year}-0003"


def test_a_copy_on_the_same_laptop_is_told_from_a_folder_that_moved(bizkit, real, tmp_path, monkeypatch):
    shutil.copytree(real, tmp_path / "copied")
    monkeypatch.chdir(tmp_path / "copied")
    send(
        bizkit, "gull-cliff", refused=f"in {real} on this machine on {TODAY}, where it still lies. Nothing was issued"
    )
    # With the first one gone it has moved.
    real.rename(tmp_path / "put away")
    assert send(bizkit, "gull-cliff") == SECOND
    # And what was put away learns that the other has gone on.
    monkeypatch.chdir(tmp_path / "put away")
    send(bizkit, "selkie-bay", refused=f"{SECOND} was issued in {tmp_path / 'copied'}, by {TODAY}; it is not in")


def test_yesterdays_folder_put_back_goes_on_by_the_same_command_or_by_recording_the_number(
    bizkit, real, tmp_path, monkeypatch
):
    brief(real, "gull-cliff")
    shutil.copytree(real, tmp_path / "backup")
    assert send(bizkit, "gull-cliff") == SECOND
    sent = (real / "papers" / f"{SECOND}-r1.pdf").read_bytes()

    def restore() -> None:
        shutil.rmtree(real, ignore_errors=True)
        shutil.copytree(tmp_path / "backup", real)
        monkeypatch.chdir(real)

    # The paper is only at the client's: another one does not take its number.
    restore()
    send(bizkit, "selkie-bay", refused=f"{SECOND} was issued here, by {TODAY}; it is not in the book here")
    assert f"Look: nothing is issued here: {SECOND} was issued here" in bizkit("verify").out
    # It comes back from the client, and the same command takes it up as it is.
    (real / "papers" / f"{SECOND}-r1.pdf").write_bytes(sent)
    assert f"papers/{SECOND}-r1.pdf: the book does not know it" in bizkit("verify").out
    assert send(bizkit, "gull-cliff") == SECOND
    assert (real / "papers" / f"{SECOND}-r1.pdf").read_bytes() == sent
    assert (bizkit("verify").code, send(bizkit, "selkie-bay")) == (0, f"Q-{TODAY.year}-0003")

    # It cannot be made again: its number is recorded as used, with the paper or without one.
    (tmp_path / "from the client.pdf").write_bytes(sent)
    for paper in ((), ("--paper", tmp_path / "from the client.pdf")):
        restore()
        # The newest paper this laptop knows of is the third by now.
        third = f"Q-{TODAY.year}-0003"
        refused = bizkit("papers", "lost", third, "--reason", "the drive broke")
        told = f"{third} is not the next number of its series: record {SECOND} first"
        assert (refused.code, told in refused.err) == (1, True)
        done = bizkit("papers", "lost", SECOND, "--reason", "the drive broke", *paper)
        assert (done.code, done.out.splitlines()[0]) == (0, f"{SECOND} is recorded as used (quote): the drive broke")
        assert bizkit("papers", "lost", SECOND, "--reason", "again").code == 1
        assert bizkit("papers", "lost", third, "--reason", "the drive broke").code == 0
        assert send(bizkit, "selkie-bay") == f"Q-{TODAY.year}-0004"
        checked = bizkit("verify")
        told = f"Look: {SECOND}: used by a paper of a lost copy of the book (the drive broke)"
        assert (checked.code, told in checked.out) == (0, True), checked.out
        assert (real / "papers" / f"{SECOND}-r1.pdf").exists() is bool(paper)
        assert [one["number"] for one in bizkit("quote", "list", "--json").data] == [FIRST, f"Q-{TODAY.year}-0004"]
        assert bizkit("papers", "rebuild").out == "No PDF is missing.\n"
        (tmp_path / "laptops" / "selkie" / "bizkit" / "books").rename(tmp_path / f"forgotten {len(paper)}")


def test_going_on_all_the_same_is_kept_and_told(bizkit, real, tmp_path, monkeypatch):
    older = (real / "book.sqlite").read_bytes()
    assert send(bizkit, "gull-cliff") == SECOND
    (real / "book.sqlite").write_bytes(older)
    (real / "papers" / f"{SECOND}-r1.pdf").unlink()
    said = bizkit("here", "--reason", "nobody has it any more")
    assert (said.code, f"Look: {SECOND}: issued by another copy." in said.out) == (0, True)
    assert f"Look: {SECOND}: issued by another copy of the book, and not in this one" in bizkit("verify").out


@pytest.mark.parametrize("paper", ["another copy's", "damaged"])
def test_a_paper_that_another_copy_issued_is_never_to_be_overwritten(
    bizkit, real, laptop, tmp_path, monkeypatch, paper
):
    shutil.copytree(real, tmp_path / "copied")
    assert send(bizkit, "gull-cliff") == SECOND
    monkeypatch.chdir(tmp_path / "copied")
    laptop("kittiwake")
    bizkit("here", "--reason", "I took this one for the only one")
    assert send(bizkit, "selkie-bay") == SECOND
    name = f"papers/{SECOND}-r1.pdf"
    theirs = (tmp_path / "copied" / name).read_bytes()
    lies = theirs if paper == "another copy's" else theirs[: len(theirs) // 2]
    monkeypatch.chdir(real)
    laptop("selkie")
    (real / name).write_bytes(lies)
    checked = bizkit("verify", "--json").data["faults"]
    rebuilt = bizkit("papers", "rebuild")
    if paper == "damaged":
        cure = "bizkit papers rebuild puts the right one in its place"
        assert checked == [f"{name}: not the file that was filed on {TODAY}: {cure}"]
        assert f"Made {name}" in rebuilt.out
        return
    assert [f"two copies of the book have issued {SECOND}. Overwrite neither" in line for line in checked] == [True]
    assert "rebuild" not in checked[0]
    told = f"Left alone: {name}: another copy of the book issued it under this number; see bizkit verify\n"
    assert (rebuilt.code, rebuilt.out) == (1, told)
    assert (real / name).read_bytes() == lies
    # Named by its number it is meant: the other one is kept.
    assert f"Set aside set-aside/{SECOND}-r1.pdf" in bizkit("papers", "rebuild", SECOND).out
    assert (real / "set-aside" / f"{SECOND}-r1.pdf").read_bytes() == lies


def test_what_is_no_number_of_the_studio_is_refused_as_lost(bizkit, real, tmp_path):
    (tmp_path / "note.txt").write_text("no paper")
    for words, said, code in (
        (("XY-1", "--reason", "x"), "NUMBER: wanted the number of a quote", 2),
        ((FIRST, "--reason", "x"), f"{FIRST} is in the book", 1),
        ((SECOND,), "--reason: wanted why that number is used", 2),
        ((SECOND, "--reason", "x", "--paper", tmp_path / "note.txt"), "got another kind of file", 2),
        (("Q-1999-0001", "--reason", "x"), "Q-1999-0001 is of another year", 2),
    ):
        done = bizkit("papers", "lost", *words)
        assert (done.code, done.out, said in done.err) == (code, "", True), done.err


def test_of_a_lost_revision_only_what_can_be_done_is_said(bizkit, real, tmp_path):
    """Its number is in the book, so it cannot be recorded as used: its own command brings it back."""
    yesterday = tmp_path / "yesterday"
    shutil.copytree(real, yesterday)
    text = (real / "briefs" / f"{KELP}.toml").read_text("utf-8")
    (real / "briefs" / f"{KELP}.toml").write_text(text.replace("Follow the Kelp", "Follow the Kelp again"), "utf-8")
    assert bizkit("quote", "draft", KELP, "--as-revision", "a new title").code == 0
    assert bizkit("quote", "send", KELP, "--json").data["revision"] == 2
    shutil.copy(yesterday / "book.sqlite", real / "book.sqlite")
    paper = shutil.move(real / "papers" / f"{FIRST}-r2.pdf", tmp_path / "from the client.pdf")
    refused = bizkit("papers", "lost", FIRST, "--reason", "the disk broke")
    assert (refused.code, "is in the book: it is not lost" in refused.err) == (1, True)
    brief(real, "gull-cliff")
    assert bizkit("quote", "draft", "gull-cliff").code == 0
    told = bizkit("quote", "send", "gull-cliff").err
    assert f"put that paper into papers/ as {FIRST}-r2.pdf, repeat its command with the same --on; where that" in told
    assert "papers lost" not in told
    shutil.copy(paper, real / "papers" / f"{FIRST}-r2.pdf")
    assert bizkit("quote", "draft", KELP, "--as-revision", "a new title").code == 0
    again = bizkit("quote", "send", KELP, "--json")
    assert (again.code, again.data["revision"]) == (0, 2), again.err
    assert bizkit("quote", "send", "gull-cliff").code == 0
