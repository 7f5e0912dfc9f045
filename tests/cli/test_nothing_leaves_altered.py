"""Mails, electronic invoices and the bundle carry a paper only as it was filed; `papers rebuild` puts it right."""

from __future__ import annotations

import email
import email.policy
import sqlite3

import pytest

ON = ("--on", "2027-02-08")


@pytest.fixture
def bill(bizkit, job):
    """The number of an issued invoice."""
    return bizkit("invoice", "issue", job, *ON, "--json").data["number"]


def attached(path):
    mail = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
    return {part.get_filename(): part.get_content() for part in mail.iter_attachments()}


def test_a_changed_paper_is_sent_by_no_door_and_rebuild_puts_it_right(bizkit, bill, studio, tmp_path):
    paper = studio / "papers" / f"{bill}.pdf"
    right = paper.read_bytes()
    paper.write_bytes(b"NOT THE INVOICE")
    out = tmp_path / "out"
    for words in (
        ("send", bill, "--out", out),
        ("send", bill, "--einvoice", "ubl", "--out", out),
        ("send", bill, "--einvoice", "hybrid", "--out", out),
        ("invoice", "export", bill, "--format", "cii", "--out", out),
        ("invoice", "export", bill, "--format", "hybrid", "--out", out),
    ):
        on = ON if words[0] == "send" else ()
        done = bizkit(*words, *on)
        assert done.code == 1
        assert done.err.startswith(f"bizkit: papers/{bill}.pdf is not the paper that was filed on ")
        assert f"bizkit papers rebuild {bill} puts the right one in its place. Nothing has left" in done.err
        assert len(done.err.splitlines()) == 1
        assert not out.exists()
    bundle = bizkit("report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out", out, *ON)
    assert (bundle.code, f"papers/{bill}.pdf: not the file that was filed" in bundle.err) == (1, True)
    made = bizkit("papers", "rebuild", bill)
    assert made.out.splitlines() == [
        f"Set aside set-aside/{bill}.pdf: it was not the paper that was issued", f"Made papers/{bill}.pdf"
    ]  # fmt: skip
    assert paper.read_bytes() == right
    assert (studio / "set-aside" / f"{bill}.pdf").read_bytes() == b"NOT THE INVOICE"
    assert bizkit("send", bill, "--out", out, *ON).code == 0
    assert attached(out) == {f"{bill}.pdf": right}
    assert bizkit("verify").code == 0


def test_a_letter_and_the_invoice_it_brings_are_held_against_the_book_too(bizkit, bill, studio, tmp_path):
    assert bizkit("late", "remind", bill, "--on", "2027-03-20").code == 0
    name = f"reminder-{bill}-friendly"
    for paper in (studio / "papers" / f"{name}.pdf", studio / "papers" / f"{bill}.pdf"):
        right = paper.read_bytes()
        paper.write_bytes(right + b"\n")
        done = bizkit("send", name, "--out", tmp_path / "r.eml", "--on", "2027-03-20")
        assert (done.code, f"papers/{paper.name} is not the paper that was filed" in done.err) == (1, True)
        assert not (tmp_path / "r.eml").exists()
        assert bizkit("papers", "rebuild").code == 0
        assert paper.read_bytes() == right
    assert bizkit("send", name, "--out", tmp_path / "r.eml", "--on", "2027-03-20").code == 0


def test_a_missing_paper_is_drawn_again_where_it_comes_out_as_it_was(bizkit, bill, studio, tmp_path, change):
    paper = studio / "papers" / f"{bill}.pdf"
    right = paper.read_bytes()
    paper.unlink()
    assert bizkit("send", bill, "--out", tmp_path / "a.eml", *ON).code == 0
    assert attached(tmp_path / "a.eml") == {f"{bill}.pdf": right}
    # The studio's own wording has changed since: what would be drawn now is another paper.
    own = studio / "templates" / "papers" / "en"
    own.mkdir(parents=True)
    from bizkit.resources import templates

    for part in templates().joinpath("papers", "en").iterdir():
        (own / part.name).write_text(part.read_text(encoding="utf-8"), encoding="utf-8")
    change(own / "_words.xml.j2", "<footer>{{ studio.name }}", "<footer>{{ studio.name }}, by boat")
    done = bizkit("send", bill, "--out", tmp_path / "b.eml", *ON)
    assert (done.code, f"papers/{bill}.pdf is missing: write it with bizkit papers rebuild {bill}" in done.err) == (
        1, True,
    )  # fmt: skip
    made = bizkit("papers", "rebuild", bill)
    assert made.out == f"Made papers/{bill}.pdf: with other bytes than before, so look at it\n"
    assert bizkit("verify").code == 0
    assert bizkit("send", bill, "--out", tmp_path / "b.eml", *ON).code == 0


def test_a_record_that_was_changed_leaves_by_no_door_and_is_not_drawn(bizkit, bill, studio, tmp_path):
    with sqlite3.connect(studio / "book.sqlite") as book:
        book.execute("drop trigger issued_kept_update")
        book.execute("update issued set document = replace(document, 'Follow the Kelp', 'Follow the Whelk')")
    for words in (
        ("send", bill, "--out", tmp_path / "a", *ON),
        ("invoice", "export", bill, "--format", "ubl", "--out", tmp_path / "a"),
    ):
        done = bizkit(*words)
        assert (done.code, f"{bill} in the book is not what was issued" in done.err) == (1, True)
    assert not (tmp_path / "a").exists()
    (studio / "papers" / f"{bill}.pdf").unlink()
    made = bizkit("papers", "rebuild", bill)
    assert made.code == 1
    assert made.out == (
        f"Not made: papers/{bill}.pdf: its record is not what was issued; restore the book from a copy\n"
    )
    assert not (studio / "papers" / f"{bill}.pdf").exists()
    checked = bizkit("verify").out
    assert "issued: what keeps its rows from being changed is gone: compare the book with a copy" in checked


def test_rebuild_takes_only_names_it_knows(bizkit, bill, studio):
    done = bizkit("papers", "rebuild", "GL-2027-0009")
    assert (done.code, f"wanted a known paper (number or name of a letter), got GL-2027-0009. Did you mean {bill}?"
            in done.err) == (2, True)  # fmt: skip
    assert bizkit("papers", "rebuild", bill).out == "No PDF is missing.\n"


def test_a_changed_certificate_is_not_handed_out(bizkit, tmp_path, monkeypatch):
    assert bizkit("demo", tmp_path / "studio").code == 0
    monkeypatch.chdir(tmp_path / "studio")
    ask = ("rights", "certificate", "LC-2027-0001", "--on", "2027-08-02", "--json")
    paper = bizkit(*ask).data["file"]
    with open(paper, "ab") as file:
        file.write(b"0")
    refused = bizkit(*ask)
    assert (refused.code, refused.out) == (1, "")
    assert "is not the paper that was filed on" in refused.err
    assert bizkit("papers", "rebuild", "LC-2027-0001").code == 0
    assert bizkit(*ask).data["file"] == paper
