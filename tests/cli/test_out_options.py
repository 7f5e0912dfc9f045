"""Every option that says where something is written, found from the tree of commands, tried at what is kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

JOB = "follow-the-kelp"
ON = ("--on", "2027-06-08")

#: Options that name a file to read, or a folder whose files are never written over (`person export`: see its tests).
READ = {"--receipt", "--file", "--scan", "--paper", "--terms", "--signature", "--details", "--studio"}

#: Each option that names a file to write, as words of a command before the file.
WRITERS = {
    "brief copy --out": ("brief", "copy", JOB, "another", *ON, "--out"),
    "weather learn --into": ("weather", "learn", "past.csv", "--most", "wind_kn=15", "--least-days", "2", "--into"),
    "deliverable check --sheet": ("deliverable", "check", "reef.png", "--sheet"),
    "calendar --out": ("calendar", *ON, "--out"),
    "shots --out": ("shots", JOB, *ON, "--out"),
    "invoice export --out": ("invoice", "export", "GL-2027-0001", "--format", "cii", "--out"),
    **{
        f"report {name} {way}": ("report", name, *ON, way)
        for name in ("debtors", "cash", "margin", "days", "income", "tax", "quarter", "mileage")
        for way in ("--csv", "--pdf")
    },
    "report bundle --out": ("report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out"),
    "send --out": ("send", "GL-2027-0001", *ON, "--out"),
    "rights ending --calendar": ("rights", "ending", *ON, "--calendar"),
    "release form --out": ("release", "form", JOB, "--who", "Eilidh Rendall", *ON, "--out"),
    "permission form --out": ("permission", "form", JOB, "--place", "Kelp Reef", *ON, "--out"),
    "papers form --out": ("papers", "form", "crew_assignment", JOB, "--about", "Rowan Lark", *ON, "--out"),
    "person export --to": None,  # a folder, in which it makes files of its own names
}


def test_every_option_that_names_a_file_is_known(commands):
    found = {
        f"{name} {option}"
        for name, command in commands.items()
        for parameter in command.params
        for option in parameter.opts
        if option.startswith("--") and "Path" in str(parameter.type_descriptor.annotation) and option not in READ
    }
    assert found == set(WRITERS)


@pytest.fixture
def kept(bizkit, job, scan, studio, tmp_path):
    """Name -> what the studio keeps, each under its own name and some under others, with a job that is billed."""
    from PIL import Image

    terms = ("--media", "online", "--where", "Europe", "--without-end", "--on", "2027-05-13")
    bizkit("release", "add", JOB, "--who", "Eilidh Rendall", "--signed", "2027-05-13", "--scan", scan, *terms)
    assert bizkit("invoice", "issue", JOB, "--on", "2027-02-08").code == 0
    (paper,) = (studio / "papers").glob("GL-*.pdf")
    (signed,) = (studio / "papers" / "scans").iterdir()
    (studio / "templates").mkdir(exist_ok=True)
    (studio / "templates" / "words.txt").write_text("Ours\n", encoding="utf-8")
    (client,) = list((studio / "clients").glob("*.toml"))[:1]
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "link").symlink_to(studio / "book.sqlite")
    (elsewhere / "papers").symlink_to(studio / "papers")
    os.link(paper, elsewhere / "hard")
    os.link(studio / "book.sqlite", elsewhere / "book")
    (studio / "past.csv").write_text("date,wind_kn\n" + "".join(f"2026-06-{n:02},9\n" for n in range(1, 31)), "utf-8")
    Image.effect_noise((320, 200), 60).convert("RGB").save(studio / "reef.png")
    return {
        "book": studio / "book.sqlite",
        "book beside": studio / "book.sqlite-wal",
        "book journal": studio / "book.sqlite-journal",
        "paper": paper,
        "scan": signed,
        "new scan": signed.with_name("reef.png"),
        "new paper": paper.with_name("GL-2027-0009.pdf"),
        "folder of papers": paper.parent / "2027" / "mine.pdf",
        "settings": studio / "studio.toml",
        "rates": studio / "rate-card.toml",
        "client": client,
        "template": studio / "templates" / "words.txt",
        "link": elsewhere / "link",
        "folder link": elsewhere / "papers" / paper.name,
        "hard link": elsewhere / "hard",
        "hard link of the book": elsewhere / "book",
    }


#: One report stands for all, whose two options are the same.
TRIED = [words for words in WRITERS.values() if words and (words[0] != "report" or words[1] in ("debtors", "bundle"))]


@pytest.mark.parametrize("words", TRIED, ids=" ".join)
def test_nothing_that_the_studio_keeps_is_written_over(bizkit, kept, studio, words):
    there = {name: path.exists() for name, path in kept.items()}
    before = {path: path.read_bytes() for name, path in kept.items() if path.is_file() and "book" not in name}
    inode = (studio / "book.sqlite").stat().st_ino
    for name, place in kept.items():
        done = bizkit(*words, place)
        assert done.code == 2, (name, done)
        assert done.err.count("\n") == 1, (name, done.err)
        assert ": wanted " in done.err, (name, done.err)
        assert place.name in done.err, (name, done.err)
    assert {path: path.read_bytes() for path in before} == before
    assert (studio / "book.sqlite").stat().st_ino == inode
    assert (studio / "book.sqlite").read_bytes().startswith(b"SQLite format 3\0")
    for name in ("paper", "scan", "new scan", "new paper", "folder of papers", "settings", "client"):
        assert kept[name].exists() == there[name]
    assert bizkit("verify").code in (0, 1)


def test_a_folder_of_papers_that_lies_elsewhere_is_the_studios_too(bizkit, kept, studio, tmp_path):
    moved = tmp_path / "drive"
    (studio / "papers").rename(moved)
    (studio / "papers").symlink_to(moved)
    (paper,) = moved.glob("GL-*.pdf")
    before = paper.read_bytes()
    assert bizkit("invoice", "export", "GL-2027-0001", "--format", "cii", "--out", paper).code == 2
    assert paper.read_bytes() == before


def test_the_place_of_a_paper_that_is_missing_is_taken(bizkit, kept):
    kept["paper"].unlink()
    done = bizkit("report", "debtors", *ON, "--pdf", kept["paper"])
    assert done.code == 2
    assert "got a paper of the book" in done.err
    assert not kept["paper"].exists()


def test_a_new_file_in_the_studio_is_written(bizkit, kept, studio):
    for _ in range(2):
        assert bizkit("invoice", "export", "GL-2027-0001", "--format", "cii").code == 0
        assert bizkit("report", "debtors", *ON, "--csv", studio / "debtors.csv").code == 0
    assert Path(studio / "debtors.csv").is_file()
