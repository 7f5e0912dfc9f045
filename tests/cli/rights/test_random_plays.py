"""Random plays of papers that come, go, are corrected and whose people are erased: every door gives one answer."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest

from bizkit.domain.rights.scope import Scope

JOB = "follow-the-kelp"
#: Of age within the term of the licence; the paper of before is a guardian's.
CHILD, GROWN = "Finn Sinclair", date(2027, 8, 20)
MEDIA, COUNTRIES = ("owned_channels", "paid_social"), ("GB", "IE")


def act(bizkit, hold, chance, on):
    """One thing that happens to the papers on that day; what may be refused may be."""
    papers = [one for one in bizkit("holding", "list", JOB, "--json").data if one["status"] == "signed"]
    people = [one for one in bizkit("person", "list", "--json").data if not one["erased_on"]]
    paper = chance.choice(papers) if papers else None
    what = chance.choice(("withdraw", "correct", "erase", "file", "file", "sell"))
    if what == "sell" and paper and paper["kind"] == "location_permission":
        bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "sold", "--on", on)
        terms = ("--media", "all", "--where", chance.choice(("World", "GB")), "--without-end")
        hold(paper["kind"], paper["subject"], *terms, "--by", f"Owner of {on}", signed=str(on), on=str(on))
    elif what == "withdraw" and paper:
        bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "asked", "--on", on)
    elif what == "correct" and paper:
        media, where = chance.choice(MEDIA), chance.choice(COUNTRIES)
        terms = ("--media", media, "--where", where, "--until", "2028-03-31")
        bizkit("holding", "correct", JOB, paper["id"], *terms, "--reason", "a slip", "--on", on)
    elif what == "erase" and people and chance.random() < 0.5:
        bizkit("person", "erase", chance.choice(people)["name"], "--reason", "asked", "--yes", "--on", on)
    elif what == "file" and paper and not paper["subject"].startswith("erased"):
        terms = ("--media", "all", "--where", chance.choice(("World", "GB")), "--until", "2028-12-31")
        by = ()
        if paper["kind"] == "location_permission":
            by = ("--by", paper["signed_by"])
        elif paper["subject"] == CHILD:
            by = ("--born", "2009-08-20", *(("--guardian", "Morag Sinclair") if on < GROWN else ()))
        hold(paper["kind"], paper["subject"], *terms, *by, signed=str(on), on=str(on))


def doors(bizkit, on, still):
    """What each door says is not held of the licence on that day, in its own words."""
    check = bizkit("rights", "check", JOB, "--on", on, "--json").data
    explained = bizkit("rights", "explain", JOB, "--on", on, "--json").data["look"]
    certificate = bizkit("rights", "certificate", JOB, "--reason", "as it is", "--on", on, "--json").data["look"]
    (row,) = bizkit("rights", "list", JOB, "--on", on, "--json").data["licences"]
    sidecar = bizkit("rights", "sidecar", JOB, "stills", still, "--replace", "--on", on, "--json").data["look"]
    return check, explained, certificate, row["not_held"], sidecar


@pytest.mark.parametrize("seed", range(1, 5))
def test_every_door_gives_the_same_answer_after_random_plays(bizkit, hold, live, tmp_path, seed):
    chance, on = random.Random(seed), date(2027, 7, 5)
    still = tmp_path / "still.jpg"
    still.write_bytes(b"a still")
    child = ("--guardian", "Morag Sinclair", "--born", "2009-08-20")
    hold("talent_release", CHILD, *child, "--media", "all", "--where", "World", signed="2027-07-02", on="2027-07-02")
    bizkit("rights", "link", JOB, "stills", "--who", "Eilidh Rendall", "--who", CHILD, "--on", "2027-07-02")
    for _ in range(5):
        act(bizkit, hold, chance, on)
        on += timedelta(days=chance.randint(1, 30))
        check, explained, certificate, listed, sidecar = doors(bizkit, on, still)
        gaps = [one["text"] for one in check["gaps"]]
        assert check["cleared"] == (not gaps), (seed, on)
        assert listed == gaps, (seed, on)
        for looks in (explained, certificate):
            assert [one for one in looks if one.startswith("not held")] == [f"not held: {one}" for one in gaps]
        missing = [Scope.from_data(one["missing"]) for one in check["gaps"]]
        to_come = [one for one in missing if one.end is not None and one.end >= on]
        assert sum(one.startswith("not held") for one in sidecar) == len(to_come), (seed, on)
        medium, country = chance.choice(MEDIA), chance.choice(COUNTRIES)
        use = ("rights", "use", JOB, "--media", medium, "--where", country, "--work", "stills", "--on", on, "--json")
        answer = bizkit(*use).data
        assert answer["allowed"]
        assert answer["held"] == (not any(one.allows(medium, country, on) for one in missing)), (seed, on)
