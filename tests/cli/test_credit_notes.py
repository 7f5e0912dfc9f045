"""Credit notes: whole or in part, never below zero in sum, in a series of their own."""

from __future__ import annotations

from decimal import Decimal

import pytest


@pytest.fixture
def billed(bizkit, job):
    """Two charges on an invoice: 100.00 and 33.33, so 133.33 net, 26.67 tax (26.666), 160.00 gross."""
    for what, amount in (("Second boat", "100"), ("Rushes copy", "33.33")):
        bizkit(
            "charge", "add", job, "--what", what, "--amount", amount, "--reason", "asked", "--agreed",
            "Una, by mail", "--on", "2027-05-01",
        )  # fmt: skip
    done = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-02", "--json").data
    assert (done["net"], done["tax"], done["gross"]) == ("133.33", "26.67", "160.00")
    return done["number"]


def credit(bizkit, number, *more, on="2027-05-10"):
    return bizkit("invoice", "credit", number, "--reason", "not needed", *more, "--on", on, "--json")


def test_a_whole_credit_note_takes_everything_back_and_opens_what_was_billed(bizkit, job, billed):
    done = credit(bizkit, billed).data
    assert (done["number"], done["net"], done["tax"], done["gross"]) == ("GLC-2027-0001", "133.33", "26.67", "160.00")
    # SI 1995/2518 reg 15C: number and date of the invoice corrected, and the reason.
    assert done["document"]["credits"] == {"number": billed, "issued_on": "2027-05-02"}
    assert done["document"]["reason"] == "not needed"
    assert (done["balance"], done["state"], done["open_again"]) == ("0.00", "credited", True)
    again = credit(bizkit, billed)
    assert (again.code, "credited in full already" in again.err) == (1, True)
    assert [row["state"] for row in bizkit("charge", "list", job, "--json").data["charges"]] == ["to invoice"] * 2
    second = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-11", "--json").data
    assert second["gross"] == "160.00"
    assert bizkit("job", "money", job, "--json").data["left_to_pay"] == "160.00"
    assert bizkit("verify").code == 0


def test_parts_add_up_to_the_whole_and_never_beyond_it(bizkit, billed):
    first = credit(bizkit, billed, "--amount", "44.44").data
    second = credit(bizkit, billed, "--amount", "44.44").data
    # 20 % of 44.44 is 8.888, so 8.89 each; what is left has 133.33 - 88.88 = 44.45 and 26.67 - 17.78 = 8.89 of tax.
    assert [one["tax"] for one in (first, second)] == ["8.89", "8.89"]
    over = credit(bizkit, billed, "--amount", "44.46")
    assert over.code == 1
    assert "has GBP 44.45 without tax left to credit" in over.err
    assert len(over.err.splitlines()) == 1
    rest = credit(bizkit, billed).data
    assert (rest["net"], rest["tax"], rest["gross"]) == ("44.45", "8.89", "53.34")
    assert sum(Decimal(one["gross"]) for one in (first, second, rest)) == Decimal("160.00")
    numbers = ["GLC-2027-0001", "GLC-2027-0002", "GLC-2027-0003"]
    assert [one["number"] for one in (first, second, rest)] == numbers
    assert [one["number"] for one in bizkit("invoice", "list", "--credits", "--json").data] == numbers
    assert "GLC-2027-0003" in bizkit("invoice", "list", "--credits").out


def test_lines_are_credited_whole_or_in_part(bizkit, billed):
    done = credit(bizkit, billed, "--line", "2").data
    assert [(line["item"], line["amount"]) for line in done["document"]["lines"]] == [("Rushes copy", "33.33")]
    done = credit(bizkit, billed, "--line", "1=25").data
    assert (done["net"], done["gross"]) == ("25.00", "30.00")
    for wanted, said in (
        ("1=100.01", "line 1 of GL-2027-0001 comes to GBP 100.00"),
        ("3", "--line: wanted a line from 1 to 2"),
        ("1=", "--line"),
        ("1=-5", "cannot be credited"),
        ("2", "GBP 0.00 is left, GBP 33.33 cannot be credited"),
        ("1=75.01", "GBP 75.00 is left"),
    ):
        refused = credit(bizkit, billed, "--line", wanted)
        assert refused.code in (1, 2), wanted
        assert said in refused.err
        assert len(refused.err.splitlines()) == 1


