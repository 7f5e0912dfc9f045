"""A renewal: when it begins, what it keeps, and of which licences it is refused."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
KEPT = (
    "You may shorten, crop and subtitle the pictures; you may not change what they say.",
    "Skerrow Ferries may use them on the same terms.",
    "Nobody else in this line of business gets the same use from us during that time: tourism.",
)


@pytest.fixture
def wide(bizkit, studio, change):
    """A second job whose licence allows edits and use by somebody else, granted."""
    brief = studio / "briefs" / f"{JOB}.toml"
    (studio / "briefs" / "again.toml").write_text(
        brief.read_text(encoding="utf-8").replace(f'key = "{JOB}"', 'key = "again"'), encoding="utf-8"
    )
    limits = 'limits = ["party politics"]'
    change(studio / "briefs" / "again.toml", limits, f'{limits}\nedits = true\naffiliates = ["Skerrow Ferries"]')
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, "again", "--on", "2027-02-10").code == 0
    assert bizkit("rights", "grant", "again", "--override", "x", "--on", "2027-06-14").code == 0
    return "again"


def pay(bizkit, key):
    bizkit("invoice", "issue", key, "--on", "2027-02-10")
    bizkit("invoice", "issue", key, "--stage", "2", "--reason", "agreed", "--on", "2027-06-14")
    for row in bizkit("invoice", "list", key, "--json").data:
        assert bizkit("invoice", "paid", row["number"], "--on", "2027-06-20").code == 0


def test_a_renewal_keeps_all_that_was_licensed(bizkit, wide):
    pay(bizkit, wide)
    sentences = bizkit("rights", "renew", wide, "--on", "2028-04-05", "--json").data["sentences"]
    for kept in KEPT:
        assert kept in sentences
    assert "It runs from 1 July 2028 to 30 June 2029" in " ".join(sentences)


def test_after_its_end_it_begins_today(bizkit, live):
    """The licence ended on 30 June 2028."""
    drafted = bizkit("rights", "renew", live, "--on", "2028-09-10", "--json").data
    assert "It runs from 10 September 2028 to 9 September 2029" in " ".join(drafted["sentences"])
    (gap,) = [one for one in drafted["warnings"] if "nothing is licensed" in one]
    assert gap == "from 2028-07-01 to 2028-09-09 nothing is licensed: the renewal begins on 2028-09-10"


def test_one_that_was_ended_for_non_payment_is_not_renewed_by_itself(bizkit, live):
    assert bizkit("rights", "end", live, "--reason", "not paid", "--on", "2027-09-01").code == 0
    refused = bizkit("rights", "renew", live, "--on", "2027-10-01")
    assert (refused.code, refused.out) == (1, "")
    assert "LC-2027-0001 was ended after 2027-09-01 (not paid)" in refused.err
    assert f"bizkit rights offer {JOB}" in refused.err
    done = bizkit("rights", "renew", live, "--reason", "they paid at last", "--on", "2027-10-01", "--json").data
    # Its whole length, from today on.
    assert "It runs from 1 October 2027 to 30 September 2028" in " ".join(done["sentences"])
    assert done["warnings"][0].endswith("renewed all the same, as they paid at last")


def test_money_taken_back_is_asked_about(bizkit, live):
    bizkit("payment", "refund", "GL-2027-0002", "500", "--owed-again", "--on", "2027-08-01")
    refused = bizkit("rights", "renew", live, "--on", "2028-04-05")
    assert (refused.code, "LC-2027-0001 is not paid in full" in refused.err) == (1, True)


def test_an_offer_to_the_same_client_goes_on_with_edits_and_affiliates(bizkit, wide):
    """Ended before it took effect, so that nothing of it is held; offered anew to its own client, and to another."""
    assert bizkit("rights", "end", "again", "--reason", "not paid", "--on", "2027-06-15").code == 0
    offer = ("rights", "offer", wide, "--media", "owned_channels", "--where", "GB", "--from", "2027-09-01",
             "--months", "12", "--on", "2027-08-01", "--json")  # fmt: skip
    sentences = bizkit(*offer).data["sentences"]
    assert [one in sentences for one in KEPT[:2]] == [True, True]


def test_an_offer_to_somebody_else_brings_nobodys_affiliates(bizkit, wide, studio):
    client = 'name = "Example Ferries"\ncountry = "GB"\nsector = "ferries"\n'
    (studio / "clients" / "example-ferries.toml").write_text(client, encoding="utf-8")
    offer = ("rights", "offer", wide, "--media", "owned_channels", "--where", "GB", "--from", "2027-09-01",
             "--months", "12", "--to", "example-ferries", "--on", "2027-08-01", "--json")  # fmt: skip
    sentences = bizkit(*offer).data["sentences"]
    assert [one in sentences for one in KEPT[:2]] == [False, False]
