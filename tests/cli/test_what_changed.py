"""A revision says to its client what it changed, through the command line."""

from __future__ import annotations

import pypdf
import pytest

JOB = "follow-the-kelp"


def text_of(file: str) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())


@pytest.fixture
def revise(bizkit, studio):
    """Send the brief with these changes of its text as the next revision."""

    def send(*changes: tuple[str, str], on: str):
        path = studio / "briefs" / f"{JOB}.toml"
        text = path.read_text("utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        path.write_text(text, "utf-8")
        assert bizkit("quote", "draft", JOB, "--on", on).code == 0
        done = bizkit("quote", "send", JOB, "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data

    return send


def test_each_revision_says_what_changed_since_the_one_before(revise):
    first = revise(on="2027-01-26")
    assert "changed" not in first["document"]
    second = revise(("quantity = 24", "quantity = 30"), on="2027-02-03")
    changed = second["document"]["changed"]
    assert (changed["revision"], changed["issued_on"]) == (1, "2027-01-26")
    assert changed["gross_before"] == first["gross"]
    assert {"kind": "deliverable", "item": "Campaign stills", "before": "24", "after": "30"} in changed["rows"]
    sums = [row for row in changed["rows"] if row["kind"] == "line"]
    assert sums
    assert all(row["before"] != row["after"] for row in sums)
    read = text_of(second["file"])
    assert "Since revision 1 of 26 January 2027" in read
    assert "Campaign stills 24 × 30 ×" in read
    third = revise(("date = 2027-05-09", "date = 2027-05-08"), on="2027-02-05")
    changed = third["document"]["changed"]
    assert changed["revision"] == 2
    assert not [row for row in changed["rows"] if row["kind"] == "deliverable"]
    assert {"kind": "day", "item": "travel", "before": "2027-05-09", "after": ""} in changed["rows"]
    assert "Since revision 2 of 3 February 2027" in text_of(third["file"])


def test_what_is_said_to_have_changed_adds_up(revise):
    first = revise(on="2027-01-26")
    second = revise(("percent = 5\n", "percent = 7.5\n"), ("quantity = 24", "quantity = 31"), on="2027-02-03")
    rows = [row for row in second["document"]["changed"]["rows"] if row["kind"] == "line"]

    def pennies(amount: str) -> int:
        return int((amount or "0").replace(".", ""))

    moved = sum(pennies(row["after"]) - pennies(row["before"]) for row in rows)
    assert moved == pennies(second["net"]) - pennies(first["net"])


def test_nothing_of_the_reckoning_is_in_what_changed(revise):
    revise(on="2027-01-26")
    second = revise(("quantity = 24", "quantity = 30"), on="2027-02-03")
    assert set(second["document"]["changed"]) == {"revision", "issued_on", "net_before", "gross_before", "rows"}
    assert all(set(row) == {"kind", "item", "before", "after"} for row in second["document"]["changed"]["rows"])


def test_the_same_brief_again_is_no_new_revision_though_the_last_said_what_changed(bizkit, revise):
    revise(on="2027-01-26")
    revise(("quantity = 24", "quantity = 30"), on="2027-02-03")
    done = bizkit("quote", "draft", JOB, "--on", "2027-02-04")
    assert done.code == 1
    assert "change something before making a new revision" in done.err
