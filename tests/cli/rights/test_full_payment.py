"""A licence "on full payment" waits for every invoice and charge of its job; money taken back takes it back."""

from __future__ import annotations

import json
import random
import sqlite3
from collections import defaultdict
from datetime import date, timedelta

import pytest

JOB = "follow-the-kelp"


@pytest.fixture
def granted(bizkit, clear):
    assert bizkit("rights", "grant", clear, "--on", "2027-06-14").code == 0
    assert bizkit("invoice", "issue", clear, "--on", "2027-02-08").code == 0
    assert bizkit("invoice", "paid", "GL-2027-0001", "--on", "2027-03-01").code == 0
    return "LC-2027-0001"


@pytest.fixture
def do(bizkit):
    def run(*words):
        done = bizkit(*words)
        assert done.code == 0, done.err
        return done

    return run


def charge(do, amount="100", on="2027-06-10"):
    words = [
        "charge", "add", JOB, "--what", "Boat", "--amount", amount, "--reason", "asked", "--agreed", "Una, by mail",
        "--on", on, "--json",
    ]  # fmt: skip
    return do(*words).data["id"]


def state(bizkit, on="2027-08-15"):
    (row,) = bizkit("rights", "list", JOB, "--on", on, "--json").data["licences"]
    return row["state"], row["paid_on"]


def bill_the_rest(do, on="2027-06-14"):
    do("invoice", "issue", JOB, "--stage", "2", "--reason", "agreed", "--on", on)


def test_an_invoice_of_charges_holds_the_licence_up(bizkit, granted, do):
    charge(do)
    bill_the_rest(do)
    charges = do("invoice", "issue", JOB, "--charges", "--on", "2027-07-10", "--json").data["number"]
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-08-12")
    assert state(bizkit) == ("waiting", "")
    assert not bizkit(
        "rights", "use", JOB, "--media", "paid_social", "--where", "IE", "--on", "2027-08-15", "--json"
    ).data["allowed"]
    do("invoice", "paid", charges, "--on", "2027-08-13")
    assert state(bizkit) == ("live", "2027-08-13")


def test_a_charge_that_is_not_invoiced_yet_holds_it_up_until_it_is_paid_or_given_up(bizkit, granted, do):
    first = charge(do)
    charge(do, "-20")  # what we owe the client holds nothing up
    bill_the_rest(do)
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-06-20")
    assert state(bizkit) == ("waiting", "")
    do("charge", "waive", first, "--reason", "on the house", "--on", "2027-07-15")
    assert state(bizkit) == ("live", "2027-07-15")


def test_giving_a_charge_up_gives_nothing_before_that_day(bizkit, granted, do):
    first = charge(do)
    bill_the_rest(do)
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-06-20")
    do("charge", "waive", first, "--reason", "on the house", "--on", "2027-07-15")
    assert state(bizkit, "2027-07-14") == ("waiting", "")
    ask = ("rights", "use", JOB, "--media", "paid_social", "--where", "IE", "--json", "--on")
    assert not bizkit(*ask, "2027-07-14").data["allowed"]
    assert bizkit(*ask, "2027-07-15").data["allowed"]
    (row,) = bizkit("rights", "list", JOB, "--on", "2027-08-15", "--json").data["licences"]
    assert row["starts"] == "2027-07-15"


def test_what_comes_up_after_the_licence_took_effect_does_not_undo_it(bizkit, granted, do):
    bill_the_rest(do)
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-06-20")
    charge(do, on="2027-06-21")
    assert state(bizkit) == ("live", "2027-06-20")
    do("invoice", "issue", JOB, "--charges", "--on", "2027-07-10")
    assert state(bizkit) == ("live", "2027-06-20")


def test_a_refund_or_a_credit_that_reopens_takes_it_back(bizkit, granted, do):
    bill_the_rest(do)
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-06-20")
    do("payment", "refund", "GL-2027-0002", "50", "--owed-again", "--on", "2027-07-10")
    assert state(bizkit) == ("waiting", "")
    do("invoice", "paid", "GL-2027-0002", "--on", "2027-07-20")
    assert state(bizkit) == ("live", "2027-07-20")
    # A credit note that undoes the invoice: it is to be billed again.
    do("invoice", "credit", "GL-2027-0002", "--reason", "wrong address", "--on", "2027-07-22")
    assert state(bizkit) == ("waiting", "")


def test_a_movement_of_the_bank_taken_back_takes_it_back(bizkit, granted, do, studio, tmp_path):
    bill_the_rest(do)
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(
            '\n[statement.harbour]\ndate = "Date"\namount = "Amount"\ntext = "Text"\ndate_format = "yyyy-mm-dd"\n'
        )
    left = do("invoice", "show", "GL-2027-0002", "--json").data["balance"]
    rows = tmp_path / "june.csv"
    rows.write_text(f"Date,Amount,Text\n2027-06-20,{left},SKERROW GL 2027 0002\n", encoding="utf-8")
    do("bank", "import", rows, "--on", "2027-06-21")
    do("bank", "book", "1", "--yes", "--on", "2027-06-21")
    assert state(bizkit) == ("live", "2027-06-20")
    do("bank", "reopen", "1", "--reason", "it was somebody else's", "--on", "2027-08-15")
    assert state(bizkit) == ("waiting", "")
    assert "In force" not in do("rights", "certificate", JOB, "--on", "2027-08-15").out


