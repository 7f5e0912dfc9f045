"""The fee of a cancelled job and the tax: damages before any work, pay once it was begun, or what the studio says.

Sources, from memory: BFH 30.6.2010, XI R 22/08; CJEU C-622/23; UStG § 14c (tax shown is owed); EN 16931 BR-O-11.
"""

from __future__ import annotations

import pytest

from .conftest import JOB, text_of


@pytest.fixture
def cancelled(bizkit, client, opened):
    """The job of a private client called off shortly before its first day."""
    client("person")
    opened()

    def go(on="2027-06-10"):
        done = bizkit("quote", "cancel", JOB, "--by", "Frau Hansen", "--on", on)
        assert done.code == 0, done.err
        return JOB

    return go


def settle(bizkit, *more):
    return bizkit("invoice", "settle", JOB, *more, "--on", "2027-06-11", "--json")


def test_before_any_work_it_bears_no_tax_and_says_why(bizkit, cancelled, tax):
    cancelled()
    done = settle(bizkit)
    assert done.code == 0, done.err
    bill = done.data["invoice"]
    assert (bill["tax"], [one["category"] for one in bill["document"]["taxes"]]) == ("0.00", ["O"])
    text = text_of(bill["file"])
    assert "Nicht steuerbar (USt.): Entschädigung für den vor Arbeitsbeginn abgesagten Auftrag" in text
    assert "Steuerlich zum" not in text
    assert any("--fee-tax taxed" in one for one in bill["warnings"])
    june = tax("2027-06-01", "2027-06-30")
    assert june["boxes"] == {"81": "0", "66": "0.00", "83": "0.00"}
    assert "fees for orders called off before any work" in june["why"]


@pytest.mark.parametrize("way", ["option", "setting"])
def test_the_studio_decides_otherwise(bizkit, german, change, cancelled, way):
    cancelled()
    more = ("--fee-tax", "taxed") if way == "option" else ()
    if way == "setting":
        change(german / "studio.toml", 'name = "USt."', 'name = "USt."\ncancelling_fee = "taxed"')
    done = settle(bizkit, *more)
    assert done.code == 0, done.err
    assert [one["category"] for one in done.data["invoice"]["document"]["taxes"]] == ["S"]


def test_once_work_was_begun_it_bears_the_tax_and_the_studio_is_told(bizkit, cancelled):
    bizkit("day", "log", JOB, "2027-06-15", "--call", "07:00", "--wrap", "17:00", "--on", "2027-06-15")
    cancelled(on="2027-06-15")
    done = bizkit("invoice", "settle", JOB, "--on", "2027-06-16", "--json")
    assert done.code == 0, done.err
    bill = done.data["invoice"]
    assert [one["category"] for one in bill["document"]["taxes"]] == ["S"]
    assert any("--fee-tax untaxed" in one for one in bill["warnings"])


def test_what_was_billed_with_tax_before_is_undone_first(bizkit, cancelled, issue):
    first = issue(on="2027-05-06")
    cancelled()
    refused = settle(bizkit)
    assert refused.code == 1
    assert f"bizkit invoice credit {first['number']}" in refused.err
    credit = ("--reason", "abgesagt", "--on", "2027-06-11")
    assert bizkit("invoice", "credit", first["number"], *credit).code == 0
    done = settle(bizkit)
    assert done.code == 0, done.err
    bill = done.data["invoice"]
    assert ([one["category"] for one in bill["document"]["taxes"]], bill["tax"]) == (["O"], "0.00")
    assert done.data["left_to_invoice"] == "0.00"
    assert bizkit("verify").code == 0


@pytest.mark.parametrize("billed", ["deposit", "deposit and stage", "stage and part of it", "all"])
@pytest.mark.parametrize(("command", "newest_first"), [("settle", False), ("charges", True)])
def test_what_is_credited_whole_in_several_steps_is_undone(bizkit, cancelled, issue, billed, command, newest_first):
    numbers = []
    if billed != "stage and part of it":
        ask = ("invoice", "deposit", JOB, "1000", "--received", "2027-05-05", "--on", "2027-05-05", "--json")
        numbers.append(bizkit(*ask).data["number"])
    if billed != "deposit":
        numbers.append(issue(on="2027-05-06")["number"])
    if billed in ("stage and part of it", "all"):
        less = ("--amount", "300", "--lower-price", "--reason", "ein Tag weniger", "--on", "2027-05-07")
        assert bizkit("invoice", "credit", numbers[-1], *less).code == 0
    cancelled()
    for number in reversed(numbers) if newest_first else numbers:
        refused = settle(bizkit)
        assert (refused.code, number in refused.err) == (1, True)
        assert bizkit("invoice", "credit", number, "--reason", "abgesagt", "--on", "2027-06-11").code == 0
    if command == "settle":
        done = settle(bizkit)
        assert done.code == 0, done.err
        bill = done.data["invoice"]
    else:
        bill = issue("--charges", on="2027-06-11")
    assert (bill["net"], bill["tax"]) == ("4707.95", "0.00")
    money = bizkit("job", "money", JOB, "--json").data
    assert (money["agreed"], money["left_to_invoice"], money["changes"]) == ("4707.95", "0.00", "-10953.36")
    assert [
        row for row in bizkit("charge", "list", JOB, "--json").data["charges"] if row["state"] != "invoiced"
    ] == []
    assert bizkit("verify").code == 0


