"""Money in: several invoices at once, too much, before the invoice, the wrong currency; receipts and statements."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest

CLIENT = "skerrow-islands-tourism"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def bills(bizkit, job):
    """Three invoices of 120.00, 240.00 and 360.00, issued 1, 2 and 3 May and due thirty days later."""
    for day, amount in ((1, "100"), (2, "200"), (3, "300")):
        on = f"2027-05-0{day}"
        bizkit(
            "charge", "add", job, "--what", f"Extra {day}", "--amount", amount, "--reason", "asked", "--agreed",
            "Una, by mail", "--on", on,
        )  # fmt: skip
        assert bizkit("invoice", "issue", job, "--charges", "--on", on).code == 0
    return ["GL-2027-0001", "GL-2027-0002", "GL-2027-0003"]


def states(bizkit):
    return [(row["state"], row["balance"]) for row in bizkit("invoice", "list", "--json", "--on", "2027-05-20").data]


def test_one_sum_pays_the_longest_due_first(bizkit, bills):
    done = bizkit("payment", "add", "400", "--client", CLIENT, "--fee", "4", "--on", "2027-05-20", "--json").data
    assert [(part["number"], part["amount"], part["fee"]) for part in done["parts"]] == [
        ("GL-2027-0001", "120.00", "1.20"),
        ("GL-2027-0002", "240.00", "2.40"),
        ("GL-2027-0003", "40.00", "0.40"),
    ]
    assert states(bizkit) == [("paid", "0.00"), ("paid", "0.00"), ("part paid", "320.00")]
    (row,) = bizkit("payment", "list", "--json").data
    assert (row["id"], row["amount"], row["fee"], len(row["parts"])) == (1, "400.00", "4.00", 3)
    assert bizkit("payment", "list", "--client", "nobody", "--json").data == []
    assert len(bizkit("payment", "list", "--invoice", bills[1], "--json").data) == 1


def test_parts_can_be_said_and_must_add_up(bizkit, bills):
    named = ["--invoice", f"{bills[2]}=300", "--invoice", f"{bills[0]}=100"]
    assert bizkit("payment", "add", "400", *named, "--on", "2027-05-20").code == 0
    assert states(bizkit) == [("part paid", "20.00"), ("open", "240.00"), ("part paid", "60.00")]
    for arguments, code, said in (
        (["50", "--invoice", f"{bills[2]}=30", "--invoice", f"{bills[0]}=10"], 2, "parts that add up to GBP 50.00"),
        (["50", "--invoice", f"{bills[2]}=30", "--invoice", bills[0]], 2, "an amount for each invoice, or for none"),
        (["900", "--invoice", bills[1]], 1, "GBP 660.00 more than is left of GL-2027-0002"),
        (["50", "--invoice", bills[1], "--on", "2027-05-01"], 1, "the payment came on 2027-05-01"),
        (["50", "--invoice", bills[1], "--currency", "EUR"], 1, "is in GBP, the payment in EUR"),
        (["50", "--invoice", "GL-2027-0004"], 2, "Did you mean GL-2027-000"),
        (["50", "--client", "skerrow"], 2, "skerrow-islands-tourism"),
        (["50"], 2, "--client or --invoice"),
        (["0", "--invoice", bills[1]], 2, "above zero"),
        (["12,5", "--invoice", bills[1]], 2, "A decimal sign is a point here"),
        (["50", "--invoice", bills[1], "--fee", "-1"], 2, "fee"),
        (["50", "--invoice", bills[1], "--account-currency", "EUR"], 2, "--account"),
    ):
        more = [] if "--on" in arguments else ["--on", "2027-05-20"]
        done = bizkit("payment", "add", *arguments, *more)
        assert (done.code, len(done.err.splitlines())) == (code, 1), (arguments, done.err)
        assert said in done.err
    assert len(bizkit("payment", "list", "--json").data) == 1


def test_too_much_is_kept_when_accepted_and_paid_back(bizkit, bills):
    done = bizkit(
        "payment", "add", "150", "--invoice", bills[0], "--accept-over", "--on", "2027-05-20", "--json"
    ).data
    assert (done["parts"][0]["state"], done["parts"][0]["balance"]) == ("overpaid", "-30.00")
    assert bizkit("payment", "refund", bills[0], "--on", "2027-05-21", "--json").data["amount"] == "-30.00"
    assert states(bizkit)[0] == ("paid", "0.00")


def test_a_receipt_lists_what_a_sum_paid(bizkit, bills):
    bizkit("payment", "add", "360", "--client", CLIENT, "--reference", "BACS 77", "--on", "2027-05-20")
    done = bizkit("payment", "receipt", 1, "--on", "2027-05-21", "--json").data
    assert (done["amount"], done["left"]) == ("360.00", "360.00")
    text = text_of(done["file"])
    for said in ("Receipt R-2027-0001", "BACS 77", "GL-2027-0001", "GL-2027-0002", "£360.00", "It is no invoice"):
        assert said in text
    assert "wanted a known payment, got 9" in bizkit("payment", "receipt", 9, "--on", "2027-05-21").err
    assert "cannot be dated 2027-05-19" in bizkit("payment", "receipt", 1, "--on", "2027-05-19").err


def test_a_statement_runs_from_opening_to_closing(bizkit, bills):
    bizkit("payment", "add", "120", "--invoice", bills[0], "--on", "2027-05-10")
    bizkit("invoice", "credit", bills[1], "--reason", "agreed", "--amount", "50", "--on", "2027-05-12")
    done = bizkit("statement", CLIENT, "--from", "2027-05-02", "--on", "2027-06-02", "--json").data
    assert done["opening"] == "120.00"
    assert [(one["what"], one["charged"], one["paid"], one["balance"]) for one in done["entries"]] == [
        ("invoice", "240.00", "", "360.00"),
        ("invoice", "360.00", "", "720.00"),
        ("payment", "", "120.00", "600.00"),
        ("credit_note", "", "60.00", "540.00"),
    ]
    # due 1 June: one day late on 2 June is the second invoice (2 May + 30 days)... the third is due on 2 June itself
    assert (done["closing"], done["overdue"]) == ("540.00", "180.00")
    assert "1-30 days" in text_of(done["file"])
    again = bizkit("statement", CLIENT, "--on", "2027-06-02", "--json").data
    assert Path(again["file"]).name == f"statement-{CLIENT}-2027-06-02-2.pdf"
    assert "wanted a known client with invoices" in bizkit("statement", "nobody", "--on", "2027-06-02").err
    assert bizkit("verify").code == 0


def test_a_receipt_says_as_of_which_day_the_rest_is_open_and_counts_nothing_later(bizkit, bills):
    bizkit("payment", "add", "120", "--client", CLIENT, "--on", "2027-05-10")
    bizkit("payment", "add", "240", "--client", CLIENT, "--on", "2027-05-20")
    done = bizkit("payment", "receipt", 1, "--on", "2027-05-12", "--json").data
    assert (done["amount"], done["left"]) == ("120.00", "600.00")
    said = text_of(done["file"])
    assert "Still open on 12 May 2027" in said
    assert "£600.00" in said
    assert bizkit("payment", "receipt", 2, "--on", "2027-05-21", "--json").data["left"] == "360.00"


def test_a_payment_has_one_receipt(bizkit, bills):
    bizkit("payment", "add", "120", "--invoice", bills[0], "--on", "2027-05-20")
    name = bizkit("payment", "receipt", 1, "--on", "2027-05-21", "--json").data["name"]
    again = bizkit("payment", "receipt", 1, "--on", "2027-05-22")
    assert (again.code, f"payment 1 has its receipt: {name}" in again.err) == (1, True)
    bizkit("payment", "add", "10", "--invoice", bills[1], "--on", "2027-05-20")
    assert bizkit("payment", "receipt", 2, "--on", "2027-05-22", "--json").data["name"] == "R-2027-0002"


def test_money_that_went_back_is_not_typed_as_received(bizkit, bills):
    on = ("--on", "2027-05-20")
    assert bizkit("invoice", "paid", bills[0], *on).code == 0
    for command in (("invoice", "paid", bills[0]), ("payment", "add", "--invoice", bills[0])):
        refused = bizkit(*command, *on, "--", "-5")
        assert (refused.code, refused.out) == (2, "")
        assert "AMOUNT: wanted an amount above zero, got GBP -5.00" in refused.err
        assert f"Money paid back is recorded with bizkit payment refund {bills[0]} 5.00" in refused.err
    assert bizkit("invoice", "show", bills[0], "--json").data["state"] == "paid"
    assert bizkit("payment", "refund", bills[0], "5.00", "--owed-again", *on).code == 0
    # What reached the account has the sign of what came.
    account = ("--account-currency", "EUR", "--account")
    for amount in ("-5", "0"):
        refused = bizkit("payment", "add", "10", "--invoice", bills[1], *on, *account, amount)
        assert (refused.code, "--account: wanted what reached the account, above zero" in refused.err) == (2, True)


def test_more_than_is_left_names_the_way_to_take_it(bizkit, bills):
    paid = ("invoice", "paid", bills[0], "99999", "--on", "2027-05-20")
    refused = bizkit(*paid)
    assert refused.code == 1
    assert "take all of it with --accept-over" in refused.err
    assert "bizkit payment add" in refused.err
    assert bizkit(*paid, "--accept-over").code == 0
