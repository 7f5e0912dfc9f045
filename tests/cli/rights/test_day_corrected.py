"""Another day of signature: what a paper says is counted from that day anew, however its terms came to be said."""

from __future__ import annotations

import json
import sqlite3

import pytest

JOB = "follow-the-kelp"
PARTS = """
[[scope]]
media = ["online"]
territory = ["Europe"]
months = 12
[[scope]]
media = ["print"]
territory = ["GB"]
starts = 2027-06-01
until = 2027-12-31
"""


def correct(bizkit, paper, *words):
    return bizkit("holding", "correct", JOB, paper, *words, "--reason", "x", "--on", "2027-06-01", "--json")


def ends(row):
    return sorted({(box["starts"], box["ends"]) for box in row["scope"]})


@pytest.mark.parametrize(
    "terms",
    [
        ["--months", "12"],  # our form prints it
        ["--media", "online", "--where", "GB", "--months", "12"],  # somebody types it
    ],
)
def test_months_count_from_the_day_of_signature_put_right(bizkit, job, hold, terms):
    old = hold("talent_release", "Finn Sinclair", *terms, signed="2027-05-14")
    assert ends(old) == [("2027-05-14", "2028-05-13")]
    new = correct(bizkit, old["id"], "--signed", "2026-05-11").data
    assert ends(new) == [("2026-05-11", "2027-05-10")]
    assert new["expires_on"] == "2027-05-10"
    # And again: a correction of a correction.
    assert ends(correct(bizkit, new["id"], "--signed", "2027-04-24").data) == [("2027-04-24", "2028-04-23")]


def test_a_form_with_blanks_filled_in_keeps_what_was_typed(bizkit, job, hold):
    old = hold("talent_release", "Finn Sinclair", "--until", "2028-12-31")
    assert ends(correct(bizkit, old["id"], "--signed", "2027-05-11").data) == [("2027-05-11", "2028-12-31")]
    done = correct(bizkit, int(old["id"]) + 1, "--signed", "2027-05-12")
    assert ends(done.data) == [("2027-05-12", "2028-12-31")]


def test_each_part_of_several_moves_by_its_own_terms(bizkit, job, hold, tmp_path):
    file = tmp_path / "terms.toml"
    file.write_text(PARTS, encoding="utf-8")
    old = hold("archive", "Harbour reel", "--terms", file, "--by", "The archive")
    assert ends(old) == [("2027-05-14", "2028-05-13"), ("2027-06-01", "2027-12-31")]
    new = correct(bizkit, old["id"], "--signed", "2026-05-11").data
    assert ends(new) == [("2026-05-11", "2027-05-10"), ("2027-06-01", "2027-12-31")]
    # What else is corrected moves nothing.
    assert ends(correct(bizkit, new["id"], "--condition", "dry shoes").data) == ends(new)


def filed_before_terms_were_kept(studio, paper):
    with sqlite3.connect(studio / "book.sqlite") as book:
        (text,) = book.execute("SELECT data FROM holding WHERE id = ?", (paper,)).fetchone()
        data = {name: value for name, value in json.loads(text).items() if name != "terms"}
        book.execute("UPDATE holding SET data = ? WHERE id = ?", (json.dumps(data), paper))


def test_of_a_paper_filed_before_terms_were_kept_the_form_says_it_or_somebody_is_asked(bizkit, job, hold, studio):
    by_form = hold("talent_release", "Finn Sinclair", "--months", "12")
    typed = hold("talent_release", "Zoe Ash", "--media", "online", "--where", "GB", "--months", "12")
    fixed = hold("talent_release", "Tom Teen", "--media", "online", "--where", "GB", "--until", "2028-12-31")
    for one in (by_form, typed, fixed):
        filed_before_terms_were_kept(studio, one["id"])
    assert ends(correct(bizkit, by_form["id"], "--signed", "2027-05-11").data) == [("2027-05-11", "2028-05-10")]
    assert ends(correct(bizkit, fixed["id"], "--signed", "2027-05-11").data) == [("2027-05-11", "2028-12-31")]
    refused = correct(bizkit, typed["id"], "--signed", "2027-05-11")
    assert refused.code == 2
    assert "--until, --months or --without-end: wanted how long it allows it" in refused.err
    done = correct(bizkit, typed["id"], "--signed", "2027-05-11", "--months", "12")
    assert ends(done.data) == [("2027-05-11", "2028-05-10")]


def test_a_day_behind_the_last_one_is_refused(bizkit, job, hold):
    old = hold("talent_release", "Finn Sinclair", "--until", "2027-05-16")
    refused = correct(bizkit, old["id"], "--signed", "2027-05-18")
    assert (refused.code, "--until: wanted a last day on or after 2027-05-18" in refused.err) == (2, True)


def test_a_withdrawn_paper_put_right_is_said_to_be_withdrawn(bizkit, job, hold):
    old = hold("talent_release", "Finn Sinclair")
    bizkit("holding", "withdraw", JOB, old["id"], "--reason", "x", "--on", "2027-05-25")
    words = ["--signed", "2027-05-11", "--reason", "x", "--on", "2027-06-01"]
    done = bizkit("holding", "correct", JOB, old["id"], *words)
    assert "withdrawn since" in done.out
    assert "still to be signed" not in done.out