def test_a_lower_price_is_a_change_and_not_left_to_invoice(bizkit, job, billed):
    before = bizkit("job", "money", job, "--json").data
    done = credit(bizkit, billed, "--amount", "50", "--lower-price").data
    assert done["lowers_price"]
    after = bizkit("job", "money", job, "--json").data
    assert Decimal(after["agreed"]) == Decimal(before["agreed"]) - 50
    assert after["left_to_invoice"] == before["left_to_invoice"]
    plain = credit(bizkit, billed, "--amount", "10").data
    assert not plain["lowers_price"]
    last = bizkit("job", "money", job, "--json").data
    assert Decimal(last["left_to_invoice"]) == Decimal(before["left_to_invoice"]) + 10


def test_a_credited_stage_can_be_invoiced_again(bizkit, job):
    first = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    credit(bizkit, first["number"], on="2027-02-09")
    again = bizkit("invoice", "issue", job, "--on", "2027-02-10", "--json").data
    assert (again["number"], again["gross"]) == ("GL-2027-0002", first["gross"])
    last = bizkit("invoice", "issue", job, "--final", "--on", "2027-06-10", "--json").data
    money = bizkit("job", "money", job, "--json").data
    assert (money["left_to_invoice"], money["credited"]) == ("0.00", first["net"])
    assert Decimal(last["net"]) + Decimal(again["net"]) == Decimal(money["quoted"])


def test_a_credit_after_payment_says_what_to_pay_back(bizkit, billed):
    bizkit("invoice", "paid", billed, "--on", "2027-05-05")
    done = credit(bizkit, billed, "--amount", "100").data
    assert (done["balance"], done["state"], done["to_refund"]) == ("-120.00", "overpaid", "120.00")
    back = bizkit("payment", "refund", billed, "--on", "2027-05-12", "--json").data
    assert (back["amount"], back["parts"][0]["state"]) == ("-120.00", "paid")
    assert "is not overpaid" in bizkit("payment", "refund", billed, "--on", "2027-05-12").err
    more = bizkit("payment", "refund", billed, "40.01", "--on", "2027-05-12")
    assert "more than the GBP 40.00 that was paid" in more.err


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["GL-2027-0009", "--reason", "x"], 2, "Did you mean GL-2027-0001?"),
        (["GL-2027-0001", "--reason", " "], 2, "a reason for the credit"),
        (["GL-2027-0001", "--reason", "x", "--amount", "1", "--line", "1"], 2, "either --amount or --line"),
        (["GL-2027-0001", "--reason", "x", "--amount", "0"], 2, "above zero"),
        (["GL-2027-0001", "--reason", "x", "--amount", "1.005"], 2, "whole minor units"),
        (["GL-2027-0001", "--reason", "x", "--on", "2027-05-01"], 1, "cannot be credited on 2027-05-01"),
    ],
)
def test_wrong_credits_are_refused_in_one_line_and_take_no_number(bizkit, billed, arguments, code, said):
    done = bizkit("invoice", "credit", *arguments, *(() if "--on" in arguments else ("--on", "2027-05-10")))
    assert done.code == code
    assert said in done.err
    assert len(done.err.splitlines()) == 1
    assert credit(bizkit, billed).data["number"] == "GLC-2027-0001"


