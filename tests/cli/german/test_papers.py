"""Papers of a German studio, read back."""

from __future__ import annotations

import re

import pypdf
import pytest

JOB = "seegras-im-bodden"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def opened(bizkit, german):
    """The sample quote accepted."""
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, JOB, "--on", "2027-03-01")
        assert done.code == 0, done.err
    return JOB


def test_a_delivery_note_has_no_credits_where_none_are_asked_and_no_empty_label(bizkit, opened, tmp_path):
    folder = tmp_path / "drive"
    folder.mkdir()
    (folder / "film.mp4").write_bytes(b"a film")
    done = bizkit("handover", "make", opened, folder, "--reason", "Rohschnitt", "--on", "2027-08-01", "--json")
    assert done.code == 0, done.err
    said = text_of(folder / "DN-2027-0001.pdf" if (folder / "DN-2027-0001.pdf").exists() else done.data["note"])
    assert "Lieferschein" in said
    assert "1 Datei insgesamt, dazu dieser Lieferschein" in said
    assert "Nennungen" not in said
    assert " Wie " not in said


def test_no_line_breaks_between_the_day_of_a_date_and_its_month(opened, german):
    pages = pypdf.PdfReader(german / "papers" / "AN-2027-0001-r1.pdf").pages
    said = "\n".join(page.extract_text() for page in pages)
    assert len(re.findall(r"\d\.\s*Juni 2027", said)) > 3
    assert re.findall(r"\d\. *\n *Juni", said) == []
