"""What is done is said as done: the book has the record, the paper could not be written, and what to do is one line.

The file system really refuses: a limit on the size of files (as a full disk does), a file where papers/ should be, a
process killed between the commit and the file.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import socketserver
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

JOB = "follow-the-kelp"
OTHER = "gannet-week"
DAY = ("--on", "2027-09-20")


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo at its end, its logo a picture so large that every paper is larger than the book."""
    import random

    from PIL import Image

    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    noise = random.Random(7).randbytes(900 * 900 * 3)
    Image.frombytes("RGB", (900, 900), noise).save(folder / "logo.png")
    settings = folder / "studio.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace("\n[", '\nlogo = "logo.png"\n\n[', 1), "utf-8")
    return folder


@pytest.fixture
def studio(played: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "studio"
    shutil.copytree(played, folder)
    monkeypatch.chdir(folder)
    return folder


@contextmanager
def no_larger_than(size: int) -> Iterator[None]:
    """While it lasts, no file can be written beyond `size` bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@dataclass(frozen=True)
class Act:
    """A command that issues a paper. first: commands before it. name: what rebuilds it; done: how the line begins."""

    words: tuple[str, ...]
    name: str
    done: str
    first: tuple[tuple[str, ...], ...] = ()


DRAFTED = (("quote", "draft", "puffin-week", *DAY),)
SENT = (*DRAFTED, ("quote", "send", "puffin-week", *DAY))
LATE = (("invoice", "issue", OTHER, "--stage", "1", "--reason", "agreed", "--on", "2027-07-20"),)
CHARGED = (
    (
        "charge",
        "add",
        OTHER,
        "--what",
        "Waiting",
        "--amount",
        "50.00",
        "--reason",
        "agreed",
        "--agreed",
        "Una, by mail",
        *DAY,
    ),
)
ACTS = {
    "quote": Act(("quote", "send", "puffin-week"), "Q-2027-0003", "Q-2027-0003 revision 1 is issued", DRAFTED),
    "choice": Act(
        ("quote", "accept", "puffin-week", "--option", "boat"),
        "Q-2027-0003", "Q-2027-0003 revision 2 is issued", SENT,
    ),
    "stage": Act(
        ("invoice", "issue", OTHER, "--stage", "1", "--reason", "agreed"), "GL-2027-0004", "GL-2027-0004 is issued"
    ),
    "deposit": Act(
        ("invoice", "deposit", OTHER, "100.00", "--received", "2027-09-20"), "GL-2027-0004", "GL-2027-0004 is issued"
    ),
    "final": Act(
        ("invoice", "issue", OTHER, "--final", "--reason", "agreed"), "GL-2027-0004", "GL-2027-0004 is issued"
    ),
    "charges": Act(("invoice", "issue", OTHER, "--charges"), "GL-2027-0004", "GL-2027-0004 is issued", CHARGED),
    "credit": Act(
        ("invoice", "credit", "GL-2027-0004", "--amount", "10.00", "--reason", "agreed"),
        "GLC-2027-0001", "GLC-2027-0001 is issued", LATE,
    ),
    "settling": Act(
        ("invoice", "settle", OTHER), "GLC-2027-0001", "GLC-2027-0001 is issued",
        (*LATE, ("quote", "cancel", OTHER, "--on", "2027-07-21")),
    ),
    "late charge": Act(("late", "charge", "GL-2027-0004"), "GL-2027-0005", "GL-2027-0005 is issued", LATE),
    "reminder": Act(
        ("late", "remind", "GL-2027-0004"),
        "reminder-GL-2027-0004-friendly", "reminder-GL-2027-0004-friendly is written", LATE,
    ),
    "pro forma": Act(("invoice", "proforma", OTHER), "PF-gannet-week-1", "PF-gannet-week-1 is written"),
    "receipt": Act(("payment", "receipt", "1"), "R-2027-0001", "R-2027-0001 is written"),
    "statement": Act(
        ("statement", "skerrow-islands-tourism"),
        "statement-skerrow-islands-tourism-2027-09-20", "statement-skerrow-islands-tourism-2027-09-20 is written",
    ),
    "grant": Act(
        ("rights", "grant", OTHER, "--override", "agreed"), "LC-2027-0002", "LC-2027-0002 revision 1 is issued"
    ),
    "certificate": Act(
        ("rights", "certificate", "LC-2027-0001"), "LC-2027-0001", "LC-2027-0001 revision 3 is issued",
        (("rights", "end", "LC-2027-0001", "--reason", "agreed", *DAY),),
    ),
}  # fmt: skip


@pytest.fixture
def prepared(bizkit, studio) -> Callable[[Act], None]:
    """Does what comes before an act; the logo is filed by then."""

    def prepare(act: Act) -> None:
        text = (studio / "briefs" / "gannet-week.toml").read_text(encoding="utf-8")
        text = text.replace('key = "gannet-week"', 'key = "puffin-week"').replace("Gannet week", "Puffin week")
        (studio / "briefs" / "puffin-week.toml").write_text(text, encoding="utf-8")
        (studio / "briefs" / "logo.toml").write_text(text.replace("puffin-week", "logo-week", 1), encoding="utf-8")
        assert bizkit("quote", "draft", "logo", *DAY).code == 0
        for words in act.first:
            done = bizkit(*words)
            assert done.code == 0, done.err

    return prepare


@pytest.mark.parametrize("name", ACTS)
def test_a_paper_that_cannot_be_written_is_issued_all_the_same_and_the_line_says_so(bizkit, prepared, studio, name):
    act = ACTS[name]
    prepared(act)
    with no_larger_than(1_500_000):
        done = bizkit(*act.words, *DAY)
    assert done.code == 1
    assert done.err.startswith(f"bizkit: {act.done} and in the book, but papers/{act.name}")
    assert "could not be written: File too large. Put that right, then run " in done.err
    assert done.err.endswith(f"bizkit papers rebuild {act.name}; nothing has to be issued again\n")
    assert len(done.err.splitlines()) == 1
    # Said once more: the repeat does not issue a second one, nor ask for a reason to.
    issued = bizkit("verify", "--json").data["documents"]
    again = bizkit(*act.words, *DAY)
    assert again.code == 1
    assert f"bizkit: {act.name} was issued on 2027-09-20, and papers/{act.name}" in again.err
    assert f"Write it with bizkit papers rebuild {act.name}; to issue another one, do that first" in again.err
    checked = bizkit("verify", "--json").data
    assert (checked["documents"], len(checked["faults"])) == (issued, 1)
    assert "missing: make it again with bizkit papers rebuild" in checked["faults"][0]
    # The one command writes it.
    made = bizkit("papers", "rebuild", act.name, "--json")
    assert (made.code, len(made.data["made"]), made.data["anew"]) == (0, 1, [])
    assert bizkit("verify", "--json").data["faults"] == []
    assert not list((studio / "papers").rglob(".writing-*"))


def test_a_handover_whose_note_cannot_be_filed_is_handed_over(bizkit, studio, tmp_path, change):
    change(studio / "studio.toml", 'logo = "logo.png"\n', "")
    drive = tmp_path / "drive"
    shutil.copytree(studio / "deliveries", drive)
    (studio / "papers").rename(tmp_path / "papers")
    (studio / "papers").write_bytes(b"")
    words = ("handover", "make", OTHER, drive, "--reason", "asked for everything", *DAY)
    done = bizkit(*words)
    assert done.code == 1
    assert "DN-2027-0002 is issued and in the book, but papers/DN-2027-0002.pdf could not be written" in done.err
    assert (drive / "DN-2027-0002.pdf").is_file()
    (studio / "papers").unlink()
    (tmp_path / "papers").rename(studio / "papers")
    assert bizkit("papers", "rebuild", "DN-2027-0002").code == 0
    assert (studio / "papers" / "DN-2027-0002.pdf").read_bytes() == (drive / "DN-2027-0002.pdf").read_bytes()
    assert bizkit("verify").code == 0


def test_a_file_that_comes_to_lie_there_meanwhile_is_not_replaced(bizkit, studio, monkeypatch):
    from bizkit.services.studio import filing

    write_new = filing.write_new

    def beaten(path: Path, content: bytes) -> None:
        path.write_bytes(b"another paper")
        write_new(path, content)

    monkeypatch.setattr(filing, "write_new", beaten)
    done = bizkit(*ACTS["deposit"].words, *DAY)
    assert (done.code, "papers/GL-2027-0004.pdf could not be written: another file lies there" in done.err) == (
        1,
        True,
    )
    monkeypatch.undo()
    os.chdir(studio)
    assert (studio / "papers" / "GL-2027-0004.pdf").read_bytes() == b"another paper"
    assert bizkit("papers", "rebuild", "GL-2027-0004").code == 0
    assert (studio / "set-aside" / "GL-2027-0004.pdf").read_bytes() == b"another paper"
    assert bizkit("verify").code == 0


#: Runs a command and dies, as by a power cut, where it would write the paper.
KILLED = """
import os, signal, sys
from bizkit.cli.main import run
from bizkit.services.studio import filing
filing.write_new = lambda path, content: os.kill(os.getpid(), signal.SIGKILL)
run()
"""


@pytest.mark.parametrize("name", ["stage", "reminder", "grant"])
def test_after_a_kill_between_commit_and_paper_the_repeat_tells(bizkit, prepared, studio, name):
    act = ACTS[name]
    prepared(act)
    surroundings = {key: value for key, value in os.environ.items() if not key.startswith("BIZKIT_")}
    gone = subprocess.run([sys.executable, "-c", KILLED, *act.words, *DAY], env=surroundings, capture_output=True)
    assert gone.returncode == -signal.SIGKILL
    again = bizkit(*act.words, *DAY)
    assert (again.code, f"{act.name} was issued on 2027-09-20, and papers/{act.name}" in again.err) == (1, True)
    assert bizkit("papers", "rebuild", act.name).code == 0
    assert bizkit("verify").code == 0


def test_what_a_killed_writer_left_half_written_is_named_and_cleared(bizkit, studio):
    left = studio / "papers" / "scans" / ".writing-x1"
    left.write_bytes(b"%PDF- half")
    assert "Look: papers/scans/.writing-x1: left half-written by a command that was stopped" in bizkit("verify").out
    # It may be being written this very moment.
    assert bizkit("papers", "rebuild").out == "No PDF is missing.\n"
    os.utime(left, (left.stat().st_atime - 120, left.stat().st_mtime - 120))
    assert bizkit("papers", "rebuild").out == "Cleared away papers/scans/.writing-x1\n"
    assert "Look:" not in bizkit("verify").out


#: Hands a folder over and dies where the list lies there and the next thing is to commit what was written down.
UNCOMMITTED = """
import os, signal, sys
from pathlib import Path
from sqlalchemy import Engine, event
from bizkit.cli.main import run
listed = Path(sys.argv[4], "SHA256SUMS")
event.listen(Engine, "commit", lambda connection: listed.exists() and os.kill(os.getpid(), signal.SIGKILL))
run()
"""


def test_a_handover_that_was_stopped_before_its_record_is_told_from_one_that_was_made(bizkit, studio, tmp_path):
    drive = tmp_path / "drive"
    shutil.copytree(studio / "deliveries", drive)
    words = ("handover", "make", OTHER, str(drive), "--reason", "asked for everything", *DAY)
    surroundings = {key: value for key, value in os.environ.items() if not key.startswith("BIZKIT_")}
    gone = subprocess.run([sys.executable, "-c", UNCOMMITTED, *words], env=surroundings, capture_output=True)
    assert gone.returncode == -signal.SIGKILL
    assert (drive / "DN-2027-0002.pdf").is_file()
    # The files are whole, but nobody was handed anything: that is not the same.
    checked = bizkit("handover", "verify", drive)
    assert (checked.code, "No handover of it is on record" in checked.out) == (1, True)
    again = bizkit(*words)
    assert again.code == 1
    assert "drive has a SHA256SUMS and DN-2027-0002.pdf that the book does not know" in again.err
    begun = f"{drive}: a handover of {OTHER} was begun on "
    checked = bizkit("verify")
    assert (checked.code, begun in checked.out) == (1, True)
    assert "stopped before it was recorded: delete DN-2027-0002.pdf and SHA256SUMS there, then repeat" in checked.out
    drive.rename(tmp_path / "unplugged")
    checked = bizkit("verify")
    assert (checked.code, f"Look: {begun}" in checked.out, "cannot be seen from here" in checked.out) == (
        0,
        True,
        True,
    )
    (tmp_path / "unplugged").rename(drive)
    for name in ("SHA256SUMS", "DN-2027-0002.pdf"):
        (drive / name).unlink()
    assert (bizkit("verify").code, begun in bizkit("verify").out) == (0, False)
    left = drive / ".writing-x1"
    left.write_bytes(b"half a note")
    checked = bizkit("verify")
    assert (checked.code, "stopped before it was recorded: delete .writing-x1 there, then" in checked.out) == (
        1,
        True,
    )
    os.utime(left, (0, 0))
    assert bizkit(*words).code == 0
    assert not left.exists()
    assert ".writing" not in (drive / "SHA256SUMS").read_text(encoding="utf-8")
    assert "has its SHA256SUMS already: check it with bizkit handover verify" in bizkit(*words).err
    assert bizkit("handover", "verify", drive).code == 0
    left.write_bytes(b"half a list")
    checked = bizkit("verify")
    said = f"Look: {drive}: .writing-x1 was left half-written by a command that was stopped: delete it there"
    assert (checked.code, said in checked.out) == (0, True)


def test_of_a_scan_that_is_refused_after_all_no_copy_stays(bizkit, studio, scan, monkeypatch):
    from bizkit.domain.errors import RuleBroken
    from bizkit.store import events

    def refuse(*_: object, **__: object) -> None:
        raise RuleBroken("refused after the scan was copied")

    before = sorted((studio / "papers" / "scans").iterdir())
    words = ("overhead", "add", "Dues", "30.00", "--receipt", scan, *DAY)
    with monkeypatch.context() as patch:
        patch.setattr(events, "record", refuse)
        assert "refused after the scan was copied" in bizkit(*words).err
    assert sorted((studio / "papers" / "scans").iterdir()) == before
    assert bizkit(*words).code == 0
    assert len(sorted((studio / "papers" / "scans").iterdir())) == len(before) + 1


class _Sink(socketserver.StreamRequestHandler):
    """As much of SMTP as taking one mail needs (RFC 5321, from memory)."""

    def handle(self) -> None:
        self.wfile.write(b"220 sink\r\n")
        for line in self.rfile:
            word = line[:4].upper()
            if word == b"DATA":
                self.wfile.write(b"354 go on\r\n")
                mail = b"".join(iter(self.rfile.readline, b".\r\n"))
                self.server.taken.append(mail)  # type: ignore[attr-defined]
            self.wfile.write(b"221 bye\r\n" if word == b"QUIT" else b"250 ok\r\n")
            if word == b"QUIT":
                return


def test_a_mail_that_was_sent_is_said_to_be_sent_though_its_copy_cannot_be_kept(bizkit, studio):
    with socketserver.TCPServer(("127.0.0.1", 0), _Sink) as server:
        server.taken = []  # type: ignore[attr-defined]
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with (studio / "studio.toml").open("a", encoding="utf-8") as file:
            file.write(f'\n[mail]\nhost = "127.0.0.1"\nport = {server.server_address[1]}\nsecurity = "none"\n')
        (studio / "mail").write_bytes(b"a file where the folder should be")
        done = bizkit("send", "GL-2027-0002", "--by-server", *DAY)
        server.shutdown()
        assert len(server.taken) == 1  # type: ignore[attr-defined]
    assert done.code == 1
    assert "GL-2027-0002 was sent to una.flett@skerrow-islands.example, but its copy " in done.err
    assert done.err.endswith("mail/GL-2027-0002.eml could not be written: Not a directory; do not send it again\n")
    # Without a server nothing was sent: then the same failure is a failure, and nothing is in the history.
    done = bizkit("send", "GL-2027-0002", *DAY)
    assert (done.code, "Not a directory: a file lies where a folder is wanted" in done.err) == (1, True)