def test_days_that_can_never_be_in_force_are_not_asked_for(bizkit, clear, do, scan):
    """Granted, not paid, on the third day of its term: a payment on that day brings it into force from then."""
    do("rights", "link", JOB, "stills", "--who", "Finn Sinclair", "--on", "2027-06-01")
    assert bizkit("rights", "grant", clear, "--override", "he signs soon", "--on", "2027-06-14").code == 0
    do("release", "add", JOB, "--who", "Finn Sinclair", "--signed", "2027-07-03", "--scan", scan, "--media", "online",
       "--where", "Europe", "--without-end", "--on", "2027-07-03")  # fmt: skip
    assert do("rights", "check", JOB, "--on", "2027-07-03", "--json").data["gaps"] == []
    (gap,) = do("rights", "check", JOB, "--on", "2027-07-01", "--json").data["gaps"]
    assert [(box["starts"], box["ends"]) for box in gap["missing"]] == [("2027-07-01", "2027-07-02")]


def by_walking_the_days(studio):
    """The first day on which nothing made by then is open, as one would find it in the records by hand."""
    with sqlite3.connect(studio / "book.sqlite") as book:
        papers = [
            (kind, number, on, json.loads(text))
            for kind, number, on, text in book.execute(
                "SELECT kind, number, issued_on, document FROM issued WHERE kind IN ('invoice', 'credit_note')"
            )
        ]
        payments = book.execute('SELECT invoice, "on", amount_minor FROM payment ORDER BY id').fetchall()
        charges = book.execute('SELECT "on", invoice, waived_on FROM charge WHERE amount_minor > 0').fetchall()
        stages = [row[0] for row in book.execute("SELECT invoice FROM stage")]
    issued = {number: on for _, number, on, _ in papers}
    moves = defaultdict(list)
    for kind, number, on, document in papers:
        amount = document["due"] if kind == "invoice" else document["gross"]
        moves[number if kind == "invoice" else document["credits"]["number"]].append(
            (on, round(float(amount) * 100) * (1 if kind == "invoice" else -1))
        )
    for number, on, minor in payments:
        moves[number].append((on, -minor))
    days = sorted(
        {on for each in moves.values() for on, _ in each}
        | {on for one in charges for on in (one[0], one[2]) if on}
        | {"2027-02-08"}
    )

    def left(number, day):
        return sum(amount for on, amount in moves[number] if on <= day)

    for day in days:
        if any(not number or issued[number] > day for number in stages):
            continue
        owed = [one for one in charges if one[0] <= day and not (one[2] and one[2] <= day)]
        if any(not number or issued[number] > day for _, number, _ in owed):
            continue
        made = [number for kind, number, on, _ in papers if kind == "invoice" and on <= day]
        if all(left(number, later) <= 0 for number in made for later in days if later >= day):
            return day
    return ""


@pytest.mark.parametrize("seed", range(6))
def test_hunting_for_a_licence_that_lives_unpaid(bizkit, granted, do, studio, seed):
    """Bills, charges and what is given up, payments in part, refunds, credits at random; judged day by day."""
    chance = random.Random(seed)
    day = date(2027, 6, 14)
    bill_the_rest(do, str(day))
    for _ in range(9):
        day += timedelta(days=chance.randrange(0, 9))
        on = ["--on", str(day)]
        open_ = [row["number"] for row in do("invoice", "list", JOB, *on, "--json").data if float(row["balance"]) > 0]
        match chance.randrange(7):
            case 0:
                charge(do, str(chance.choice([40, 75, -10])), str(day))
            case 1:
                bizkit("invoice", "issue", JOB, "--charges", *on)
            case 2 | 3 if open_:
                do("invoice", "paid", chance.choice(open_), *on)
            case 4:
                bizkit(
                    "payment", "refund", chance.choice(["GL-2027-0001", "GL-2027-0002"]), "25", "--owed-again", *on
                )
            case 5 if chance.random() < 0.3:
                bizkit("invoice", "credit", chance.choice(open_ or ["GL-2027-0002"]), "--reason", "undo", *on)
            case 6:
                rows = do("charge", "list", JOB, "--json").data["charges"]
                waiting = [row["id"] for row in rows if row["state"] == "to invoice"]
                if waiting:
                    do("charge", "waive", chance.choice(waiting), "--reason", "given up", *on)
        found = state(bizkit, str(day + timedelta(days=40)))
        assert found[1] == by_walking_the_days(studio), (seed, day)
