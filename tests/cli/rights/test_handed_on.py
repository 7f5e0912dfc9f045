"""A place sold within the term, consent given anew on the day it was taken back, a child who answers once grown."""

from __future__ import annotations

import shutil

import pytest

JOB = "follow-the-kelp"
SAUNA = "Shore sauna, Selkie Bay"
TERMS = ["--media", "online", "--where", "World"]
CHILD = ["--guardian", "Morag Sinclair", "--born", "2010-01-01"]


@pytest.fixture
def live(in_force, studio):
    """The licence runs from 1 July 2027 to 30 June 2028; the sauna's leave is in the papers."""
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    return studio


def gaps(bizkit, on, name):
    done = bizkit("rights", "check", JOB, "--on", on, "--json")
    assert done.code == 0, done.err
    return [
        (box["starts"], box["ends"]) for gap in done.data["gaps"] if gap["name"] == name for box in gap["missing"]
    ]


def sauna(bizkit, owner="Selkie Bay Sauna"):
    rows = bizkit("permission", "list", JOB, "--json").data
    return next(one["id"] for one in rows if (one["subject"], one["signed_by"]) == (SAUNA, owner))


def take_back(bizkit, paper, on):
    done = bizkit("holding", "withdraw", JOB, paper, "--reason", "they wrote", "--on", on)
    assert done.code == 0, done.err
    return done.out


def use(bizkit, on, media="paid_social"):
    done = bizkit(
        "rights", "use", JOB, "--work", "campaign-film", "--media", media, "--where", "IE", "--on", on, "--json"
    )
    assert done.code == 0, done.err
    return done.data


@pytest.mark.parametrize("signed", ["2027-08-20", "2027-09-01", "2027-09-02"])
def test_a_place_that_was_sold_is_held_throughout_by_one_owner_after_the_other(bizkit, live, hold, signed):
    out = take_back(bizkit, sauna(bizkit), "2027-09-01")
    assert "What was done before 2027-09-01 stays covered" in out
    assert gaps(bizkit, "2027-09-15", SAUNA) == [("2027-09-01", "2028-06-30")]
    new = ["--by", "New Owner Ltd", *TERMS, "--from", "2027-09-01"]
    hold("location_permission", SAUNA, *new, signed=signed, on="2027-09-02")
    assert gaps(bizkit, "2027-09-15", SAUNA) == []
    assert use(bizkit, "2027-08-15")["held"]
    assert use(bizkit, "2027-10-15")["held"]
    listed = bizkit("rights", "list", JOB, "--on", "2027-09-15").out
    assert "live" in listed
    assert "not held" not in listed
    done = bizkit("rights", "check", JOB, "--on", "2027-09-15")
    assert "gives less" not in done.out
    assert bizkit("rights", "certificate", JOB, "--on", "2027-09-15").code == 0


def test_a_second_owner_who_says_no_is_named_and_anothers_older_yes_does_not_do(bizkit, live, hold):
    hold("location_permission", SAUNA, "--by", "Isla Gunn", *TERMS)
    take_back(bizkit, sauna(bizkit), "2027-09-01")
    (gap,) = [
        one
        for one in bizkit("rights", "check", JOB, "--on", "2027-09-15", "--json").data["gaps"]
        if one["name"] == SAUNA
    ]
    assert "Selkie Bay Sauna took consent back on 2027-09-01, on paper" in gap["why"]
    assert [(one["starts"], one["ends"]) for one in gap["missing"]] == [("2027-09-01", "2028-06-30")]


def test_consent_given_anew_on_the_very_day_counts_where_it_was_filed_after(bizkit, live, hold):
    first = hold("talent_release", "Isla Marwick", *TERMS)["id"]
    bizkit("rights", "link", JOB, "campaign-film", "--who", "Isla Marwick", "--on", "2027-05-20")
    older = hold("talent_release", "Isla Marwick", *TERMS, signed="2027-09-01", on="2027-09-01")
    take_back(bizkit, first, "2027-09-01")
    assert gaps(bizkit, "2027-09-15", "Isla Marwick") == [("2027-09-01", "2028-06-30")]
    anew = hold("talent_release", "Isla Marwick", *TERMS, signed="2027-09-01", on="2027-09-01")
    assert "taken back on that very day, on paper" in anew["warnings"][0]
    assert gaps(bizkit, "2027-09-15", "Isla Marwick") == []
    # A correction of one filed before is no new consent, one of the new paper is none less.
    for paper, lacks in ((older["id"], []), (anew["id"], [])):
        done = bizkit(
            "holding", "correct", JOB, paper, "--condition", "No slow motion", "--reason", "read again", "--on",
            "2027-09-02", "--json",
        )  # fmt: skip
        assert done.code == 0, done.err
        assert gaps(bizkit, "2027-09-15", "Isla Marwick") == lacks
    take_back(bizkit, done.data["id"], "2027-09-03")
    assert gaps(bizkit, "2027-09-15", "Isla Marwick") == [("2027-09-03", "2028-06-30")]


