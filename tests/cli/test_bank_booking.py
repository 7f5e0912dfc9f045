"""Booking what the bank says: never on the amount alone, never the same money twice, taken back whole."""

from __future__ import annotations

import pytest


@pytest.fixture
def movement(bizkit, tmp_path):
    """Reads a statement of this one line."""

    def read(line, *options):
        path = tmp_path / "may.csv"
        path.write_text(f"Date,From,Details,Amount\n{line}\n", encoding="utf-8")
        return bizkit("bank", "import", path, "--on", "2027-05-31", "--json", *options).data

    return read


def states(bizkit):
    return [row["state"] for row in bizkit("invoice", "list", "--json", "--on", "2027-05-31").data]


def sums(bizkit):
    """What was recorded of money by hand or from a movement; a deposit has its invoice for that."""
    return [row["amount"] for row in bizkit("payment", "list", "--json").data if row["id"] is not None]


@pytest.mark.parametrize(
    ("line", "booked"),
    [
        ("20/05/2027,BETA,thanks,120.00", False),
        ("20/05/2027,,thanks,120.00", False),
        ("20/05/2027,BETA,GL-2027-0001,120.00", True),
        ("20/05/2027,Skerrow Islands Tourism Ltd,thanks,120.00", True),
        ("20/05/2027,,Skerrow Islands Tourism thanks,120.00", True),
    ],
)
def test_yes_needs_more_than_the_amount(bizkit, bills, movement, line, booked):
    movement(line)
    done = bizkit("bank", "book", 1, "--yes", "--on", "2027-05-31")
    assert (done.code == 0) is booked
    assert states(bizkit) == [("paid" if booked else "open"), "open"]
    if not booked:
        assert "only the amount speaks for it" in done.err
        assert bizkit("bank", "book", 1, "--invoice", bills[0], "--on", "2027-05-31").code == 0


