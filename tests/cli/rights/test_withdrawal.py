"""A withdrawn paper held until the day before: past use stays covered, what is missing begins with the withdrawal.

Withdrawing consent does not affect what was lawfully done before it: UK GDPR Article 7(3).
"""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest
from sqlalchemy import create_engine, text

JOB = "follow-the-kelp"
TERMS = ["--media", "online", "--where", "World"]


@pytest.fixture
def withdraw(bizkit):
    def take(paper, on):
        done = bizkit("holding", "withdraw", JOB, paper, "--reason", "asked by letter", "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data

    return take


def missing(bizkit, on="2027-09-02", name="Finn Sinclair"):
    found = bizkit("rights", "check", JOB, "--on", on, "--json").data["gaps"]
    return [(box["starts"], box["ends"]) for gap in found if gap["name"] == name for box in gap["missing"]]


def test_what_is_missing_begins_with_the_withdrawal_and_ends_with_the_next_paper(bizkit, live, hold, withdraw):
    paper = hold("talent_release", "Finn Sinclair", *TERMS)
    assert missing(bizkit) == []
    row = withdraw(paper["id"], "2027-09-01")
    assert row["in"] == ["campaign-film", "cut-downs", "sauna-loop", "stills"]
    assert (row["expires_on"], row["covers"].split(" / ")[-1]) == ("2027-08-31", "2027-05-14..2027-08-31")
    # The licence runs from 1 July 2027 to 30 June 2028.
    assert missing(bizkit) == [("2027-09-01", "2028-06-30")]
    (gap,) = bizkit("rights", "check", JOB, "--on", "2027-09-02", "--json").data["gaps"]
    assert gap["why"] == "held no longer: withdrawn on 2027-09-01"
    hold("talent_release", "Finn Sinclair", *TERMS, signed="2027-10-01", on="2027-10-01")
    assert missing(bizkit) == [("2027-09-01", "2027-09-30")]


def test_nothing_new_rests_on_a_withdrawn_paper(bizkit, live, hold, withdraw, tmp_path):
    from PIL import Image

    paper = hold("talent_release", "Finn Sinclair", *TERMS)
    bizkit("rights", "link", JOB, "stills", "--who", "Finn Sinclair", "--on", "2027-05-20")
    withdraw(paper["id"], "2027-09-01")
    still = tmp_path / "kelp-01.jpg"
    Image.new("RGB", (64, 48), (10, 90, 90)).save(still)
    done = bizkit("rights", "sidecar", JOB, "stills", still, "--on", "2027-09-02", "--json").data
    assert done["model_release"] == "MR-NON"
    bizkit("rights", "renew", JOB, "--on", "2028-04-01")
    bizkit("quote", "send", f"{JOB}-renewal", "--on", "2028-04-01")
    bizkit("quote", "accept", f"{JOB}-renewal", "--on", "2028-04-02")
    refused = bizkit("rights", "grant", f"{JOB}-renewal", "--on", "2028-04-03")
    assert (refused.code, "nothing held: withdrawn on 2027-09-01" in refused.err) == (1, True)


@pytest.mark.parametrize("seed", range(4))
def test_postgresql_subtracts_withdrawn_papers_alike(bizkit, live, hold, withdraw, postgresql_url, seed):
    """Papers of one person at random, some withdrawn: the judge is PostgreSQL's datemultirange.

    Consent taken back on one paper ends all that were signed by that day.
    """
    chance = random.Random(seed)
    papers, taken_back = [], []
    for _ in range(6):
        signed = date(2027, 5, 14) + timedelta(days=chance.randrange(200))
        start = signed + timedelta(days=chance.randrange(150))
        end = start + timedelta(days=chance.randrange(200))
        terms = [*TERMS, "--from", start, "--until", end]
        paper = hold("talent_release", "Finn Sinclair", *terms, signed=signed.isoformat(), on="2027-12-01")
        papers.append((signed, start, end))
        if chance.random() < 0.4:
            gone = signed + timedelta(days=chance.randrange(300))
            withdraw(paper["id"], gone)
            taken_back.append(gone)
    spans = []
    for signed, start, end in papers:
        end = min([end, *(gone - timedelta(days=1) for gone in taken_back if gone >= signed)])
        if start <= end:
            spans.append(f"daterange('{start}', '{end}', '[]')")
    engine = create_engine(postgresql_url)
    with engine.connect() as server:
        wanted = "datemultirange(daterange('2027-07-01', '2028-06-30', '[]'))"
        rows = server.execute(
            text(f"SELECT lower(r), upper(r) - 1 FROM unnest({wanted} - datemultirange({', '.join(spans)})) AS r")
        ).all()
    engine.dispose()
    assert sorted(missing(bizkit)) == [(low.isoformat(), high.isoformat()) for low, high in rows]