def test_a_paper_older_than_the_taking_back_says_when_it_is_filed_that_it_holds_nothing(bizkit, live, hold):
    first = hold("talent_release", "Isla Marwick", *TERMS)["id"]
    take_back(bizkit, first, "2027-09-01")
    found = hold("talent_release", "Isla Marwick", *TERMS, signed="2027-08-01", on="2027-09-02")
    assert found["warnings"][0].startswith(
        f"it holds nothing from 2027-09-01 on: consent was taken back on 2027-09-01, on paper {first}"
    )


@pytest.fixture
def child(bizkit, live, hold):
    """Almost Grown is in the film, by a paper of the guardian; 18 on 2028-01-01."""
    bizkit("rights", "link", JOB, "campaign-film", "--who", "Almost Grown", "--on", "2027-05-20")
    return hold("talent_release", "Almost Grown", *CHILD, *TERMS)["id"]


def test_who_grew_up_and_answers_with_less_is_held_for_no_more(bizkit, child, hold):
    assert gaps(bizkit, "2028-02-01", "Almost Grown") == []  # until they say otherwise
    less = ["--media", "owned_channels", "--where", "GB", "--until", "2028-03-31"]
    own = hold("talent_release", "Almost Grown", *less, signed="2028-01-02", on="2028-01-02")["id"]
    found = bizkit("rights", "check", JOB, "--on", "2028-02-01", "--json").data
    assert found["cleared"] is False
    assert gaps(bizkit, "2028-02-01", "Almost Grown")[0][0] == "2028-01-02"
    assert not any("ask them to confirm" in one for one in found["warnings"])
    (row,) = [one for one in bizkit("release", "list", JOB, "--json").data if one["id"] == child]
    assert row["holds_nothing"] == f"of age since, they answered for themselves on 2028-01-02, on paper {own}"
    assert use(bizkit, "2027-12-31")["held"]
    assert not use(bizkit, "2028-01-02")["held"]
    refused = bizkit("rights", "certificate", JOB, "--on", "2028-02-01")
    assert (refused.code, "Almost Grown" in refused.err) == (1, True)
    # Asked again, they give the rest.
    hold("talent_release", "Almost Grown", *TERMS, signed="2028-01-02", on="2028-02-01")
    assert gaps(bizkit, "2028-02-01", "Almost Grown") == []


@pytest.mark.parametrize("day", ["2028-01-02", "2028-02-01"])
def test_what_a_guardian_takes_back_leaves_what_the_grown_child_signed(bizkit, child, hold, day):
    own = hold("talent_release", "Almost Grown", *TERMS, signed="2028-01-02", on="2028-01-02")["id"]
    out = take_back(bizkit, child, day)
    assert f"Look: paper {own}, signed by Almost Grown, still holds. If they took it back too: bizkit holding" in out
    assert "Nor on paper" not in out
    assert gaps(bizkit, "2028-02-02", "Almost Grown") == []
    take_back(bizkit, own, "2028-03-01")
    assert gaps(bizkit, "2028-03-02", "Almost Grown") == [("2028-03-01", "2028-06-30")]


def test_status_asks_for_who_has_come_of_age_until_they_have_answered(bizkit, child, hold):
    def told(on):
        return [row["what"] for row in bizkit("status", "--on", on, "--json").data["ending"] if "18" in row["what"]]

    ask = f"Almost Grown {{}} 18: ask them to confirm paper {child}"
    assert told("2027-12-20") == [ask.format("turns")]
    assert told("2028-02-01") == [ask.format("turned")]
    hold("talent_release", "Almost Grown", *TERMS, signed="2028-01-02", on="2028-02-02")
    assert told("2028-02-03") == []


def test_a_yes_names_all_that_was_asked_and_a_no_all_that_is_beyond(bizkit, live):
    asked = ("rights", "use", JOB, "--work", "campaign-film", "--on", "2027-09-01", "--json")
    yes = bizkit(*asked, "--media", "paid_social", "--media", "owned_channels", "--where", "GB", "--where", "IE")
    (answer,) = yes.data["works"]
    assert answer["because"].startswith(
        "LC-2027-0001 allows own channels, paid social in Ireland and United Kingdom until"
    )
    no = bizkit(*asked, "--media", "paid_social", "--where", "FR", "--where", "DE")
    (answer,) = no.data["works"]
    assert "without France and Germany" in answer["because"]
