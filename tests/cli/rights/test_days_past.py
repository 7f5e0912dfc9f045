"""What a licence allowed on a day that has passed stays so, whatever money moves later."""

from __future__ import annotations

import json
import random
from datetime import date, timedelta

import pypdf
import pytest

JOB = "follow-the-kelp"
SECOND = "GL-2027-0002"


@pytest.fixture
def do(bizkit):
    def run(*words):
        done = bizkit(*words)
        assert done.code == 0, done.err
        return done

    return run


def answer(do, on):
    """The state of the licence, and whether it allows a use, asked for a day."""
    (row,) = do("rights", "list", JOB, "--on", on, "--json").data["licences"]
    use = do("rights", "use", JOB, "--media", "paid_social", "--where", "IE", "--on", on, "--json").data
    return row["state"], use["allowed"]


def test_money_given_back_stops_it_from_that_day_on_alone(do, live, tmp_path):
    """Paid in full on 20 June; the licence counts from 1 July."""
    do("payment", "refund", SECOND, "500", "--owed-again", "--on", "2027-08-01")
    assert answer(do, "2027-07-20") == ("live", True)
    assert answer(do, "2027-07-31") == ("live", True)
    assert answer(do, "2027-08-01") == ("waiting", False)
    because = do("rights", "use", JOB, "--media", "paid_social", "--where", "IE", "--on", "2027-08-10").out
    assert "since 1 August 2027 the invoices are not paid in full any more" in " ".join(because.split())
    paper = do("rights", "certificate", JOB, "--on", "2027-08-10", "--json").data["file"]
    assert "when every invoice is paid" in " ".join(pypdf.PdfReader(paper).pages[0].extract_text().split())
    do("rights", "export", tmp_path / "gap", "--on", "2027-08-10")
    policy = json.loads((tmp_path / "gap" / "LC-2027-0001.jsonld").read_text(encoding="utf-8"))
    from bizkit.exchange.odrl import permits

    def permitted(day):
        return permits(policy, "use", on=day, medium="paid_social", country="IE")

    assert (permitted(date(2027, 7, 31)), permitted(date(2027, 8, 10))) == (True, False)
    do("invoice", "paid", SECOND, "--on", "2027-08-20")
    assert [answer(do, on)[0] for on in ("2027-07-31", "2027-08-01", "2027-08-19", "2027-08-20")] == [
        "live", "waiting", "waiting", "live",
    ]  # fmt: skip
    (row,) = do("rights", "list", JOB, "--on", "2027-08-21", "--json").data["licences"]
    assert (row["starts"], row["ends"]) == ("2027-07-01", "2028-06-30")
    paper = do("rights", "certificate", JOB, "--on", "2027-08-21", "--json").data["file"]
    text = " ".join(pypdf.PdfReader(paper).pages[0].extract_text().split())
    assert "In force since 1 July 2027" in text
    assert "Not in force 1 August 2027 to 19 August 2027, not paid in full" in text


def test_an_invoice_put_right_moves_no_day_before_it(do, live):
    do("invoice", "credit", SECOND, "--reason", "wrong address", "--on", "2027-08-01")
    do("payment", "refund", SECOND, "--on", "2027-08-01")
    number = do(
        "invoice", "issue", JOB, "--stage", "2", "--reason", "agreed", "--on", "2027-08-05", "--json"
    ).data["number"]  # fmt: skip
    assert answer(do, "2027-07-20") == ("live", True)
    assert answer(do, "2027-08-06") == ("waiting", False)
    do("invoice", "paid", number, "--on", "2027-08-09")
    assert [answer(do, on)[0] for on in ("2027-07-20", "2027-08-06", "2027-08-09")] == ["live", "waiting", "live"]


def test_a_licence_granted_when_all_was_paid_stops_when_money_is_given_back(do, clear, paid):
    paid("2027-06-20")
    do("rights", "grant", JOB, "--on", "2027-06-25")
    do("payment", "refund", SECOND, "500", "--owed-again", "--on", "2027-08-01")
    assert (answer(do, "2027-07-20"), answer(do, "2027-08-02")) == (("live", True), ("waiting", False))


def test_a_rest_that_ended_stays_ended_on_the_days_it_was(do, live):
    do(
        "charge", "add", JOB, "--what", "Boat", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-07-01",
    )  # fmt: skip
    number = do("invoice", "issue", JOB, "--charges", "--on", "2027-07-01", "--json").data["number"]
    for on in ("2027-08-10", "2027-08-25", "2027-09-25"):
        do("late", "remind", number, "--on", on)
    do("invoice", "paid", number, "--on", "2027-10-20")
    do("payment", "refund", number, "50", "--owed-again", "--on", "2027-10-25")
    asked = ("2027-09-24", "2027-09-25", "2027-10-19", "2027-10-20", "2027-10-24", "2027-10-25")
    assert [answer(do, on)[0] for on in asked] == ["live", "at rest", "at rest", "live", "live", "at rest"]


@pytest.mark.parametrize("seed", range(5))
def test_hunting_for_a_day_whose_answer_changes_later(bizkit, do, clear, seed):
    """Payments, refunds, credit notes and new invoices at random: each day's answer, asked on it and at the end."""
    chance = random.Random(seed)
    day = date(2027, 6, 14)
    do("rights", "grant", JOB, "--on", day)
    do("invoice", "issue", JOB, "--on", "2027-02-08")
    do("invoice", "paid", "GL-2027-0001", "--on", "2027-03-01")
    do("invoice", "issue", JOB, "--stage", "2", "--reason", "agreed", "--on", day)
    do("invoice", "paid", SECOND, "--on", day)
    asked = {}
    for _ in range(12):
        on = ["--on", str(day)]
        rows = do("invoice", "list", JOB, *on, "--json").data
        owed = [row["number"] for row in rows if float(row["balance"]) > 0]
        match chance.randrange(5):
            case 0 | 1 if owed:
                do("invoice", "paid", chance.choice(owed), *on)
            case 0 | 2:
                bizkit("payment", "refund", chance.choice(rows)["number"], "25", "--owed-again", *on)
            case 3:
                bizkit("invoice", "credit", chance.choice(rows)["number"], "--reason", "undo", *on)
            case _:
                for stage in ("1", "2"):
                    bizkit("invoice", "issue", JOB, "--stage", stage, "--reason", "agreed", *on)
        if chance.random() < 0.7:
            asked[str(day)] = answer(do, str(day))
            day += timedelta(days=chance.randrange(1, 12))
    assert {on: answer(do, on) for on in asked} == asked, seed
    assert len(asked) > 4
