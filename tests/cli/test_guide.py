"""The guide: every command on every page is run, in the order of a job, and does what the page says."""

from __future__ import annotations

import json
import shlex

import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

#: The day on which each page is read, in the studio that the first one makes.
READ_ON = {
    "first-quote": "2027-02-01", "release": "2027-05-11", "shoot-day": "2027-05-11", "delivery": "2027-06-03",
    "invoice": "2027-06-05", "year-end": "2027-08-01",
}  # fmt: skip
#: What comes later than the rest of its page.
LATER = {"bizkit late list": "2027-07-20", "bizkit late remind GL-2027-0002": "2027-07-20"}
#: What somebody who follows the guide has lying about.
SCANS = ("finn.pdf", "sauna.pdf", "cliff.pdf", "boat.pdf")


def things(folder):
    for name in SCANS:
        canvas = Canvas(str(folder / name), invariant=True)
        canvas.drawString(72, 720, f"Signed: {name}")
        canvas.save()
    for name in ("film-v1.mov", "film-v2.mov"):
        (folder / name).write_bytes(name.encode())
    (folder / "drive").mkdir()
    (folder / "drive" / "film-v2.mov").write_bytes(b"film-v2.mov")
    Image.new("RGB", (64, 48), (10, 90, 90)).save(folder / "still.jpg")


def dated(words, commands, on):
    """The words of a command with the day it is read on, where it takes one."""
    for length in (2, 1):
        name = " ".join(words[:length])
        if name in commands:
            takes = any("--on" in one.opts for one in commands[name].params)
            return [*words, *(["--on", on] if takes else [])]
    raise AssertionError(f"no such command: {words}")


def test_every_page_can_be_followed_from_an_empty_folder_to_the_year_end(bizkit, commands, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done_so_far = []
    for row in bizkit("guide", "--json").data:
        page = bizkit("guide", row["page"], "--json").data
        assert len(page["commands"]) >= 5
        for line in page["text"].splitlines():
            if line == "    $ cd my-studio":
                monkeypatch.chdir(tmp_path / "my-studio")
                things(tmp_path / "my-studio")
            elif line.startswith("    $ bizkit "):
                words = shlex.split(line.removeprefix("    $ bizkit "))
                on = LATER.get(line.strip().removeprefix("$ "), READ_ON[row["page"]])
                done = bizkit(*dated(words, commands, on))
                assert done.code == 0, (row["page"], line, done.err, done_so_far)
                done_so_far.append(line)
    # And it came to something: money in, a paper withdrawn, a folder handed over.
    studio = json.loads(bizkit("status", "--on", "2027-08-01", "--json").out)
    assert {one["number"] for one in studio["owed"]} == {"GL-2027-0002"}
    assert bizkit("handover", "list", "--json").data[0]["number"] == "DN-2027-0001"


def test_the_pages_are_listed_in_the_order_of_a_job_with_what_they_are_for(bizkit):
    rows = bizkit("guide", "--json").data
    assert [row["page"] for row in rows] == list(READ_ON)
    assert all(row["title"] and row["about"][-1] in ".:" for row in rows)
    shown = bizkit("guide").out
    for row in rows:
        assert f"bizkit guide {row['page']}" in shown


def test_a_page_that_is_not_there_is_told_with_the_nearest(bizkit):
    done = bizkit("guide", "invoices")
    assert (done.code, done.err) == (2, done.err)
    assert "wanted a known page of the guide, got invoices. Did you mean invoice?" in done.err


@pytest.mark.parametrize("page", READ_ON)
def test_a_page_fits_a_terminal(bizkit, page):
    lines = bizkit("guide", page).out.splitlines()
    assert lines[0].startswith("# ")
    prose = [line for line in lines if not line.startswith("    $")]
    assert [line for line in prose if len(line) > 120] == []
    assert len(lines) <= 70
