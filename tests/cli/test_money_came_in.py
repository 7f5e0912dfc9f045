"""Money that came in is the same at every door: lists, statements, receipts, the bundle and the job; deposits too."""

from __future__ import annotations

import csv
import io
import random
import zipfile
from decimal import Decimal

import pytest

CLIENT = "skerrow-islands-tourism"


def text_of(path):
    from pypdf import PdfReader

    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def listed(bizkit):
    return [Decimal(row["amount"]) for row in bizkit("payment", "list", "--json").data]


def bundled(bizkit, tmp_path):
    file = tmp_path / "bundle.zip"
    done = bizkit(
        "report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out", file, "--on", "2027-12-31"
    )
    assert done.code == 0, done.err
    with zipfile.ZipFile(file) as bundle:
        rows = list(csv.DictReader(io.StringIO(bundle.read("payments.csv").decode("utf-8-sig"))))
        sums = list(csv.DictReader(io.StringIO(bundle.read("sums.csv").decode("utf-8-sig"))))
    (whole,) = [row["sum"] for row in sums if (row["table"], row["column"]) == ("payments", "amount")]
    assert sum(Decimal(row["amount"]) for row in rows) == Decimal(whole)
    return rows


def shown(bizkit, on="2027-12-30"):
    done = bizkit("statement", CLIENT, "--on", on, "--json")
    assert done.code == 0, done.err
    return done.data


def test_a_deposit_is_on_the_statement_in_the_bundle_and_has_a_receipt(bizkit, job, tmp_path):
    done = bizkit(
        "invoice", "deposit", job, "5000", "--received", "2027-02-10", "--reference", "kelp", "--on", "2027-02-12",
        "--json",
    )  # fmt: skip
    number = done.data["number"]
    data = shown(bizkit)
    assert [(row["what"], row["date"], row["charged"], row["paid"], row["due_on"]) for row in data["entries"]] == [
        ("payment", "2027-02-10", "", "5000.00", ""),
        ("invoice", "2027-02-12", "5000.00", "", ""),
    ]
    assert data["closing"] == "0.00"
    (row,) = bundled(bizkit, tmp_path)
    assert (row["received_on"], row["invoice"], row["amount"], row["reference"]) == (
        "2027-02-10", number, "5000.00", "kelp",
    )  # fmt: skip
    paper = bizkit("payment", "receipt", number, "--on", "2027-02-12", "--json").data
    assert (paper["amount"], paper["left"], paper["document"]["received_on"]) == ("5000.00", "0.00", "2027-02-10")
    assert paper["document"]["paid"] == [
        {"number": number, "title": "Follow the Kelp", "amount": "5000.00", "left": "0.00"}
    ]
    twice = bizkit("payment", "receipt", number, "--on", "2027-02-13")
    assert (twice.code, "has its receipt: R-2027-0001" in twice.err) == (1, True)
    assert "wanted a known payment" in bizkit("payment", "receipt", "GL-2027-0009", "--on", "2027-02-13").err


@pytest.mark.parametrize("seed", range(5))
def test_whatever_came_in_is_the_same_at_every_door(bizkit, job, tmp_path, seed):
    chance, day = random.Random(seed), 10
    for _ in range(chance.randint(4, 9)):
        day += 1
        on = ("--on", f"2027-02-{day}")
        rows = bizkit("invoice", "list", "--json", *on).data
        act = chance.choice(["deposit", "stage", "paid", "paid", "credit", "refund"])
        if act == "deposit":
            bizkit("invoice", "deposit", job, chance.choice(["100", "0.01", "999.99"]), "--received", on[1], *on)
        elif act == "stage":
            bizkit("invoice", "issue", job, *on)
        elif rows and act == "paid":
            bizkit("payment", "add", chance.choice(["10", "5000.01"]), "--invoice", chance.choice(rows)["number"],
                   "--accept-over", *on)  # fmt: skip
        elif rows and act == "credit":
            bizkit("invoice", "credit", chance.choice(rows)["number"], "--amount", "50", "--reason", "x",
                   *chance.choice([(), ("--lower-price",)]), *on)  # fmt: skip
        elif rows:
            bizkit("payment", "refund", chance.choice(rows)["number"], *on)
    came = sum(listed(bizkit))
    assert Decimal(bizkit("job", "money", job, "--json").data["paid"]) == came
    if not bizkit("invoice", "list", "--json", "--on", "2027-03-01").data:
        return
    assert sum(Decimal(row["amount"]) for row in bundled(bizkit, tmp_path)) == came if came else True
    data = shown(bizkit)
    paid = [row for row in data["entries"] if row["what"] in ("payment", "refund")]
    assert sum(Decimal(row["paid"] or 0) - Decimal(row["charged"] or 0) for row in paid) == came
    assert Decimal(data["closing"]) == Decimal(bizkit("job", "money", job, "--json").data["left_to_pay"])
    status = bizkit("status", "--on", "2027-12-30", "--json").data
    owed = sum(Decimal(row["owed"]) for row in status["owed_totals"])
    back = sum(Decimal(row["sum"]) for row in status["to_pay_back"])
    aged = {row["label"]: Decimal(row["amount"]) for row in data["aged"]}
    assert -aged.pop("To pay back", Decimal(0)) == back
    assert sum(aged.values()) == owed
    report = bizkit("report", "debtors", "--on", "2027-12-30", "--json").data
    figures = {one["key"]: Decimal(one["value"]) for one in report["figures"]}
    assert figures.get("owed", Decimal(0)) == owed
    assert figures.get("to_pay_back", Decimal(0)) == back
    assert figures.get("overdue", Decimal(0)) == Decimal(data["overdue"])


def test_what_was_overpaid_is_no_overdue_debt_and_the_receipt_says_that_it_goes_back(bizkit, bills, studio):
    bizkit("payment", "add", "200", "--invoice", bills[0], "--accept-over", "--on", "2027-05-10")
    report = bizkit("report", "debtors", "--on", "2027-08-30", "--json").data
    (row,) = report["rows"]
    assert (row["days_61_90"], row["to_pay_back"], row["total"]) == ("240.00", "-80.00", "160.00")
    assert "to pay back: GBP 80.00" in bizkit("report", "debtors", "--on", "2027-08-30").out
    paper = bizkit("payment", "receipt", "1", "--on", "2027-05-10", "--json").data
    assert (paper["left"], paper["to_pay_back"]) == ("160.00", "0.00")
    bizkit("invoice", "paid", bills[1], "--on", "2027-05-11")
    second = bizkit("payment", "receipt", "2", "--on", "2027-05-11", "--json").data
    assert (second["left"], second["to_pay_back"]) == ("0.00", "80.00")
    assert "To be paid back" in text_of(studio / "papers" / "R-2027-0002.pdf")
    assert "£80.00 to be paid back" in text_of(studio / "papers" / "R-2027-0001.pdf")
