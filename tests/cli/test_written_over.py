"""What is written where somebody says takes the place of nothing that the studio or its user keeps."""

from __future__ import annotations

import hashlib

import pytest
from PIL import Image

JOB = "follow-the-kelp"
ON = ("--on", "2027-06-08")


def everything(folder):
    """Name -> SHA-256 of all files below a folder, those of the open book left out."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith("book.sqlite")
    }


@pytest.fixture
def signed(bizkit, job, scan, studio):
    """A signed scan on file."""
    terms = ("--media", "online", "--where", "Europe", "--without-end", "--on", "2027-05-13")
    bizkit("release", "add", job, "--who", "Eilidh Rendall", "--signed", "2027-05-13", "--scan", scan, *terms)
    (path,) = (studio / "papers" / "scans").iterdir()
    return path


#: Every way to say where something is written, as words of a command before the place.
WRITERS = [
    ("calendar", JOB, "--out"),
    ("calendar", "--out"),
    ("report", "income", "--csv"),
    ("report", "income", "--pdf"),
    ("report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out"),
    ("release", "form", JOB, "--who", "Eilidh Rendall", "--out"),
    ("rights", "ending", "--calendar"),
    ("send", "Q-2027-0001", "--out"),
    ("shots", JOB, "--out"),
    ("brief", "copy", JOB, "another", "--out"),
]


@pytest.mark.parametrize("words", WRITERS, ids=" ".join)
def test_no_file_of_the_studio_is_written_over(bizkit, signed, studio, words):
    book = (studio / "book.sqlite").read_bytes()[:100]
    before = everything(studio)
    (quote,) = (studio / "papers").glob("Q-*.pdf")
    for place in (signed, quote, studio / "studio.toml", studio / "briefs" / f"{JOB}.toml", studio / "book.sqlite"):
        done = bizkit(*words, place, *(ON if words[0] != "report" else ()))
        assert done.code == 2, place
        assert "It would be written over" in done.err or "got one that is there already" in done.err
        assert done.err.count("\n") == 1
    assert everything(studio) == before
    assert (studio / "book.sqlite").read_bytes()[:100] == book


@pytest.mark.parametrize("words", WRITERS[:-1], ids=" ".join)
def test_a_picture_elsewhere_is_not_written_over_and_an_earlier_answer_is(bizkit, job, tmp_path, words):
    picture = tmp_path / "reef.png"
    Image.new("RGB", (64, 48), (10, 90, 90)).save(picture)
    before = picture.read_bytes()
    done = bizkit(*words, picture, *(ON if words[0] != "report" else ()))
    assert done.code == 2
    assert "got a file that is no text that lies there already" in done.err
    assert picture.read_bytes() == before
    for _ in range(2):
        assert bizkit(*words, tmp_path / "mine", *(ON if words[0] != "report" else ())).code == 0


@pytest.mark.parametrize("ending", [".jpg", ".png"])
def test_a_contact_sheet_takes_the_place_of_an_earlier_one_alone(bizkit, signed, studio, tmp_path, ending):
    form = {".jpg": "JPEG", ".png": "PNG"}[ending]
    still, other = tmp_path / f"reef{ending}", tmp_path / f"gull{ending}"
    for path in (still, other):
        Image.effect_noise((320, 200), 60).convert("RGB").save(path, form)
    scanned = studio / "papers" / "scans" / f"{'0' * 64}{ending}"
    scanned.write_bytes(still.read_bytes())
    before = {path: path.read_bytes() for path in (still, other, scanned)}
    for place in before:
        done = bizkit("deliverable", "check", still, "--sheet", place)
        assert done.code == 2
        assert "wanted a new file, or an earlier contact sheet, got another file that lies there" in done.err
        assert place.read_bytes() == before[place]
    sheet = tmp_path / f"sheet{ending}"
    for _ in range(2):
        assert bizkit("deliverable", "check", still, "--sheet", sheet).code == 0
    # Nor is a contact sheet drawn over one that is itself looked at.
    assert bizkit("deliverable", "check", sheet, "--sheet", sheet).code == 2