def test_what_was_credited_is_credited_and_not_paid(bizkit, job):
    """Part credited is open, wholly credited is credited, and only money makes an invoice paid."""
    first = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data

    def state():
        (row,) = bizkit("invoice", "list", job, "--json", "--on", "2027-03-31").data
        assert row == {**row, "state": bizkit("invoice", "show", row["number"], "--json").data["state"]}
        return row["state"], row["credited"], row["paid"], row["balance"]

    net, gross = Decimal(first["net"]), Decimal(first["gross"])
    credit(bizkit, first["number"], "--amount", "100", on="2027-02-09")
    assert state() == ("open", "120.00", "0.00", str(gross - 120))
    bizkit("invoice", "paid", first["number"], "50", "--on", "2027-02-10")
    assert state() == ("part paid", "120.00", "50.00", str(gross - 170))
    credit(bizkit, first["number"], on="2027-02-11")
    assert state() == ("overpaid", str(gross), "50.00", "-50.00")
    bizkit("payment", "refund", first["number"], "--on", "2027-02-12")
    assert state() == ("credited", str(gross), "0.00", "0.00")
    refused = bizkit("late", "remind", first["number"], "--on", "2027-05-20")
    assert (refused.code, "is credited: there is nothing to remind of" in refused.err) == (1, True)
    # Credit notes are taken off the sums that the job and the list show.
    assert Decimal(bizkit("job", "list", "--json").data[0]["invoiced"]) == 0
    again = bizkit("invoice", "issue", job, "--on", "2027-02-13", "--json").data
    (row,) = bizkit("job", "list", "--json").data
    assert (Decimal(row["invoiced"]), Decimal(row["owed"])) == (net, Decimal(again["gross"]))
    listed = bizkit("invoice", "list", job).out
    assert "CREDITED" in listed.splitlines()[0]
    assert "bizkit invoice list --credits" in listed
    papers = [line for line in bizkit("job", "money", job).out.splitlines() if "GLC-2027-" in line]
    assert [line.split("GBP ")[1] for line in papers] == ["-120.00", f"-{gross - 120:,}"]


def test_a_deposit_that_was_credited_and_paid_back_is_credited(bizkit, job):
    number = bizkit(
        "invoice", "deposit", job, "300", "--received", "2027-02-08", "--on", "2027-02-08", "--json"
    ).data["number"]

    def state():
        (row,) = bizkit("invoice", "list", job, "--json", "--on", "2027-03-31").data
        return row["state"]

    assert state() == "paid"
    credit(bizkit, number, on="2027-02-09")
    assert state() == "overpaid"
    assert bizkit("payment", "refund", number, "--on", "2027-02-10").code == 0
    assert state() == "credited"


def test_a_credit_note_is_shown_by_its_number(bizkit, billed):
    credit(bizkit, billed, "--amount", "44.44")
    data = bizkit("invoice", "show", "GLC-2027-0001", "--json").data
    assert (data["kind"], data["credits"], data["gross"], data["reason"]) == (
        "credit_note", billed, "53.33", "not needed",
    )  # fmt: skip
    shown = bizkit("invoice", "show", "GLC-2027-0001").out
    assert f"credit note of {billed}: not needed" in shown
    assert "Total credited  GBP 53.33" in shown
    assert "GLC-2027-0001.pdf" in shown
    assert bizkit("invoice", "show", billed, "--json").data["kind"] == "invoice"
    for command in (("invoice", "paid", "GLC-2027-0001"), ("invoice", "credit", "GLC-2027-0001", "--reason", "x")):
        refused = bizkit(*command, "--on", "2027-05-12")
        assert (refused.code, refused.err.strip()) == (
            2, f"bizkit: wanted an invoice, got GLC-2027-0001, the credit note of {billed}",
        )  # fmt: skip


def test_what_was_billed_and_credited_is_in_no_sum(bizkit, job):
    """An invoice and its credit note leave every total where it was before them."""
    span = ("--from", "2027-01-01", "--to", "2027-12-31")
    on = ("--on", "2027-03-31", "--json")

    def sums():
        reports = {
            name: bizkit("report", name, *(span if name in ("income", "margin", "tax") else ()), *on).data
            for name in ("debtors", "cash", "income", "margin", "tax", "quarter")
        }
        status = bizkit("status", *on).data
        listed = bizkit("job", "list", *on).data[0]
        money = bizkit("job", "money", job, "--json").data
        return {
            "figures": {name: [one for one in data["figures"] if one["kind"] == "money"]
                        for name, data in reports.items()},
            "tax": [Decimal(row["tax"]) for row in reports["tax"]["rows"]],
            "owed": (status["owed"], status["owed_totals"]),
            "job": [Decimal(listed[name]) for name in ("invoiced", "owed")],
            "money": [Decimal(money[name]) for name in ("left_to_invoice", "invoiced_gross", "left_to_pay")],
        }  # fmt: skip

    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    credit(bizkit, "GL-2027-0001", on="2027-02-08")
    before = sums()
    bizkit("invoice", "issue", job, "--on", "2027-02-09")
    assert sums() != before
    credit(bizkit, "GL-2027-0002", on="2027-02-09")
    assert sums() == before
    account = bizkit("statement", "skerrow-islands-tourism", "--on", "2027-03-31", "--json").data
    assert Decimal(account["document"]["closing"]) == 0
