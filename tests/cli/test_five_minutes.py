"""README's Five minutes, word for word: in a practice studio as printed, in one for real business on today's date."""

from __future__ import annotations

import re
import shlex
from datetime import date
from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas

README = Path(__file__).parents[2] / "README.md"


def five_minutes():
    """(command, the lines that README prints of what comes of it), in order."""
    text = README.read_text(encoding="utf-8").partition("## Five minutes\n")[2].partition("\n## ")[0]
    found = []
    for line in text.splitlines():
        if line.startswith("    $ "):
            found.append((line.removeprefix("    $ "), []))
        elif line.startswith("    ") and line.strip() != "...":
            found[-1][1].append(line.removeprefix("    ").rstrip())
    return found


def files_of_ours(folder):
    """What README says are files of the reader's own."""
    canvas = Canvas(str(folder / "finn.pdf"), invariant=True)
    canvas.drawString(72, 720, "Signed by Morag Sinclair")
    canvas.save()
    (folder / "cut-v1.mov").write_bytes(b"the first cut")
    (folder / "notes.txt").write_text("00:00:05 a little shorter\n", encoding="utf-8")


def walk(bizkit, tmp_path, monkeypatch, adapt):
    """Run every command of the section; `adapt` changes its words. The lines printed, by command."""
    monkeypatch.chdir(tmp_path)
    printed = {}
    for command, wanted in five_minutes():
        for one in command.split(" && "):
            words = adapt(shlex.split(one, comments=True))
            if words[0] == "cd":
                monkeypatch.chdir(Path.cwd() / words[1])
                files_of_ours(Path.cwd())
                continue
            assert words[0] == "bizkit"
            done = bizkit(*words[1:])
            assert done.code == 0, (words, done.err)
            printed[one] = [" ".join(line.split()) for line in done.out.splitlines()]
        printed[command] = printed.get(command, []), wanted
    return printed


def test_a_practice_studio_prints_what_readme_prints_whatever_day_it_is(bizkit, tmp_path, monkeypatch):
    printed = walk(bizkit, tmp_path, monkeypatch, lambda words: words)
    compared = 0
    for lines, wanted in (one for one in printed.values() if isinstance(one, tuple)):
        for line in wanted:
            assert " ".join(line.split()) in lines
            compared += 1
    assert compared >= 10
    assert len(printed) >= 14
    status = bizkit("status", "--on", "2027-06-04", "--json").data
    assert status["owed"] == []


def test_a_studio_for_real_business_is_walked_with_todays_date(bizkit, tmp_path, monkeypatch):
    today = date.today()

    def adapt(words):
        kept, skip = [], False
        for word in words:
            if word in ("--practice", "--on") or skip:
                skip = word == "--on"
                continue
            kept.append(re.sub(r"^([A-Z]+)-2027-", rf"\1-{today.year}-", word))
        return [str(today) if before == "--signed" else word for before, word in zip(["", *kept], kept, strict=False)]

    walk(bizkit, tmp_path, monkeypatch, adapt)
    status = bizkit("status", "--json").data
    assert (status["practice"], status["owed"]) == (False, [])
    assert bizkit("quote", "list", "--json").data[0]["number"] == f"Q-{today.year}-0001"


@pytest.mark.parametrize("practice", [True, False])
def test_a_date_to_come_is_taken_in_a_practice_studio_and_else_told_with_the_way_out(
    bizkit, job, studio, scan, make_real, practice
):
    if not practice:
        make_real(studio)
    today = date.today()
    far = f"{today.year + 2}-02-10"
    paper = ("--signed", far, "--scan", scan, "--media", "online", "--where", "GB", "--without-end")
    acts = {
        "--signed": [
            ("release", "add", job, "--who", "Eilidh Rendall", *paper),
            ("permission", "add", job, "--place", "Kelp trail, Otter Sound", *paper),
            ("holding", "add", job, "--kind", "property_release", "--about", "The sauna", *paper),
        ],
        "--received": [("invoice", "deposit", job, "1200", "--received", far)],
    }
    for option, commands in acts.items():
        for command in commands:
            done = bizkit(*command)
            if practice:
                assert done.code == 0, (command, done.err)
                continue
            assert (done.code, done.out) == (1, ""), command
            assert f"{option} {far} is after " in done.err
    if practice:
        invoice = bizkit("invoice", "list", "--json").data[0]
        assert invoice["issued_on"] == far


def test_a_day_given_with_on_stands_in_a_practice_studio_too(bizkit, job):
    refused = bizkit("invoice", "deposit", job, "1200", "--received", "2027-03-02", "--on", "2027-03-01")
    assert refused.code == 1
    assert "--received 2027-03-02 is after 2027-03-01, the day this counts for" in refused.err
    assert "give a later day with --on" in refused.err
    worked = bizkit("day", "log", job, "2027-05-11", "--call", "06:00", "--wrap", "20:00", "--on", "2027-05-01")
    assert worked.code == 1
    assert "DATE 2027-05-11 is after 2027-05-01" in worked.err
    assert bizkit("day", "log", job, "2027-05-11", "--call", "06:00", "--wrap", "20:00").code == 0


def test_the_same_paper_is_filed_once(bizkit, job, scan):
    form = bizkit("release", "form", job, "--who", "Finn Sinclair", "--under-18", "--on", "2027-05-01", "--json").data
    signed = ("--signed", "2027-05-12", "--guardian", "Morag Sinclair", "--scan", scan, "--on", "2027-05-12")
    command = ("release", "add", job, "--form", form["number"], *signed)
    assert bizkit(*command).code == 0
    again = bizkit(*command)
    assert (again.code, again.out) == (1, "")
    assert "paper 1 is this one already, with the same scan: nothing was filed" in again.err
    permit = (
        "holding", "add", job, "--kind", "permit", "--about", "Harbour", "--from", "2027-05-01", "--until",
        "2027-05-31", "--scan", scan, "--on", "2027-05-01",
    )  # fmt: skip
    assert bizkit(*permit).code == 0, bizkit(*permit).err
    assert "is this one already" in bizkit(*permit).err
    assert len(bizkit("holding", "list", "--json").data) == 2
    # The same scan for somebody else, or for other deliverables, is another paper.
    other = ("release", "add", job, "--who", "Eilidh Rendall", "--media", "online", "--where", "GB", "--without-end")
    for works in ((), ("--for", "cut-downs")):
        done = bizkit(*other, "--signed", "2027-05-12", "--scan", scan, "--on", "2027-05-12", *works)
        assert done.code == 0, done.err