def test_a_lower_price_after_the_cancelling_is_taken_off_the_fee(bizkit, cancelled, issue):
    first = issue(on="2027-05-06")["number"]
    cancelled()
    less = ("--amount", "300", "--lower-price", "--reason", "aus Kulanz", "--on", "2027-06-11")
    assert bizkit("invoice", "credit", first, *less).code == 0
    assert bizkit("invoice", "credit", first, "--reason", "abgesagt", "--on", "2027-06-11").code == 0
    done = settle(bizkit)
    assert done.code == 0, done.err
    bill = done.data["invoice"]
    assert (bill["net"], bill["tax"]) == ("4407.95", "0.00")
    assert [one["amount"] for one in bill["document"]["lines"] if one["item"] == "aus Kulanz"] == ["-300.00"]
    assert done.data["left_to_invoice"] == "0.00"


def test_a_wrong_word_is_told_the_right_ones(bizkit, cancelled):
    cancelled()
    done = settle(bizkit, "--fee-tax", "free")
    assert done.code == 2
    assert "--fee-tax" in done.err
    assert "taxed, untaxed" in done.err


def test_the_quote_does_not_promise_tax_on_the_fee(bizkit, client, opened):
    client("firm")
    opened()
    text = text_of(bizkit("quote", "show", JOB, "--json").data["file"])
    assert "die USt. kommt hinzu, soweit das Gesetz sie verlangt" in text
    # A lump sum for damages leaves the other side the proof of less: BGB § 309 Nr. 5 Buchst. b.
    assert "Ihnen bleibt der Nachweis, dass uns kein oder ein geringerer Schaden entstanden ist" in text


def test_the_terminal_says_with_tax_only_where_there_is_some(bizkit, cancelled):
    cancelled()
    done = bizkit("invoice", "settle", JOB, "--on", "2027-06-11")
    assert done.code == 0, done.err
    assert "with tax," not in done.out


def test_what_was_credited_and_billed_again_is_undone_with_the_rest(bizkit, cancelled, issue):
    first = issue(on="2027-05-06")
    less = ("--amount", "500", "--reason", "Tippfehler", "--on", "2027-05-07")
    assert bizkit("invoice", "credit", first["number"], *less).code == 0
    again = issue("--charges", on="2027-05-08")
    cancelled()
    rest = ("--reason", "abgesagt", "--on", "2027-06-11")
    assert f"bizkit invoice credit {first['number']}" in settle(bizkit).err
    assert bizkit("invoice", "credit", first["number"], *rest).code == 0
    refused = settle(bizkit)
    assert refused.code == 1
    assert f"credit its line 1, with bizkit invoice credit {again['number']} --line 1" in refused.err
    assert bizkit("invoice", "credit", again["number"], "--line", "1", *rest).code == 0
    done = settle(bizkit)
    assert done.code == 0, done.err
    fee = bizkit("job", "money", JOB, "--json").data
    bill = done.data["invoice"]
    assert (bill["net"], bill["tax"], done.data["left_to_invoice"]) == (fee["agreed"], "0.00", "0.00")
    assert len(bill["document"]["lines"]) == len(bill["document"]["charges"])
    assert not [
        row for row in bizkit("charge", "list", JOB, "--json").data["charges"] if row["state"] == "to invoice"
    ]
    assert bizkit("verify").code == 0
    # Undone, the fee and what fell away with the quote are open again, and settle the same.
    assert bizkit("invoice", "credit", bill["number"], "--reason", "Anschrift", "--on", "2027-06-11").code == 0
    assert settle(bizkit).data["invoice"]["net"] == bill["net"]


@pytest.mark.parametrize("steps", [(), ("707.95",)])
def test_what_was_settled_credited_and_billed_again_is_of_one_kind_in_every_report(bizkit, cancelled, issue, steps):
    number = issue(on="2027-05-06")["number"]

    def kinds():
        rows = bizkit("report", "income", "--on", "2027-06-30", "--json").data["rows"]
        return {row["kind"]: row["income"] for row in rows}

    cancelled()
    assert settle(bizkit, "--fee-tax", "taxed").code == 0
    assert kinds() == {"fees": "4707.95"}
    for net in steps:
        part = ("--amount", net, "--reason", "nochmal", "--on", "2027-06-11")
        assert bizkit("invoice", "credit", number, *part).code == 0
        assert kinds() == {"fees": "4000.00"}
    assert bizkit("invoice", "credit", number, "--reason", "nochmal", "--on", "2027-06-11").code == 0
    assert kinds() == {}
    assert settle(bizkit).code == 0
    assert kinds() == {"fees": "4707.95"}
