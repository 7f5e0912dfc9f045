"""What a credit note takes back of an invoice is to be invoiced again, in part as in whole: nothing stays open."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest


def money(bizkit, job):
    data = bizkit("job", "money", job, "--json").data
    return {name: Decimal(data[name]) for name in ("agreed", "invoiced", "credited", "left_to_invoice")}


def left(bizkit, job):
    return sum((Decimal(row["amount"]) for row in rows_left(bizkit, job)), Decimal(0))


def rows_left(bizkit, job):
    rows = bizkit("charge", "list", job, "--json").data["charges"]
    return [row for row in rows if row["state"] == "to invoice"]


@pytest.fixture
def overrun(bizkit, job):
    """A job whose first shoot day ran over, its charges invoiced; gives the invoice."""
    log = ("day", "log", job, "2027-05-11", "--call", "06:00", "--wrap", "23:00", "--on", "2027-05-11")
    assert bizkit(*log).code == 0
    done = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-12", "--json")
    assert done.code == 0, done.err
    return done.data


def test_a_line_credited_of_an_invoice_of_charges_can_be_invoiced_again(bizkit, job, overrun):
    document = bizkit("invoice", "show", overrun["number"], "--json").data["document"]
    line = document["lines"][0]["amount"]
    before = money(bizkit, job)
    note = bizkit(
        "invoice", "credit", overrun["number"], "--line", "1", "--reason", "slip", "--on", "2027-05-13", "--json"
    )
    assert (note.code, note.data["open_again"]) == (0, True), note.err
    assert left(bizkit, job) == Decimal(line)
    again = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-14", "--json").data
    assert again["net"] == line
    assert left(bizkit, job) == 0
    assert money(bizkit, job)["left_to_invoice"] == before["left_to_invoice"]
    none = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15")
    assert none.code == 1


def test_a_part_of_a_stage_that_was_undone_can_be_invoiced_again(bizkit, job):
    stage = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    before = money(bizkit, job)
    assert (
        bizkit("invoice", "credit", stage["number"], "--amount", "120", "--reason", "slip", "--on", "2027-02-09").code
        == 0
    )
    assert left(bizkit, job) == Decimal("120.00")
    assert [
        row for row in bizkit("status", "--on", "2027-02-10", "--json").data["to_invoice"] if row["net"] == "120.00"
    ]
    again = bizkit("invoice", "issue", job, "--charges", "--on", "2027-02-10", "--json").data
    assert again["net"] == "120.00"
    assert money(bizkit, job)["left_to_invoice"] == before["left_to_invoice"]


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_credited_the_money_of_a_job_adds_up_and_can_be_billed(bizkit, job, overrun, seed):
    chance = random.Random(seed)
    stage = bizkit("invoice", "issue", job, "--on", "2027-05-13", "--json").data
    at_first = money(bizkit, job)
    for step in range(3):
        number = chance.choice([overrun["number"], stage["number"]])
        how = chance.choice([("--line", "1"), ("--amount", "60"), ("--line", "1=30")])
        bizkit("invoice", "credit", number, *how, "--reason", f"slip {step}", "--on", "2027-05-14")
        if chance.random() < 0.5 and rows_left(bizkit, job):
            assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15").code == 0
    if rows_left(bizkit, job):
        assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-16").code == 0
    assert left(bizkit, job) == 0
    at_last = money(bizkit, job)
    assert at_last["agreed"] == at_first["agreed"]
    assert at_last["left_to_invoice"] == at_first["left_to_invoice"]
    assert at_last["invoiced"] - at_last["credited"] == at_first["invoiced"] - at_first["credited"]


def test_the_final_invoice_shows_what_was_billed_again_for_what_it_takes_off(bizkit, job):
    """A deposit taken off a stage, then credited and billed again: the paper names all three."""
    deposit = bizkit(
        "invoice", "deposit", job, "1000", "--received", "2027-02-09", "--on", "2027-02-09", "--json"
    ).data
    bizkit("invoice", "issue", job, "--on", "2027-02-10")
    assert bizkit("invoice", "credit", deposit["number"], "--reason", "slip", "--on", "2027-02-11").code == 0
    again = bizkit("invoice", "issue", job, "--charges", "--on", "2027-02-12", "--json").data
    assert again["net"] == deposit["net"]
    last = bizkit("invoice", "issue", job, "--final", "--on", "2027-06-10", "--json").data
    lines = [(line["item"], Decimal(line["amount"])) for line in last["document"]["lines"]]
    part = Decimal(deposit["net"])
    for words, amount in ((deposit["number"], -part), ("GLC-2027-0001", part), (again["number"], -part)):
        assert any(words in item and sum_ == amount for item, sum_ in lines), (words, lines)
    assert sum(amount for _, amount in lines) == Decimal(last["net"])
    assert money(bizkit, job)["left_to_invoice"] == 0
    (row,) = bizkit("job", "list", "--json").data
    assert row["invoiced"] == row["net"] == bizkit("job", "money", job, "--json").data["agreed"]


@pytest.mark.parametrize("amount", ["60", "-15.50"])
def test_the_list_of_jobs_says_what_its_money_says(bizkit, job, overrun, amount):
    bizkit(
        "charge",
        "add",
        job,
        "--what",
        "X",
        "--amount",
        amount,
        "--reason",
        "x",
        "--agreed",
        "U",
        "--on",
        "2027-05-13",
    )
    bizkit("invoice", "credit", overrun["number"], "--amount", "60", "--reason", "slip", "--on", "2027-05-14")
    (row,) = bizkit("job", "list", "--json").data
    shown = bizkit("job", "money", job, "--json").data
    assert row["net"] == shown["agreed"]
    # What a credit note took off and left to invoice again comes to nothing, and is no change.
    assert not [one for one in shown["agreed_changes"] if one["source"].startswith("credit note")]
    assert sum(Decimal(one["net"]) for one in shown["agreed_changes"]) == Decimal(shown["changes"])
