"""Films that another job made, handed over: what each lacks is named, and a reason kept with what it is for."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

FILM = "campaign-film"
TERMS = ("--media", "all", "--where", "World", "--without-end")
ON = ("--on", "2027-09-20")


@pytest.fixture
def made(bizkit, kelp, scan):
    """Every paper of the job that made the film is held, but for the leave of one place."""
    for place in ("Kelp trail, Otter Sound", "Shore sauna, Selkie Bay"):
        bizkit("permission", "add", kelp, "--place", place, "--by", "Skerrow Reserve", "--signed", "2027-05-01",
               "--scan", scan, *TERMS, "--on", "2027-05-01")  # fmt: skip
    bizkit("permission", "add", kelp, "--place", "Seabird cliff, Kittiwake Head", "--by", "Kittiwake Trust",
           "--signed", "2027-05-01", "--scan", scan, *TERMS, "--on", "2027-05-01")  # fmt: skip
    done = bizkit("release", "add", kelp, "--who", "Eilidh Rendall", "--signed", "2027-05-13", "--scan", scan,
                  *TERMS, "--on", "2027-05-13", "--json")  # fmt: skip
    bizkit("rights", "link", kelp, "all", "--music", "none", "--on", "2027-05-13")
    return done.data["id"]


@pytest.fixture
def film(bizkit, kelp, good_film):
    """The film, sent and approved."""
    bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-03")
    assert bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-07").err == ""
    return good_film


@pytest.fixture
def drive(film, tmp_path):
    """A drive with the film on it."""
    folder = tmp_path / "drive"
    folder.mkdir()
    shutil.copy(film, folder)
    return folder


@pytest.fixture
def licensed(bizkit, kelp, studio, made, film):
    """A job that licenses the film for another client, and makes nothing."""
    (client,) = (studio / "clients").glob("*.toml")
    text = client.read_text(encoding="utf-8").replace("Skerrow Islands Tourism", "Brine Works")
    (studio / "clients" / "brine-works.toml").write_text(text, encoding="utf-8")
    bizkit("rights", "offer", kelp, "--media", "owned_channels", "--where", "United Kingdom and Ireland",
           "--from", "2027-10-01", "--months", "12", "--work", FILM, "--to", "brine-works", "--on", "2027-09-01",
           "--exclusivity", "none")  # fmt: skip
    key = f"{kelp}-licence"
    for verb in ("send", "accept"):
        assert bizkit("quote", verb, key, "--on", "2027-09-02").err == ""
    return key


def test_a_licensed_film_of_another_job_leaves_as_what_it_is(bizkit, licensed, drive):
    done = bizkit("handover", "make", licensed, drive, *ON, "--json")
    assert done.err == ""
    assert (done.data["deliverables"], done.data["warnings"]) == ([FILM], [])


def test_its_release_that_fell_away_is_named(bizkit, kelp, licensed, drive, made):
    bizkit("holding", "withdraw", kelp, made, "--reason", "she asked", "--on", "2027-09-10")
    refused = bizkit("handover", "make", licensed, drive, *ON)
    assert (refused.code, refused.err.count("\n")) == (1, 1)
    assert "talent release: Eilidh Rendall" in refused.err
    done = bizkit("handover", "make", licensed, drive, *ON, "--reason", "she is asked again", "--json")
    assert any("talent release: Eilidh Rendall" in line for line in done.data["warnings"])
    (row,) = bizkit("handover", "list", licensed, "--json").data
    assert row["reason"] == "she is asked again"
    (against,) = row["against"]
    assert "talent release: Eilidh Rendall" in against
    assert "because she is asked again: " in bizkit("handover", "list").out


def test_one_that_goes_along_unlicensed_is_named_with_what_it_lacks(bizkit, kelp, studio, film, made, drive):
    """An archive piece of the same client's, in the folder of a later job."""
    brief = (studio / "briefs" / f"{kelp}.toml").read_text(encoding="utf-8")
    (studio / "briefs" / "brine.toml").write_text(brief.replace(f'key = "{kelp}"', 'key = "brine"'), encoding="utf-8")
    for words in (("draft", "briefs/brine.toml"), ("send", "brine"), ("accept", "brine")):
        assert bizkit("quote", *words, "--on", "2027-02-09").err == ""
    bizkit("holding", "withdraw", kelp, made, "--reason", "she asked", "--on", "2027-09-10")
    refused = bizkit("handover", "make", "brine", drive, *ON)
    assert refused.code == 1
    refused = bizkit("handover", "make", "brine", drive, *ON, "--reason", "the client asked for it")
    assert f"is v1 of {FILM} of the job {kelp}" in refused.out
    assert f"Look: {kelp}: talent release: Eilidh Rendall (" in refused.out


def test_each_thing_a_reason_would_cover_is_named(bizkit, kelp, film, drive, make_film):
    """Two files too many and three places without leave: all five in the line that asks for the reason."""
    newer = make_film(f"{kelp}_{FILM}_v2.mp4", seed=2)
    bizkit("deliverable", "send", kelp, FILM, newer, "--reason", "new logo", "--on", "2027-06-07")
    shutil.copy(newer, drive)
    refused = bizkit("handover", "make", kelp, drive, *ON)
    assert (refused.code, refused.err.count("\n")) == (1, 1)
    for part in (f"{Path(newer).name} is v2 of {FILM}", "Kelp trail", "Kittiwake Head", "Shore sauna", "which music"):
        assert part in refused.err
    assert "more" not in refused.err


def test_an_approval_of_what_another_job_handed_over_stands(bizkit, kelp, licensed, drive):
    assert bizkit("handover", "make", licensed, drive, *ON).err == ""
    refused = bizkit("deliverable", "reopen", kelp, FILM, "--reason", "a slip", *ON)
    assert (refused.code, "v1 was handed over with DN-2027-0001" in refused.err) == (1, True)


def test_nothing_leaves_unasked_under_a_licence_that_was_ended(bizkit, kelp, licensed, drive):
    bizkit("rights", "grant", licensed, "--override", "tourism only", "--on", "2027-09-03")
    assert bizkit("rights", "end", licensed, "--reason", "not paid", "--on", "2027-09-10").err == ""
    refused = bizkit("handover", "make", licensed, drive, *ON)
    assert (refused.code, "LC-2027-0001 ended after 2027-09-10: not paid" in refused.err) == (1, True)


def test_a_note_says_the_licence_as_it_stands_on_its_day(bizkit, licensed, drive):
    """Paid on 10 October, after the first day agreed: from that day it counts, and no condition is left."""
    bizkit("rights", "grant", licensed, "--override", "tourism only", "--on", "2027-09-03")
    number = bizkit("invoice", "issue", licensed, "--on", "2027-09-03", "--json").data["number"]
    assert bizkit("invoice", "paid", number, "--on", "2027-10-10").code == 0
    done = bizkit("handover", "make", licensed, drive, "--on", "2027-10-12", "--json")
    assert done.err == ""
    said = " ".join(done.data["document"]["licence_sentences"])
    assert "It runs from 10 October 2027 to 30 September 2028, both days included." in said
    assert "paid in full" not in said


def test_a_note_before_the_payment_says_what_it_waits_for(bizkit, licensed, drive):
    bizkit("rights", "grant", licensed, "--override", "tourism only", "--on", "2027-09-03")
    said = " ".join(bizkit("handover", "make", licensed, drive, *ON, "--json").data["document"]["licence_sentences"])
    assert (
        "It runs from 1 October 2027 to 30 September 2028, both days included. This licence takes effect only" in said
    )