def test_a_sum_recorded_by_hand_is_offered_and_not_booked_again(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-05-18")
    (row,) = movement("20/05/2027,SKERROW ISLANDS TOURISM,GL-2027-0002,120.00")["rows"]
    assert [(one["payment"], one["invoices"]) for one in row["same"]] == [("1", [bills[0]])]
    shown = bizkit("bank", "list").out
    assert "may be payment 1 of 2027-05-18, GBP 120.00 for GL-2027-0001, recorded by hand" in shown
    for how in (("--yes",), ("--invoice", bills[1])):
        done = bizkit("bank", "book", 1, *how, "--on", "2027-05-31")
        assert (done.code, "was recorded by hand as payment 1 of 2027-05-18" in done.err) == (1, True)
    assert sums(bizkit) == ["120.00"]
    linked = bizkit("bank", "book", 1, "--payment", 1, "--on", "2027-05-31", "--json").data
    assert [one["payment"] for one in linked["is"]] == ["1"]
    assert sums(bizkit) == ["120.00"]
    assert bizkit("bank", "list", "--json").data == []
    again = movement("21/05/2027,SKERROW ISLANDS TOURISM,second,120.00")["rows"]
    assert again[0]["same"] == []
    assert "payment 1 is another movement" in bizkit("bank", "book", 2, "--payment", 1, "--on", "2027-05-31").err


def test_a_link_is_taken_back_without_touching_the_payment(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-05-18")
    movement("20/05/2027,SKERROW ISLANDS TOURISM,x,120.00")
    bizkit("bank", "book", 1, "--payment", 1, "--on", "2027-05-31")
    assert bizkit("bank", "reopen", 1, "--reason", "another", "--on", "2027-06-01").code == 0
    assert (sums(bizkit), states(bizkit)) == (["120.00"], ["paid", "open"])
    (row,) = bizkit("bank", "list", "--json").data
    assert [one["payment"] for one in row["same"]] == ["1"]
    done = bizkit("bank", "book", 1, "--invoice", bills[1], "--another", "--on", "2027-06-01")
    assert (done.code, states(bizkit)) == (0, ["paid", "part paid"])


def test_sure_leaves_what_may_be_recorded_already(bizkit, bills, movement):
    bizkit("payment", "add", "240", "--invoice", f"{bills[1]}=240", "--on", "2027-05-30")
    bizkit("payment", "refund", bills[1], "240", "--owed-again", "--on", "2027-05-30")
    movement("20/05/2027,SKERROW ISLANDS TOURISM,GL-2027-0002,240.00")
    done = bizkit("bank", "book", "--sure", "--yes", "--on", "2027-05-31", "--json").data
    assert (done["booked"], [one["entry"] for one in done["same"]]) == ([], [1])


def test_a_sum_of_another_day_or_amount_is_not_the_same(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-05-18")
    rows = movement("20/05/2027,SKERROW,x,120.01")["rows"] + movement("30/06/2027,SKERROW,x,120.00")["rows"]
    assert [row["same"] for row in rows] == [[], []]
    assert "they are not the same sum" in bizkit("bank", "book", 1, "--payment", 1, "--on", "2027-05-31").err
    assert "wanted a known payment" in bizkit("bank", "book", 1, "--payment", 9, "--on", "2027-05-31").err


def test_what_reached_the_account_after_the_fee_is_the_same_sum(bizkit, bills, movement):
    bizkit("payment", "add", "120", "--invoice", bills[0], "--fee", "4.50", "--on", "2027-05-20")
    (row,) = movement("20/05/2027,X,x,115.50")["rows"]
    assert [one["payment"] for one in row["same"]] == ["1"]


def test_taking_back_takes_the_fee_back_too(bizkit, bills, movement):
    movement("20/05/2027,SKERROW ISLANDS TOURISM,GL-2027-0002,225.00")
    for _ in range(2):
        bizkit("bank", "book", 1, "--invoice", bills[1], "--fee", "15", "--on", "2027-05-31")
        assert states(bizkit) == ["open", "paid"]
        assert bizkit("bank", "reopen", 1, "--reason", "wrong", "--on", "2027-06-01").code == 0
    bizkit("bank", "book", 1, "--invoice", bills[1], "--fee", "15", "--on", "2027-06-01")
    rows = bizkit("payment", "list", "--json").data
    assert [row["fee"] for row in rows] == ["15.00", "-15.00", "15.00", "-15.00", "15.00"]
    assert [row["amount"] for row in rows] == ["240.00", "-240.00", "240.00", "-240.00", "240.00"]


CAMT = """<?xml version="1.0" encoding="UTF-8"?>
<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt><Stmt>
<Acct><Id><IBAN>DE89370400440532013000</IBAN></Id></Acct>
<Ntry><Amt Ccy="EUR">138.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts><Cd>BOOK</Cd></Sts>
<BookgDt><Dt>2027-05-20</Dt></BookgDt><NtryDtls><TxDtls>
<AmtDtls><InstdAmt><Amt Ccy="GBP">120.00</Amt></InstdAmt></AmtDtls>
<RmtInf><Ustrd>GL-2027-0001</Ustrd></RmtInf></TxDtls></NtryDtls></Ntry>
</Stmt></BkToCstmrStmt></Document>
"""


def test_taking_back_takes_what_reached_the_account_back_too(bizkit, bills, tmp_path):
    path = tmp_path / "a.xml"
    path.write_text(CAMT, encoding="utf-8")
    bizkit("bank", "import", path, "--on", "2027-05-31")
    assert bizkit("bank", "book", 1, "--yes", "--on", "2027-05-31").code == 0
    bizkit("bank", "reopen", 1, "--reason", "wrong", "--on", "2027-06-01")
    rows = bizkit("payment", "list", "--json").data
    assert [(row["account"], row["account_currency"]) for row in rows] == [("138.00", "EUR"), ("-138.00", "EUR")]


def test_a_deposit_that_was_invoiced_is_that_movement_and_no_second_sum(bizkit, job, studio, movement, bank_columns):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(bank_columns)
    bizkit("invoice", "deposit", job, "1200", "--received", "2027-05-19", "--on", "2027-05-21")
    (row,) = movement("20/05/2027,SKERROW ISLANDS TOURISM,deposit,1200.00")["rows"]
    assert [one["payment"] for one in row["same"]] == ["GL-2027-0001"]
    for more in ((), ("--accept-over",)):
        done = bizkit("bank", "book", 1, "--invoice", "GL-2027-0001", *more, "--on", "2027-05-31")
        assert (done.code, "--payment GL-2027-0001" in done.err) == (1, True)
    linked = bizkit("bank", "book", 1, "--payment", "GL-2027-0001", "--on", "2027-05-31")
    assert (linked.code, sums(bizkit), bizkit("bank", "list", "--json").data) == (0, [], [])
    (row,) = bizkit("bank", "list", "--all", "--json").data
    assert (row["state"], row["reason"]) == ("same", "deposit GL-2027-0001")
    (second,) = movement("21/05/2027,SKERROW ISLANDS TOURISM,deposit,1200.00")["rows"]
    assert second["same"] == []
    bizkit("bank", "reopen", 1, "--reason", "the other one", "--on", "2027-06-01")
    assert bizkit("bank", "list", "--json").data[0]["same"] != []


@pytest.mark.parametrize("said", ["GL-2027-0001 GL-2027-0002", "GL 2027 0002", "GL20270001", "RF11GL20270001"])
@pytest.mark.parametrize("recorded_on", ["2027-05-21", "2027-06-30", "2028-01-31"])
def test_a_sum_for_the_invoices_that_are_named_is_the_same_whatever_the_gap(
    bizkit, bills, movement, said, recorded_on
):
    each = [part for one in bills for part in ("--invoice", f"{one}=60")]
    assert bizkit("payment", "add", "120", *each, "--on", recorded_on).code == 0
    (row,) = movement(f"04/05/2027,A,{said},120.00")["rows"]
    assert [one["payment"] for one in row["same"]] == ["1"]
    done = bizkit("bank", "book", "--sure", "--yes", "--on", "2028-02-01", "--json").data
    assert done["booked"] == []
    assert sums(bizkit) == ["120.00"]
    assert bizkit("bank", "book", 1, "--payment", 1, "--on", "2028-02-01").code == 0


def test_a_sum_typed_weeks_later_is_the_same_when_the_client_paid_it(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-06-30")
    rows = movement("20/05/2027,SKERROW ISLANDS TOURISM,thanks,120.00")["rows"]
    rows += movement("20/05/2027,BETA,thanks,120.00")["rows"]
    assert [[one["payment"] for one in row["same"]] for row in rows] == [["1"], []]


@pytest.mark.parametrize("way", ["paid", "credited"])
def test_a_movement_that_names_a_settled_invoice_is_not_booked_on_another_for_its_amount(
    bizkit, job, bills, movement, way
):
    bizkit(
        "charge", "add", job, "--what", "Extra", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-05-03",
    )  # fmt: skip
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-03")
    if way == "paid":
        bizkit("invoice", "paid", bills[0], "--on", "2027-05-04")
        movement("04/05/2027,Skerrow Islands Tourism,first,120.00")
        bizkit("bank", "book", 1, "--payment", 1, "--on", "2027-05-31")
    else:
        bizkit("invoice", "credit", bills[0], "--reason", "not needed", "--on", "2027-05-04")
        movement("04/05/2027,BETA,first,1.00")
    movement("30/05/2027,Skerrow Islands Tourism,GL-2027-0001 again,120.00")
    done = bizkit("bank", "book", 2, "--yes", "--another", "--on", "2027-05-31")
    assert (done.code, f"movement 2 names GL-2027-0001, which is {way}" in done.err) == (1, True), done.err
    refused = bizkit("invoice", "paid", bills[0], "--on", "2027-05-31")
    assert (refused.code, refused.err.strip()) == (1, f"bizkit: GL-2027-0001 is {way}: nothing is left")


def test_one_movement_may_be_two_sums_recorded_by_hand(bizkit, bills, movement):
    for number, on in zip(bills, ("2027-05-18", "2027-05-19"), strict=True):
        bizkit("invoice", "paid", number, "--on", on)
    (row,) = movement("20/05/2027,SKERROW ISLANDS TOURISM,May,360.00")["rows"]
    assert (row["same"], [[one["payment"] for one in group] for group in row["together"]]) == ([], [["2", "1"]])
    assert "bizkit bank book 1 --payment 2 --payment 1" in bizkit("bank", "list").out
    short = bizkit("bank", "book", 1, "--payment", 1, "--on", "2027-05-31")
    assert (short.code, "they are not the same sum" in short.err) == (1, True)
    linked = bizkit("bank", "book", 1, "--payment", 1, "--payment", 2, "--on", "2027-05-31", "--json")
    assert linked.code == 0, linked.err
    assert sums(bizkit) == ["120.00", "240.00"]
    assert bizkit("bank", "list", "--json").data == []
    (row,) = bizkit("bank", "list", "--all", "--json").data
    assert (row["state"], row["reason"]) == ("same", f"payment 1: {bills[0]}; payment 2: {bills[1]}")
    # Neither can be another movement then; both can again once it is taken back.
    movement("21/05/2027,SKERROW ISLANDS TOURISM,again,120.00")
    assert bizkit("bank", "book", 2, "--payment", 1, "--on", "2027-05-31").code == 1
    assert bizkit("bank", "reopen", 1, "--reason", "wrong", "--on", "2027-05-31").code == 0
    assert sums(bizkit) == ["120.00", "240.00"]
    assert bizkit("bank", "book", 2, "--payment", 1, "--on", "2027-05-31").code == 0


def test_a_movement_that_names_a_settled_invoice_suggests_no_other_by_its_amount(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-05-02")
    (row,) = movement(f"20/05/2027,Skerrow Islands Tourism,{bills[0]},240.00")["rows"]
    assert (row["suggestions"], row["names"]) == ([], {"invoice": bills[0], "state": "paid"})
    for command in (("bank", "list"), ("bank", "book", 1)):
        assert f"may pay {bills[1]}" not in bizkit(*command).out
    assert f"names {bills[0]}, which is paid" in bizkit("bank", "list").out


def test_money_that_went_out_is_suggested_as_the_refund_of_what_was_overpaid(bizkit, bills, movement):
    bizkit("invoice", "paid", bills[0], "--on", "2027-05-10")
    bizkit("invoice", "credit", bills[0], "--amount", "50", "--reason", "less", "--lower-price", "--on", "2027-05-12")
    (row,) = movement("20/05/2027,SKERROW ISLANDS TOURISM,REFUND GLC-2027-0001,-60.00")["rows"]
    (found,) = row["suggestions"]
    assert found["parts"] == [{"invoice": bills[0], "amount": "-60.00", "currency": "GBP"}]
    assert "names GLC-2027-0001" in found["why"]
    assert "is exactly the GBP 60.00 overpaid" in found["why"]
    too_much = movement("21/05/2027,X,refund of GL-2027-0001,-70.00")["rows"]
    assert too_much[0]["suggestions"][0]["why"] == ["names GL-2027-0001", "is more than the GBP 60.00 overpaid"]
    refused = bizkit("bank", "book", 2, "--invoice", bills[0], "--on", "2027-05-31")
    assert (refused.code, "--owed-again" in refused.err) == (1, True)
    assert bizkit("bank", "book", 1, "--yes", "--on", "2027-05-31").code == 0
    assert states(bizkit)[0] == "paid"
    assert sums(bizkit) == ["120.00", "-60.00"]


def test_an_amount_below_zero_says_where_money_that_went_back_belongs(bizkit, bills):
    done = bizkit("invoice", "paid", bills[0], "-10")
    assert (done.code, "bizkit payment refund" in done.err, len(done.err.splitlines())) == (2, True, 1)
