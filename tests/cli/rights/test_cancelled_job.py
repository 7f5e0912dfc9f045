"""The licence of a cancelled job: nothing more is granted, and every door says so; what was in force stays."""

from __future__ import annotations

import csv

import pypdf
import pytest

JOB = "follow-the-kelp"
NOTICE = "2027-05-03"  # before the first shoot day


def text_of(path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def do(bizkit):
    def run(*words):
        done = bizkit(*words, "--json")
        assert done.code == 0, done.err
        return done.data

    return run


@pytest.fixture
def cancelled(bizkit, job, do, studio):
    """A licence granted beyond what is held, waiting for payment when its job was cancelled."""
    do("rights", "grant", job, "--override", "the papers follow", "--on", "2027-04-01")
    said = bizkit("quote", "cancel", job, "--on", NOTICE)
    assert said.code == 0, said.err
    return said.out


def test_cancelling_says_what_becomes_of_the_licence(cancelled):
    assert "Licence LC-2027-0001 is cancelled with it: nothing is granted." in cancelled


def test_every_door_says_that_it_is_cancelled(bizkit, cancelled, do, tmp_path):
    on = ("--on", "2027-06-01")
    do("rights", "export", tmp_path / "out", *on)
    (line,) = csv.DictReader((tmp_path / "out" / "licences.csv").read_text(encoding="utf-8-sig").splitlines())
    states = {
        "list": do("rights", "list", JOB, *on)["licences"][0]["state"],
        "explain": do("rights", "explain", JOB, *on)["grants"][0]["state"],
        "check": do("rights", "check", JOB, *on)["licence"]["state"],
        "job show": do("job", "show", JOB, *on)["grants"][0]["state"],
        "job show, clearance": do("job", "show", JOB, *on)["clearance"]["state"],
        "certificate": do("rights", "certificate", JOB, *on)["state"],
        "csv": line["state"],
    }
    assert set(states.values()) == {"cancelled"}, states
    assert line["ended_because"] == f"the job was cancelled on {NOTICE}"
    assert not (tmp_path / "out" / "LC-2027-0001.jsonld").exists()
    used = do("rights", "use", JOB, "--media", "paid_social", "--where", "IE", *on)
    assert not used["allowed"]
    assert used["works"][0]["because"] == (
        f"LC-2027-0001 does not allow it: the job was cancelled on {NOTICE} before it took effect"
    )
    assert do("rights", "ending", "--within", "999d", *on)["ending"] == []
    assert "full payment" not in bizkit("rights", "list", JOB, *on).out
    assert do("rights", "list", JOB, "--on", "2027-05-02")["licences"][0]["state"] == "waiting"


def test_its_certificate_says_it_in_both_languages(do, cancelled, studio, in_german):
    done = do("rights", "certificate", JOB, "--on", "2027-06-01")
    text = text_of(done["file"])
    assert "Cancelled on 3 May 2027" in text
    assert "The job was cancelled on 3 May 2027 while this licence was not in force." in text
    assert "Der Auftrag wurde am 3. Mai 2027 abgesagt, als diese Lizenz nicht in Kraft war." in in_german()


def test_paying_the_fee_grants_nothing(bizkit, cancelled, do):
    do("invoice", "settle", JOB, "--on", "2027-05-04")
    do("invoice", "paid", "GL-2027-0001", "--on", "2027-05-20")
    assert do("rights", "list", JOB, "--on", "2027-08-01")["licences"][0]["state"] == "cancelled"


def test_a_licence_that_was_only_promised_is_cancelled_too(bizkit, job, do):
    said = bizkit("quote", "cancel", job, "--on", NOTICE)
    assert "The licence of the quote is cancelled with it: nothing is granted." in said.out
    on = ("--on", "2027-06-01")
    found = do("rights", "check", job, *on)
    assert (found["state"], found["promised"], found["gaps"], found["questions"]) == ("cancelled", False, [], [])
    assert "cancelled; the licence of its quote was never granted" in bizkit("rights", "check", job, *on).out
    assert (
        f"The job was cancelled on {NOTICE}: nothing of this is granted." in bizkit("rights", "explain", job, *on).out
    )
    used = do("rights", "use", job, "--media", "paid_social", "--where", "IE", *on)
    assert used["hint"] == f"the job was cancelled on {NOTICE}: what its quote promised was never granted"
    refused = bizkit("rights", "grant", job, "--override", "all the same", *on)
    assert refused.code == 1
    assert refused.err.startswith(f"bizkit: {job} was cancelled on {NOTICE}: its licence is not granted any more.")


def test_what_was_in_force_by_then_stays_whatever_is_credited(bizkit, live, do, studio):
    on = ("--on", "2027-07-10")
    for day in ("10", "11", "12", "13"):
        do("day", "log", JOB, f"2027-05-{day}", "--call", "08:00", "--wrap", "18:00", "--on", "2027-06-01")
    said = bizkit("quote", "cancel", JOB, "--reason", "no season", *on)
    assert said.code == 0, said.err
    assert f"Licence {live} is live and stays so. If it is to end: bizkit rights end {live}" in said.out
    assert do("invoice", "settle", JOB, *on)
    for door in (do("rights", "list", JOB, "--on", "2027-09-01")["licences"], do("status", *on)["licences"]):
        assert [row["state"] for row in door] == ["live"]
