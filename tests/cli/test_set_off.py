"""Money that is over on an invoice, set against another of the same client, and the money of a deposit in lists."""

from __future__ import annotations

from decimal import Decimal

import pytest

CLIENT = "skerrow-islands-tourism"
DEPOSIT, NEW = "GL-2027-0001", "GL-2027-0002"


@pytest.fixture
def credited(bizkit, job):
    """A deposit of 1,200.00 that was credited in full, and a new bill of 600.00 to the same client."""
    for typed in (
        ("invoice", "deposit", job, "1200", "--received", "2027-02-10", "--on", "2027-02-12"),
        ("invoice", "credit", DEPOSIT, "--reason", "another job", "--on", "2027-03-01"),
        ("charge", "add", job, "--what", "A day", "--amount", "500", "--reason", "asked", "--agreed", "Una", "--on",
         "2027-03-02"),
        ("invoice", "issue", job, "--charges", "--on", "2027-03-02"),
    ):  # fmt: skip
        done = bizkit(*typed)
        assert done.code == 0, done.err
    return job


def money(bizkit):
    rows = bizkit("invoice", "list", "--on", "2027-03-10", "--json").data
    return {row["number"]: (row["paid"], row["balance"], row["state"]) for row in rows}


def back(bizkit):
    return [
        (row["number"], row["sum"]) for row in bizkit("status", "--on", "2027-03-10", "--json").data["to_pay_back"]
    ]


def test_a_deposit_says_what_was_paid_of_it(bizkit, job):
    assert bizkit("invoice", "deposit", job, "1200", "--received", "2027-02-10", "--on", "2027-02-12").code == 0
    assert money(bizkit) == {DEPOSIT: ("1200.00", "0.00", "paid")}
    assert bizkit("invoice", "show", DEPOSIT, "--json").data["paid"] == "1200.00"


def test_what_is_over_is_set_against_a_new_bill(bizkit, credited, tmp_path):
    assert back(bizkit) == [(DEPOSIT, "1200.00")]
    assert "bizkit payment transfer INVOICE NEW" in bizkit("status", "--on", "2027-03-10").out
    done = bizkit("payment", "transfer", DEPOSIT, NEW, "--on", "2027-03-05")
    assert done.out.splitlines() == [
        "Payment 1 of 2027-03-05: GBP 600.00 set against GL-2027-0002 from GL-2027-0001",
        "  GL-2027-0001: GBP -600.00 left (overpaid)",
        "  GL-2027-0002: GBP 0.00 left (paid)",
    ]
    assert money(bizkit) == {DEPOSIT: ("600.00", "-600.00", "overpaid"), NEW: ("600.00", "0.00", "paid")}
    assert back(bizkit) == [(DEPOSIT, "600.00")]
    account = bizkit("statement", CLIENT, "--on", "2027-03-10", "--json").data
    assert [(row["what"], row["number"], row["charged"], row["paid"]) for row in account["entries"][-2:]] == [
        ("transfer", DEPOSIT, "600.00", ""), ("transfer", NEW, "", "600.00")
    ]  # fmt: skip
    assert account["closing"] == "-600.00"
    sums = [Decimal(row["amount"]) for row in bizkit("payment", "list", "--json").data]
    assert sums == [Decimal("1200.00"), Decimal("0.00")]
    receipt = bizkit("payment", "receipt", "1", "--on", "2027-03-10")
    assert (receipt.code, len(receipt.err.splitlines())) == (1, 1)
    assert f"was set against {NEW} from {DEPOSIT}" in receipt.err
    assert bizkit("payment", "refund", DEPOSIT, "--on", "2027-03-10").code == 0
    assert back(bizkit) == []
    assert bizkit("verify").code == 0


