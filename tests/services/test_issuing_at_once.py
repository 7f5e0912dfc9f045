"""Numbers under strain: two processes that issue at once, and one that is killed while it issues."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date

import pytest

from bizkit.domain.errors import RuleBroken
from bizkit.services.billing.deposits import invoice_deposit
from bizkit.services.overview.verifying import verify_book
from bizkit.services.studio.rebuilding import rebuild_papers
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.issued import of_kind

#: Opens the book, waits for a word, then issues deposits of 1.20 for a job and says each number as a command would.
WORKER = """
import sys
from datetime import date
from pathlib import Path
from bizkit.services.billing.deposits import invoice_deposit
from bizkit.services.studio.rebuilding import rebuild_papers
from bizkit.services.studio.studio_folder import StudioFolder
folder, job, count = StudioFolder(Path(sys.argv[1]), who=sys.argv[2]), sys.argv[2], int(sys.argv[3])
on = date(2027, 2, 10)
folder.book
print("ready", flush=True)
sys.stdin.readline()
for _ in range(count):
    print(invoice_deposit(folder, job, "1.20", on, received_on=on)["number"], flush=True)
"""


@contextmanager
def working(folder: StudioFolder, job: str, count: int) -> Iterator[subprocess.Popen[str]]:
    """A process of its own that issues invoices; ended in any case."""
    surroundings = {key: value for key, value in os.environ.items() if not key.startswith("BIZKIT_")}
    process = subprocess.Popen(
        [sys.executable, "-c", WORKER, str(folder.path), job, str(count)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=surroundings,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n", process.communicate()
        yield process
    finally:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, process.stderr):
            if pipe is not None:
                with suppress(BrokenPipeError):
                    pipe.close()


def go(*processes: subprocess.Popen[str]) -> None:
    """Let them all begin."""
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("go\n")
        process.stdin.flush()


def numbers(folder: StudioFolder) -> list[str]:
    with folder.book.read() as work:
        return [one.number for one in of_kind(work, "invoice")]


def test_two_processes_issuing_at_once_never_share_a_number(jobs):
    with working(jobs, "follow-the-kelp", 8) as one, working(jobs, "mind-the-gulls", 8) as other:
        go(one, other)
        said = [process.communicate(timeout=120) for process in (one, other)]
        assert [process.returncode for process in (one, other)] == [0, 0], said
    drawn = [out.split() for out, _ in said]
    assert [len(mine) for mine in drawn] == [8, 8]
    assert sorted(drawn[0] + drawn[1]) == [f"GL-2027-{number:04}" for number in range(1, 17)]
    assert drawn[0] == sorted(drawn[0])
    assert numbers(jobs) == [f"GL-2027-{number:04}" for number in range(1, 17)]
    assert verify_book(jobs)["faults"] == []


WANTED = 200
ON = date(2027, 2, 10)


def test_a_process_killed_while_issuing_leaves_no_gap_no_double_and_a_whole_chain(file_jobs):
    if not hasattr(signal, "SIGKILL"):
        pytest.skip("no SIGKILL on this system")
    dice = random.Random(11)
    said: list[str] = []
    kills = 0
    until = time.monotonic() + 150
    missing = 0
    while len(numbers(file_jobs)) < WANTED:
        assert time.monotonic() < until
        with working(file_jobs, "follow-the-kelp", WANTED - len(numbers(file_jobs))) as process:
            assert process.stdout is not None
            go(process)
            for _ in range(dice.randrange(15, 40)):
                line = process.stdout.readline().strip()
                if not line:
                    break
                said.append(line)
            time.sleep(dice.random() * 0.12)
            process.send_signal(signal.SIGKILL)
            kills += 1
            rest = process.stdout.read().split()
            said += rest
        # At most the PDF of the invoice whose writer died is missing. Nothing more is issued for its job until it is
        # there: it comes back from the frozen document.
        faults = verify_book(file_jobs)["faults"]
        assert all("missing: make it again with bizkit papers rebuild" in fault for fault in faults), faults
        assert len(faults) <= 1
        if faults:
            with pytest.raises(RuleBroken, match=r"was issued on 2027-02-10, and .* is missing"):
                invoice_deposit(file_jobs, "follow-the-kelp", "1.20", ON, received_on=ON)
        assert len(rebuild_papers(file_jobs)["made"]) == len(faults)
        missing += len(faults)
    held = numbers(file_jobs)
    assert held == [f"GL-2027-{number:04}" for number in range(1, WANTED + 1)]
    # Whatever a process said it had issued is there, once.
    assert len(said) == len(set(said))
    assert set(said) <= set(held)
    assert kills >= 5
    assert missing <= kills
    assert verify_book(file_jobs)["faults"] == []
    assert not list(file_jobs.papers.glob(".writing-*")) or kills


def test_the_chain_shows_a_tampered_invoice(file_jobs):
    import sqlite3

    with working(file_jobs, "follow-the-kelp", 3) as process:
        go(process)
        process.communicate(timeout=60)
    book = sqlite3.connect(file_jobs.path / "book.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match="never changes"):
        book.execute("update issued set document = replace(document, '1.20', '0.20')")
    book.rollback()
    for name in ("update", "delete"):
        book.execute(f"drop trigger issued_kept_{name}")
    book.execute("update issued set document = replace(document, '1.20', '0.20') where number = 'GL-2027-0002'")
    book.commit()
    book.close()
    faults = verify_book(file_jobs)["faults"]
    assert [fault for fault in faults if fault.startswith("invoice GL-2027-0002: its content is not what was issued")]
