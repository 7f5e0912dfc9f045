"""What takes long says how far it is: on a terminal, on standard error, and nowhere else."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

COMMANDS = {
    "verify": ["verify"],
    "rebuild": ["papers", "rebuild"],
    "bundle": [
        "report",
        "bundle",
        "--from",
        "2027-01-01",
        "--to",
        "2027-12-31",
        "--on",
        "2027-12-31",
        "--out",
        "b.zip",
    ],
}


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    return folder


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are POSIX")
@pytest.mark.parametrize("name", COMMANDS)
def test_progress_is_shown_on_a_terminal_and_nowhere_else(played, name):
    import pty

    command = [sys.executable, "-m", "bizkit", *COMMANDS[name]]
    done = subprocess.run(command, cwd=played, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    ours, theirs = pty.openpty()
    done = subprocess.run(command, cwd=played, stdout=subprocess.PIPE, stderr=theirs, text=True)
    os.close(theirs)
    shown = os.read(ours, 100_000).decode()
    os.close(ours)
    assert done.returncode == 0
    assert "100%" in shown
    assert "100%" not in done.stdout
