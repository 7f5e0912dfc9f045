"""Whoever is about to sell rights reads whether they are held: at the use, the offer, the renewal and the quote."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
GONE = "not held: talent release: Eilidh Rendall (nothing held: withdrawn on 2027-09-01), missing for"
NOW = "not held: talent release: Eilidh Rendall (nothing held: withdrawn on 2027-09-01)"


@pytest.fixture
def withdrawn(bizkit, live):
    """Eilidh took her release back on 1 September 2027; the licence runs on."""
    (row,) = bizkit("release", "list", JOB, "--json").data
    done = bizkit("holding", "withdraw", JOB, row["id"], "--reason", "asked", "--on", "2027-09-01")
    assert done.code == 0, done.err
    return live


def test_a_use_that_the_licence_allows_says_what_is_not_held_any_more(bizkit, withdrawn):
    ask = ["rights", "use", JOB, "--media", "paid_social", "--where", "IE"]
    before = bizkit(*ask, "--on", "2027-08-31", "--json").data
    assert (before["allowed"], before["look"]) == (True, [])
    after = bizkit(*ask, "--on", "2027-09-01", "--json").data
    assert after["allowed"]
    assert after["look"][0].startswith(NOW)
    assert f"Look: {NOW}" in bizkit(*ask, "--on", "2027-09-01").out


def test_an_extension_is_priced_and_offered_with_what_is_not_held(bizkit, live):
    """Papers are held for own channels and paid social in the UK and Ireland only."""
    found = bizkit("rights", "use", JOB, "--media", "broadcast", "--where", "GB", "--on", "2027-08-01", "--json").data
    missing = "broadcast / United Kingdom / 2027-08-01..2028-06-30"
    who = ("talent release: Eilidh Rendall", "location permission: Shore sauna, Selkie Bay")
    for one in who:
        assert [line for line in found["look"] if line.startswith(f"not held: {one}") and line.endswith(missing)]
    # A crew assignment gives everything.
    assert not [line for line in found["look"] if "Brodie Lunn" in line]
    offered = bizkit(
        "rights", "offer", JOB, "--media", "broadcast", "--where", "GB", "--from", "2027-08-01", "--until",
        "2028-06-30", "--on", "2027-08-01", "--json",
    ).data  # fmt: skip
    for one in who:
        assert [line for line in offered["warnings"] if line.startswith(f"not held: {one}")]
    sent = bizkit("quote", "send", offered["key"], "--on", "2027-08-01")
    assert sent.code == 0
    for one in who:
        assert f"Look: not held: {one}" in sent.out


def test_a_renewal_is_invited_and_drafted_with_what_is_not_held(bizkit, withdrawn):
    (row,) = bizkit("rights", "ending", "--within", "90d", "--on", "2028-04-05", "--json").data["ending"]
    assert [line.startswith(GONE) for line in row["look"]] == [True]
    assert f"Look: {NOW}" in bizkit("rights", "ending", "--within", "90d", "--on", "2028-04-05").out
    drafted = bizkit("rights", "renew", withdrawn, "--on", "2028-04-05", "--json").data
    assert [line.startswith(GONE) for line in drafted["warnings"]] == [True]
    sent = bizkit("quote", "send", drafted["key"], "--on", "2028-04-05", "--json")
    assert [line.startswith(GONE) for line in sent.data["clashes"]] == [True]
    # It is for the studio alone.
    assert "Eilidh" not in str(sent.data["document"])


def test_what_is_held_is_sold_without_a_word(bizkit, live):
    (row,) = bizkit("rights", "ending", "--within", "90d", "--on", "2028-04-05", "--json").data["ending"]
    assert row["look"] == []
    drafted = bizkit("rights", "renew", live, "--on", "2028-04-05", "--json").data
    assert drafted["warnings"] == []
    assert bizkit("quote", "send", drafted["key"], "--on", "2028-04-05", "--json").data["clashes"] == []
