"""Deposits, stages, final invoices, pro formas: everything adds up, and the tax point is the law's."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pypdf
import pytest


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def money(bizkit, job):
    """The sums of the job, checked to add up however they were come by."""

    def look():
        data = bizkit("job", "money", job, "--json").data
        sums = {name: Decimal(data[name]) for name in data if name not in _NOT_SUMS}
        assert sums["quoted"] + sums["changes"] == sums["agreed"]
        assert sums["agreed"] + sums["late"] - sums["invoiced"] + sums["credited"] == sums["left_to_invoice"]
        assert sums["invoiced_gross"] - sums["paid"] == sums["left_to_pay"]
        bills = [one for one in data["papers"] if one["kind"] == "invoice"]
        notes = [one for one in data["papers"] if one["kind"] == "credit_note"]
        assert sum(Decimal(one["net"]) for one in bills) == sums["invoiced"]
        assert sum(Decimal(one["net"]) for one in notes) == sums["credited"]
        assert sum(Decimal(one["left"]) for one in bills) == sums["left_to_pay"]
        return sums

    return look


_NOT_SUMS = {"job", "title", "quote", "currency", "agreed_changes", "late_payments", "papers"}


def test_a_deposit_before_the_work_makes_its_own_tax_point_and_later_invoices_take_it_off(bizkit, job, money):
    quoted = money()["quoted"]
    done = bizkit(
        "invoice", "deposit", job, "1200", "--received", "2027-02-10", "--reference", "kelp deposit", "--on",
        "2027-02-16", "--json",
    ).data  # fmt: skip
    # HMRC VATTOS5105: a deposit received before the work makes a tax point on the day received.
    # Archived HMRC "Calculating VAT": of a gross of 1,200 one sixth is tax.
    assert (done["tax_point"], done["net"], done["tax"], done["due"]) == ("2027-02-10", "1000.00", "200.00", "0.00")
    assert done["document"]["prepaid"] == "1200.00"
    assert "10 February 2027" in text_of(done["file"])

    stage = bizkit("invoice", "issue", job, "--on", "2027-02-20", "--json").data
    assert Decimal(stage["net"]) == (quoted / 2).quantize(Decimal("0.01"), "ROUND_HALF_UP") - 1000
    assert stage["document"]["deducts"] == [{"number": "GL-2027-0001", "net": "1000.00"}]
    assert stage["tax_point"] == "2027-02-20"

    last = bizkit("invoice", "issue", job, "--final", "--on", "2027-06-20", "--json").data
    sums = money()
    assert sums["left_to_invoice"] == 0
    assert Decimal(done["net"]) + Decimal(stage["net"]) + Decimal(last["net"]) == quoted
    text = text_of(last["file"])
    assert "Less invoice GL-2027-0001 of 16 February 2027" in text
    assert "Less invoice GL-2027-0002 of 20 February 2027" in text
    assert bizkit("verify").code == 0
    again = bizkit("invoice", "issue", job, "--final", "--on", "2027-06-21")
    assert (again.code, "everything is invoiced" in again.err) == (1, True)
    assert "every stage is invoiced" in bizkit("invoice", "issue", job, "--on", "2027-06-21").err


@pytest.mark.parametrize(
    ("came", "net", "tax"),
    # One sixth of 10.05 is 1.675, of 33.33 is 5.555; 20 % of what is left would be 1.67 and 5.55.
    [("10.05", "8.37", "1.68"), ("33.33", "27.77", "5.56")],
)
def test_a_deposit_comes_to_what_was_paid_at_every_door(bizkit, job, came, net, tax):
    done = bizkit("invoice", "deposit", job, came, "--received", "2027-02-10", "--on", "2027-02-10", "--json").data
    document = done["document"]
    assert (document["net"], document["tax"], document["gross"]) == (net, tax, came)
    assert (document["prepaid"], document["rounding"], document["due"]) == (came, "0.00", "0.00")
    assert f"£{came}" in text_of(done["file"])
    assert "Rounded by £0.01" in text_of(done["file"])
    (row,) = bizkit("invoice", "list", "--json").data
    (paid,) = bizkit("payment", "list", "--json").data
    money = bizkit("job", "money", job, "--json").data
    assert {row["gross"], paid["amount"], money["paid"], money["invoiced_gross"]} == {came}
    account = bizkit("statement", "skerrow-islands-tourism", "--on", "2027-02-28", "--json")
    assert came in account.out
    assert f"{Decimal(came) - Decimal('0.01')}" not in account.out
    assert bizkit("invoice", "credit", done["number"], "--reason", "x", "--on", "2027-02-11").code == 0
    (note,) = bizkit("invoice", "show", done["number"], "--json").data["credit_notes"]
    assert note["gross"] == came


def test_deposits_are_refused_where_they_cannot_be(bizkit, job):
    for arguments, said in (
        (["9999999", "--received", "2027-02-10"], "left to invoice"),
        (["-5", "--received", "2027-02-10"], "above zero"),
        (["100", "--received", "2027-02-20"], "--received"),
        (["100", "--received", "2027-02-01"], "was opened on 2027-02-08"),
        (["1.234,56", "--received", "2027-02-10"], "AMOUNT"),
    ):
        done = bizkit("invoice", "deposit", "--on", "2027-02-12", *arguments[1:], "--", job, arguments[0])
        assert done.code in (1, 2)
        assert said in done.err
        assert len(done.err.splitlines()) == 1
    assert bizkit("invoice", "list", "--json").data == []


def test_a_deposit_of_before_the_client_moved_home_is_credited_and_its_money_set_against_the_rest(
    bizkit, studio, change
):
    """Outside the scope of the tax then, taxed now: no invoice can hold both (EN 16931 BR-O-11 to BR-O-14)."""
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    change(client, 'country = "GB"', 'country = "US"\nbusiness_evidence = "Register of Maine, 2027-01-10"')
    for command, day in (("draft", "2027-02-01"), ("send", "2027-02-01"), ("accept", "2027-02-08")):
        done = bizkit("quote", command, "follow-the-kelp", "--on", day)
        assert done.code == 0, done.err
    deposit = bizkit(
        "invoice", "deposit", "follow-the-kelp", "1000", "--received", "2027-02-10", "--on", "2027-02-10", "--json"
    )
    assert [one["category"] for one in deposit.data["document"]["taxes"]] == ["O"]
    change(client, 'country = "US"', 'country = "GB"')
    assert bizkit("job", "client", "follow-the-kelp", "--on", "2027-02-11").code == 0
    issue = ("invoice", "issue", "follow-the-kelp", "--on", "2027-02-12", "--reason", "agreed", "--add-tax")
    refused = bizkit(*issue)
    assert (refused.code, refused.out) == (1, "")
    number = deposit.data["number"]
    for way_out in (f"bizkit invoice credit {number} --reason WHY", f"bizkit payment transfer {number} NEW"):
        assert way_out in refused.err
    assert bizkit("invoice", "credit", number, "--reason", "moved home", "--on", "2027-02-12").code == 0
    bill = bizkit(*issue, "--json").data
    assert [one["category"] for one in bill["document"]["taxes"]] == ["S"]
    assert bizkit("payment", "transfer", number, bill["number"], "--on", "2027-02-12").code == 0
    left = {one["number"]: one["balance"] for one in bizkit("invoice", "list", "--on", "2027-02-13", "--json").data}
    assert left == {number: "0.00", bill["number"]: str(Decimal(bill["gross"]) - 1000)}


@pytest.mark.parametrize(
    ("invoiced", "tax_point"),
    [
        # VAT Act 1994 s. 6(5): an invoice up to 14 days after the work moves the tax point to its own day.
        ("2027-06-16", "2027-06-16"),
        ("2027-06-17", "2027-06-02"),
    ],
)
def test_an_invoice_within_fourteen_days_of_delivery_has_its_own_tax_point(
    bizkit, job, tmp_path, invoiced, tax_point
):
    for row in bizkit("deliverable", "list", job, "--json").data:
        file = tmp_path / row["key"]
        file.write_text(row["key"], encoding="utf-8")
        bizkit("deliverable", "send", job, row["key"], file, "--reason", "a stand-in", "--on", "2027-06-01")
        bizkit("deliverable", "approve", job, row["key"], "--on", "2027-06-02")
    done = bizkit("invoice", "issue", job, "--final", "--on", invoiced, "--json").data
    assert done["tax_point"] == tax_point


def test_charges_and_a_final_invoice_bill_everything_once(bizkit, job, money):
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    for what, amount in (("Second boat", "240"), ("Shorter evening", "-40")):
        bizkit(
            "charge", "add", job, "--what", what, "--amount", amount, "--reason", "agreed", "--agreed",
            "Una, by mail", "--on", "2027-05-14",
        )  # fmt: skip
    done = bizkit("invoice", "issue", job, "--final", "--on", "2027-06-01", "--json").data
    # Nothing is approved yet: it may be meant so, and is not to slip through.
    (look,) = [one for one in done["warnings"] if "bills all that is left" in one]
    assert "not every deliverable is approved by 2027-06-01" in look
    sums = money()
    assert (sums["changes"], sums["left_to_invoice"]) == (Decimal("200.00"), 0)
    assert sum(Decimal(part) for part in done["document"]["income"].values()) == Decimal(done["net"])
    assert "no charge is open" in bizkit("invoice", "issue", job, "--charges", "--on", "2027-06-02").err
    whole = bizkit("invoice", "issue", job, "--final", "--charges", "--on", "2027-06-02")
    assert (whole.code, "either --stage or --charges or --final" in whole.err) == (2, True)


def test_a_pro_forma_takes_no_number_and_is_no_invoice(bizkit, job):
    first = bizkit("invoice", "proforma", job, "--on", "2027-02-08", "--json").data
    second = bizkit("invoice", "proforma", job, "--stage", 2, "--on", "2027-02-08", "--json").data
    assert [first["number"], second["number"]] == [f"PF-{job}-1", f"PF-{job}-2"]
    text = text_of(first["file"])
    assert "This is not a tax invoice" in text
    assert f"PF-{job}-1" in text
    assert bizkit("invoice", "list", "--json").data == []
    issued = bizkit("invoice", "issue", job, "--on", "2027-02-09", "--json").data
    assert (issued["number"], issued["gross"]) == ("GL-2027-0001", first["gross"])
    refused = bizkit("invoice", "proforma", job, "--stage", 1, "--on", "2027-02-10")
    assert (refused.code, "stage 1 is invoiced already" in refused.err) == (1, True)
    Path(first["file"]).unlink()
    assert bizkit("verify").code == 1
    assert f"papers/PF-{job}-1.pdf" in bizkit("papers", "rebuild", "--json").data["made"]
    assert bizkit("verify").code == 0


def test_a_simplified_invoice_goes_up_to_its_limit(bizkit, job):
    # SI 1995/2518 reg 16A: allowed at 250.00 with tax, not at 250.01 (here the next gross, 250.02 with 41.67 of tax).
    bizkit(
        "charge", "add", job, "--what", "Rushes copy", "--amount", "208.35", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-05-01",
    )  # fmt: skip
    refused = bizkit("invoice", "issue", job, "--charges", "--simplified", "--on", "2027-05-02")
    assert refused.code == 1
    assert "goes up to GBP 250.00, this one is GBP 250.02" in refused.err
    bizkit("charge", "waive", 1, "--reason", "again", "--on", "2027-05-02")
    bizkit(
        "charge", "add", job, "--what", "Rushes copy", "--amount", "208.33", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-05-02",
    )  # fmt: skip
    done = bizkit("invoice", "issue", job, "--charges", "--simplified", "--on", "2027-05-02", "--json").data
    assert (done["gross"], done["document"]["simplified"], done["number"]) == ("250.00", True, "GL-2027-0001")


def test_an_invoice_that_lacks_a_required_field_is_refused_and_takes_no_number(bizkit, job, studio, change):
    change(
        studio / "clients" / "skerrow-islands-tourism.toml", 'address = ["The Old Net Store", "1 Harbour Street"]', ""
    )
    change(studio / "clients" / "skerrow-islands-tourism.toml", 'city = "Skerrow"', "")
    change(studio / "clients" / "skerrow-islands-tourism.toml", 'postcode = "ZZ2 2ZZ"', "")
    bizkit("job", "client", job, "--on", "2027-02-08")
    refused = bizkit("invoice", "issue", job, "--on", "2027-02-08")
    assert refused.code == 1
    # SI 1995/2518 reg 14(1)(e): the name and address of the customer.
    assert "client.address (the customer's address; reg 14(1)(e)" in refused.err
    assert len(refused.err.splitlines()) == 1
    assert bizkit("invoice", "list", "--json").data == []


@pytest.mark.parametrize(
    ("terms", "due", "words"),
    [
        ("payment_days = 1", "2027-02-09", "1 day,"),
        ("payment_days = 0", "2027-02-08", "on receipt,"),
        # Monday 8 February 2027 and five working days: Monday 15 February.
        ('payment_days = 5\npayment_counted_in = "working_days"', "2027-02-15", "5 working days,"),
        (
            'payment_days = 30\npayment_counted_in = "days_after_month_end"',
            "2027-03-30",
            "30 days after the month end,",
        ),
        ('payment_days = 0\npayment_counted_in = "days_after_month_end"', "2027-02-28", "end of month,"),
    ],
)
def test_the_due_day_is_counted_as_the_client_has_it(bizkit, job, studio, change, terms, due, words):
    change(studio / "clients" / "skerrow-islands-tourism.toml", "payment_days = 30", terms)
    # What the quote agreed stays; so the client's terms are those of a new revision of it.
    assert bizkit("job", "client", job, "--on", "2027-02-08", "--json").data["changes"] == []
    assert bizkit("quote", "reopen", job, "--reason", "other terms", "--on", "2027-02-08").code == 0
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, job, "--on", "2027-02-08").code == 0
    done = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    assert done["due_on"] == due
    assert words in text_of(done["file"])


def test_a_german_invoice_says_everything_in_german(bizkit, tmp_path, monkeypatch):
    bizkit("init", tmp_path / "studio", "--starter", "eur-de", "--practice")
    monkeypatch.chdir(tmp_path / "studio")
    key = bizkit("quote", "draft", "seegras-im-bodden", "--on", "2027-01-26", "--json").data["key"]
    bizkit("quote", "send", key, "--on", "2027-01-26")
    bizkit("quote", "accept", key, "--on", "2027-01-27")
    first = bizkit("invoice", "deposit", key, "500", "--received", "2027-01-28", "--on", "2027-01-29", "--json").data
    assert "Anzahlung, eingegangen am 28. Januar 2027" in text_of(first["file"])
    assert "Bezahlt; vielen Dank" in text_of(first["file"])
    second = bizkit("invoice", "issue", key, "--on", "2027-02-01", "--json").data
    text = text_of(second["file"])
    assert "Abzüglich Anzahlung, Rechnung GLF-2027-0001 vom 29. Januar 2027" in text
    assert "14 Tage" in text
    mail = bizkit("send", second["number"], "--on", "2027-02-01", "--json").data
    assert mail["text"].startswith("Guten Tag Frauke Hansen,")


def test_a_cancelled_jobs_fee_stands_in_place_of_the_quote_and_adds_up(bizkit, job, money):
    stage = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    bizkit(
        "charge", "add", job, "--what", "Recce", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-02-09",
    )  # fmt: skip
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-02-10")
    bizkit("quote", "cancel", job, "--by", "Una Flett", "--reason", "no season", "--on", "2027-05-05")
    fee = Decimal(bizkit("charge", "list", job, "--json").data["open"][0]["net"])
    final = bizkit("invoice", "issue", job, "--final", "--on", "2027-05-06")
    assert f"bizkit invoice settle {job}" in final.err
    over = Decimal(stage["net"]) - fee
    refused = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-06")
    assert f"credit GBP {over} instead" in refused.err
    credit = ("invoice", "credit", stage["number"], "--amount", over, "--reason", "cancelled", "--on", "2027-05-06")
    note = bizkit(*credit, "--json").data
    # The credit settles the fee: what stays of the stage bills it, and nothing waits to be invoiced any more.
    assert note["settles"] is True
    assert "no charge is open" in bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-07").err
    assert {row["invoice"] for row in bizkit("charge", "list", job, "--json").data["charges"]} == {
        "GL-2027-0002", note["number"],
    }  # fmt: skip
    assert bizkit("status", "--on", "2027-05-07", "--json").data["to_invoice"] == []
    sums = money()
    assert (sums["agreed"], sums["left_to_invoice"]) == (fee + 100, 0)
    # What is charged later is billed for itself: the fee took the stage off once.
    bizkit(
        "charge", "add", job, "--what", "Last", "--amount", "10", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-05-08",
    )  # fmt: skip
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-08", "--json").data["net"] == "10.00"
    assert money()["left_to_invoice"] == 0
    assert bizkit("verify").code == 0


def test_a_deposit_is_money_that_came_in(bizkit, job):
    done = bizkit("invoice", "deposit", job, "1200", "--received", "2027-02-10", "--on", "2027-02-11")
    assert ", paid on 2027-02-10" in done.out
    number = done.out.partition(":")[0]
    (row,) = bizkit("payment", "list", "--json").data
    assert (row["id"], row["on"], row["amount"], row["parts"][0]["number"]) == (None, "2027-02-10", "1200.00", number)
    assert "to pay by" not in bizkit("invoice", "show", number).out
    assert "deposit  2027-02-10" in bizkit("payment", "list", "--invoice", number).out
