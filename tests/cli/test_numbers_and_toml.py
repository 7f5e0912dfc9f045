"""Settings files from outside that no reader was made for, and forms drawn from an older copy of the book."""

from __future__ import annotations

import shutil

import pytest

JOB = "follow-the-kelp"

HOSTILE = {
    "a number of 5,000 digits": "contingency_percent = " + "9" * 5000,
    "a number of 5,000 digits in hexadecimal": "contingency_percent = 0x" + "f" * 50_000,
    "a table 3,000 names deep": "[" + ".".join(["a"] * 3000) + "]",
    "a key 3,000 names deep": ".".join(["a"] * 3000) + " = 1",
    "lists 3,000 deep": "a = " + "[" * 3000 + "]" * 3000,
    "lists 60 deep": "a = " + "[" * 60 + "]" * 60,
    "tables 60 deep": "a = " + "{a = " * 60 + "1" + "}" * 60,
    "a day that cannot be": "asked_on = 2027-02-31",
    "an hour that cannot be": "asked_on = 2027-02-01T25:00:00",
}

#: Doors of a settings file, as the file's place in the studio and the command that reads it.
DOORS = {
    "studio": ("studio.toml", ("status",)),
    "rates": ("rate-card.toml", ("price", JOB)),
    "client": ("clients/skerrow-islands-tourism.toml", ("quote", "draft", JOB, "--on", "2027-01-26")),
    "brief": (f"briefs/{JOB}.toml", ("price", JOB)),
    "copied brief": (f"briefs/{JOB}.toml", ("brief", "copy", JOB, "another", "--on", "2027-01-26")),
    "job": (f"jobs/{JOB}.toml", ("shots", JOB)),
    "terms": ("terms.toml", ("release", "add", JOB, "--who", "Eilidh Rendall", "--signed", "2027-05-13", "--scan",
                             "signed.pdf", "--terms", "terms.toml", "--on", "2027-05-13")),
    "details": ("details.toml", ("papers", "form", "crew_assignment", JOB, "--about", "Rowan Lark", "--details",
                                 "details.toml", "--on", "2027-05-01")),
}  # fmt: skip


@pytest.mark.parametrize("door", DOORS)
def test_a_hostile_settings_file_is_refused_in_one_line(bizkit, job, scan, studio, door):
    shutil.copy(scan, studio / "signed.pdf")
    name, words = DOORS[door]
    path = studio / name
    own = path.read_text(encoding="utf-8") if path.exists() else ""
    for what, text in HOSTILE.items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"{text}\n{own}" if text[0] != "[" else f"{own}\n{text}\n", encoding="utf-8")
        done = bizkit(*words)
        assert done.code == 2, (what, done)
        assert done.err.count("\n") == 1, (what, done.err)
        assert "fault" not in done.err, (what, done.err)
        assert path.name in done.err, (what, done.err)


def test_no_form_is_numbered_by_an_older_copy_of_the_book(bizkit, job, studio, tmp_path):
    older = tmp_path / "older.sqlite"
    shutil.copy(studio / "book.sqlite", older)
    assert bizkit("invoice", "issue", JOB, "--on", "2027-02-08").code == 0
    newer = tmp_path / "newer.sqlite"
    shutil.copy(studio / "book.sqlite", newer)
    shutil.copy(older, studio / "book.sqlite")
    form = ("release", "form", JOB, "--who", "Eilidh Rendall", "--on", "2027-05-01")
    refused = bizkit(*form)
    assert refused.code == 1
    assert "papers/GL-2027-0001.pdf is not in the book" in refused.err
    assert not (studio / "forms").exists()
    shutil.copy(newer, studio / "book.sqlite")
    assert bizkit(*form, "--json").data["number"] == "F-2027-0001"
