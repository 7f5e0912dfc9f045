"""A command whose input, output or error output is closed does its work and ends without a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import bizkit as package

CLOSED = ("<&-", ">&-", "2>&-", "<&- >&- 2>&-")


def started(studio, closed, *words):
    """A command as its own process, some of its streams closed by the shell."""
    run = "import sys; sys.argv[0] = 'bizkit'; from bizkit.cli.main import run; run()"
    return subprocess.run(
        ["sh", "-c", f'exec "$@" {closed}', "sh", sys.executable, "-c", run, *words],
        cwd=studio, capture_output=True, text=True, timeout=120, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(package.__file__).parents[1]), "BIZKIT_WHO": "Ailsa Gannet"},
    )  # fmt: skip


@pytest.mark.parametrize("closed", CLOSED)
def test_an_invoice_is_issued_with_a_stream_closed(bizkit, job, studio, closed):
    done = started(studio, closed, "invoice", "issue", job, "--on", "2027-02-08")
    assert (done.returncode, done.stderr) == (0, "")
    assert [path.name for path in (studio / "papers").glob("GL-*.pdf")] == ["GL-2027-0001.pdf"]
    assert bizkit("verify").code == 0


@pytest.mark.parametrize("words", [("status", "--on", "2027-02-08"), ("--help",), ("verify",)], ids=" ".join)
def test_what_is_only_looked_at_ends_well_without_an_output(job, studio, words):
    done = started(studio, ">&-", *words)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_wrong_word_is_told_with_the_output_closed_and_keeps_its_exit_code_without_an_error_output(studio):
    told = started(studio, ">&-", "status", "--on", "soon")
    assert told.returncode == 2
    assert told.stderr.startswith("bizkit: ")
    assert told.stderr.count("\n") == 1
    silent = started(studio, "2>&-", "status", "--on", "soon")
    assert (silent.returncode, silent.stdout, silent.stderr) == (2, "", "")