def test_it_is_set_off_in_part_and_taken_back_the_other_way(bizkit, credited):
    assert bizkit("payment", "transfer", DEPOSIT, NEW, "250.50", "--on", "2027-03-05").code == 0
    assert money(bizkit)[NEW] == ("250.50", "349.50", "part paid")
    more = bizkit("payment", "transfer", NEW, DEPOSIT, "300", "--on", "2027-03-06")
    assert (more.code, "more than the GBP 250.50 that was set against" in more.err) == (1, True)
    done = bizkit("payment", "transfer", NEW, DEPOSIT, "--on", "2027-03-06", "--json").data
    assert (done["amount"], done["taken_back"]) == ("250.50", True)
    assert money(bizkit) == {DEPOSIT: ("1200.00", "-1200.00", "overpaid"), NEW: ("0.00", "600.00", "open")}
    again = bizkit("payment", "transfer", NEW, DEPOSIT, "--on", "2027-03-06")
    assert (again.code, "nothing is over on GL-2027-0002: it is open" in again.err) == (1, True)


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [
        ((DEPOSIT, DEPOSIT), 2, "two invoices"),
        ((DEPOSIT, NEW, "700"), 1, "GBP 700.00 is more than the GBP 600.00 that is left of GL-2027-0002"),
        ((DEPOSIT, NEW, "1200.01"), 1, "more than the GBP 1200.00 that is over on GL-2027-0001"),
        ((DEPOSIT, NEW, "0"), 2, "above zero"),
        ((DEPOSIT, "GL-2027-0009"), 2, "GL-2027-0009"),
        ((DEPOSIT, NEW, "--on", "2027-02-28"), 1, "was issued on 2027-03-02"),
    ],
)
def test_what_cannot_be_set_off_is_refused_in_one_line(bizkit, credited, typed, code, said):
    more = [] if "--on" in typed else ["--on", "2027-03-05"]
    done = bizkit("payment", "transfer", *typed, *more)
    assert (done.code, len(done.err.splitlines())) == (code, 1), done.err
    assert said in done.err
    assert money(bizkit)[NEW] == ("0.00", "600.00", "open")


def test_money_of_one_client_is_never_set_against_the_bill_of_another(bizkit, credited, studio):
    text = (studio / "clients" / f"{CLIENT}.toml").read_text()
    (studio / "clients" / "selkie-bay.toml").write_text(text.replace("Skerrow Islands Tourism", "Selkie Bay Baths"))
    for typed in (
        ("brief", "copy", credited, "baths", "--client", "selkie-bay"),
        ("quote", "draft", "baths", "--on", "2027-03-02"),
        ("quote", "send", "baths", "--on", "2027-03-02"),
        ("quote", "accept", "baths", "--by", "Una", "--on", "2027-03-02"),
        ("invoice", "issue", "baths", "--on", "2027-03-02"),
    ):
        done = bizkit(*typed)
        assert done.code == 0, done.err
    done = bizkit("payment", "transfer", DEPOSIT, "GL-2027-0003", "--on", "2027-03-05")
    assert (done.code, "are of two clients, skerrow-islands-tourism and selkie-bay" in done.err) == (1, True)


def test_money_and_journeys_that_are_typed_twice_are_looked_at(bizkit, credited):
    def paid(*more):
        done = bizkit("invoice", "paid", NEW, "100", "--on", "2027-03-05", *more)
        assert done.code == 0, done.err
        return done.out

    said = "says just the same; if it was typed twice, take it back"
    assert "Look" not in paid()
    assert f"Look: payment 1 of this day {said}: bizkit payment refund {NEW} 100.00 --owed-again" in paid()
    assert bizkit("payment", "refund", NEW, "100", "--owed-again", "--on", "2027-03-05").code == 0
    assert "Look: payment 2 of this day" in paid()
    one = ("payment", "add", "50", "--invoice", NEW, "--on", "2027-03-06")
    assert "Look" not in bizkit(*one).out
    assert "Look: payment 5 of this day" in bizkit(*one).out
    back = ("payment", "refund", DEPOSIT, "200", "--on", "2027-03-06")
    assert "Look" not in bizkit(*back).out
    assert f"Look: payment 7 of this day {said}: bizkit invoice paid {DEPOSIT} 200.00" in bizkit(*back).out

    drive = ("mileage", "add", "--from", "Skerrow", "--to", "Selkie Bay", "--purpose", "recce", "--on", "2027-03-06")
    assert "Look" not in bizkit(*drive, "12").out
    assert (
        "Look: journey 1 of this day says just the same; if it was typed twice, record it once"
        in bizkit(*drive, "12").out
    )
    assert "Look" not in bizkit(*drive, "13").out


def test_a_deposit_that_is_typed_twice_is_looked_at(bizkit, job):
    one = ("invoice", "deposit", job, "1200", "--received", "2027-02-10", "--on", "2027-02-12")
    assert "typed twice" not in bizkit(*one).out
    said = (
        "Look: GL-2027-0001 of money received on 2027-02-10 says just the same; if it was typed twice, take it back"
    )
    assert said in bizkit(*one).out
