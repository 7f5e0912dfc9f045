"""Charges beyond the quote: added, waived, billed, each once."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pypdf


def add(bizkit, job, what, amount, *more):
    return bizkit(
        "charge", "add", job, "--what", what, "--amount", amount, "--reason", "agreed by phone on 12 May",
        "--agreed", "Una, by mail", *more, "--on", "2027-05-14", "--json",
    )  # fmt: skip


def test_charges_wait_for_an_invoice_and_are_billed_once(bizkit, job):
    assert "No charges" in bizkit("charge", "list").out
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    add(bizkit, job, "Second boat, 12 May", "240.50")
    add(bizkit, job, "Extra stills", "1,000", "--section", "post")
    gone = add(bizkit, job, "Coffee", "3.20").data["id"]
    back = add(bizkit, job, "Shorter sauna evening", "-40.00").data
    assert (back["quantity"], back["rate"], back["amount"]) == ("-1", "40.00", "-40.00")
    waived = bizkit("charge", "waive", gone, "--reason", "on the house", "--on", "2027-05-15", "--json").data
    assert waived["state"] == "waived"
    assert bizkit("charge", "list", job, "--json").data["open"] == [{"currency": "GBP", "net": "1200.50"}]

    done = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-20", "--json").data
    # 240.50 + 1,000.00 - 40.00 = 1,200.50; VAT at 20 % (archived HMRC "Calculating VAT") = 240.10
    assert (done["net"], done["tax"], done["gross"]) == ("1200.50", "240.10", "1440.60")
    assert [line["section"] for line in done["document"]["lines"]] == ["fees", "post", "fees"]
    assert sum(Decimal(part) for part in done["document"]["income"].values()) == Decimal("1200.50")
    text = " ".join(pypdf.PdfReader(done["file"]).pages[0].extract_text().split())
    assert "Second boat, 12 May" in text
    assert Path(done["file"]).name == f"{done['number']}.pdf"

    again = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-21")
    assert (again.code, "no charge is open" in again.err) == (1, True)
    assert {row["state"] for row in bizkit("charge", "list", "--json").data["charges"]} == {"invoiced", "waived"}
    assert [row["stage"] for row in bizkit("invoice", "list", "--json").data] == ["On acceptance", "Charges"]
    assert bizkit("verify").code == 0
    # The stages are still billed for themselves.
    assert [one["invoice"] for one in bizkit("job", "show", job, "--json").data["stages"]] == ["GL-2027-0001", ""]


def test_wrong_charges_are_refused_in_one_line(bizkit, job):
    for arguments, code, said in (
        (["add", job, "--what", "x", "--amount", "ten", "--reason", "y"], 2, "--amount: wanted an amount such as"),
        (["add", job, "--what", "x", "--amount", "0", "--reason", "y"], 2, "other than zero"),
        (["add", job, "--what", "x", "--amount", "1.001", "--reason", "y"], 2, "whole minor units"),
        (["add", job, "--what", " ", "--amount", "1", "--reason", "y"], 2, "--what"),
        (["add", job, "--what", "x", "--amount", "1", "--reason", ""], 2, "--reason: wanted why"),
        (["add", job, "--what", "x", "--amount", "1", "--reason", "y", "--section", "krew"], 2, "Did you mean crew?"),
        (["add", "follow-the-kepl", "--what", "x", "--amount", "1", "--reason", "y"], 2, "follow-the-kelp"),
        (["waive", "7", "--reason", "y"], 2, "CHARGE: wanted a known charge, got 7"),
    ):
        done = bizkit("charge", *arguments)
        assert done.code == code, done.err
        assert said in done.err
        assert len(done.err.splitlines()) == 1
    assert bizkit("charge", "list", "--json").data["charges"] == []
    both = bizkit("invoice", "issue", job, "--charges", "--stage", 1)
    assert (both.code, "either --stage or --charges" in both.err) == (2, True)


def test_a_charge_is_given_up_once_and_never_after_its_invoice(bizkit, job):
    first, second = (add(bizkit, job, what, "10").data["id"] for what in ("one", "two"))
    assert bizkit("charge", "waive", first, "--reason", "x").code == 0
    assert "waived already" in bizkit("charge", "waive", first, "--reason", "x").err
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-20")
    assert "is billed by GL-2027-0001" in bizkit("charge", "waive", second, "--reason", "x").err


def test_a_charge_by_hand_is_billed_once_the_client_has_said_yes(bizkit, job):
    """No quote states it: the yes is kept with the charge, or given when it is billed; giving back needs none."""
    extra = ["charge", "add", job, "--what", "A poster", "--reason", "Una asked for one", "--on", "2027-05-14"]
    assert bizkit(*extra, "--amount", "60").code == 0
    refused = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert "does not state A poster GBP 60.00" in refused.err
    assert "--agreed" in refused.err
    done = bizkit("invoice", "issue", job, "--charges", "--agreed", "Una, 15 May", "--on", "2027-05-15")
    assert done.code == 0, done.err
    assert bizkit(*extra, "--amount", "-20").code == 0
    assert bizkit(*extra, "--amount", "40", "--agreed", "Una on the phone, 14 May").code == 0
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-16").code == 0


def test_a_charge_of_a_book_of_before_was_agreed_with_its_reason(bizkit, job, studio):
    import sqlite3

    assert add(bizkit, job, "A poster", "60").code == 0
    with sqlite3.connect(studio / "book.sqlite") as book:
        ((data,),) = book.execute("SELECT working FROM charge").fetchall()
        old = {name: value for name, value in json.loads(data).items() if name != "inputs"}
        book.execute("UPDATE charge SET working = ?", (json.dumps(old),))
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15").code == 0


def test_a_charge_that_says_just_what_another_says_is_looked_at(bizkit, job):
    def typed(amount="240.50", on="2027-05-14"):
        more = ("--reason", "by phone", "--agreed", "Una", "--on", on)
        done = bizkit("charge", "add", job, "--what", "Second boat", "--amount", amount, *more)
        assert done.code == 0, done.err
        return done.out

    said = "Look: charge 1 of this day says just the same; if it was typed twice, take it back: bizkit charge waive"
    assert "Look" not in typed()
    assert f"{said} 2 --reason WHY" in typed()
    assert "Look" not in typed(amount="240.51")
    assert "Look" not in typed(on="2027-05-15")
    bizkit("charge", "waive", "2", "--reason", "typed twice", "--on", "2027-05-14")
    assert f"{said} 5 --reason WHY" in typed()
