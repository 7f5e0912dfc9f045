"""A re-edit of what was approved: one further round at the price quoted, charged once, whatever was included."""

from __future__ import annotations

import pytest

FILM = "campaign-film"


@pytest.fixture
def approved(bizkit, kelp, good_film):
    """The film, approved at the first go: both rounds included are left."""
    assert bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-03").err == ""
    assert bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-07").err == ""
    return kelp


def note(bizkit, job, text, *more, on="2027-07-01"):
    return bizkit("deliverable", "notes", job, FILM, "--text", text, *more, "--on", on)


def test_a_re_edit_is_one_further_round_at_the_price_quoted(bizkit, approved, make_film):
    refused = note(bizkit, approved, "Without the dog")
    assert (refused.code, "a re-edit in one further round, at GBP 180.00 as quoted" in refused.err) == (1, True)
    assert note(bizkit, approved, "Without the dog", "--re-edit").code == 0
    # More of it before the next version is the same round.
    assert note(bizkit, approved, "And the boat", "--re-edit", on="2027-07-02").code == 0
    row = bizkit("deliverable", "show", approved, FILM, "--on", "2027-07-02", "--json").data
    assert (row["waits_for_yes"], row["rounds_extra"]) == ([1], 1)
    done = bizkit("deliverable", "agree", approved, FILM, "--by", "Una Flett", "--on", "2027-07-02")
    assert done.code == 0
    (charge,) = bizkit("charge", "list", approved, "--json").data["open"]
    assert charge["net"] == "180.00"
    assert bizkit("deliverable", "agree", approved, FILM, "--by", "Una Flett", "--on", "2027-07-02").code == 1
    # The version needs no reason of its own: the notes are it.
    newer = make_film("second.mp4", seed=2)
    assert bizkit("deliverable", "send", approved, FILM, newer, "--on", "2027-07-05").err == ""
    # Notes on it are a further round again: those included ended with the approval.
    assert note(bizkit, approved, "Warmer", on="2027-07-06").code == 0
    assert bizkit("deliverable", "show", approved, FILM, "--on", "2027-07-06", "--json").data["waits_for_yes"] == [2]


def test_another_version_given_for_a_reason_says_that_nothing_is_charged(bizkit, approved, make_film):
    newer = make_film("second.mp4", seed=2)
    refused = bizkit("deliverable", "send", approved, FILM, newer, "--on", "2027-07-05")
    assert (refused.code, "--re-edit" in refused.err) == (1, True)
    done = bizkit("deliverable", "send", approved, FILM, newer, "--reason", "a flash frame", "--on", "2027-07-05")
    assert "Look: v1 was approved, and nothing is charged for another" in done.out


def test_a_re_edit_is_of_what_was_approved(bizkit, kelp, good_film):
    bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-03")
    refused = note(bizkit, kelp, "Without the dog", "--re-edit")
    assert (refused.code, "--re-edit: wanted something approved" in refused.err) == (2, True)
