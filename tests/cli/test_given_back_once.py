"""What was billed is given back once, whichever of the ways there are is gone, and in whatever order."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest


def spend(bizkit, job, amount, tax="0", on="2027-05-11"):
    """A cost that the client pays; its number."""
    done = bizkit(
        "cost", "add", job, "--kind", "fees", "--what", f"Permit {amount}", "--amount", amount, "--tax", tax,
        "--to-client", "--agreed", "Una", "--on", on, "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    return done.data["number"]


def bill(bizkit, job, on="2027-05-12"):
    done = bizkit("invoice", "issue", job, "--charges", "--agreed", "Una", "--on", on, "--json")
    assert done.code == 0, done.err
    return done.data["number"]


def credit(bizkit, invoice, *how, on="2027-05-13"):
    return bizkit("invoice", "credit", invoice, *how, "--reason", "slip", "--on", on, "--json")


def take_back(bizkit, cost, on="2027-05-14"):
    done = bizkit("cost", "reverse", cost, "--reason", "typed twice", "--on", on, "--json")
    assert done.code == 0, done.err
    return done.data["given_back"]


def money(bizkit, job):
    data = bizkit("job", "money", job, "--json").data
    return {name: Decimal(data[name]) for name in ("changes", "invoiced", "credited", "left_to_invoice")}


@pytest.mark.parametrize(
    ("how", "given_back"),
    [
        (("--line", "1", "--lower-price"), "0.00"),
        (("--line", "1=30", "--lower-price"), "60.00"),
        (("--amount", "40", "--lower-price"), "72.00"),  # 90 of the 200 billed: 18 of the 40 are its own
        (("--line", "1"), "0.00"),
        (("--line", "1=30"), "60.00"),  # 30 of it were to be invoiced again, and are no more
        ((), "0.00"),
    ],
)
def test_a_cost_taken_back_gives_back_what_no_credit_note_gave_back(bizkit, job, how, given_back):
    cost = spend(bizkit, job, "90")
    spend(bizkit, job, "110")
    invoice = bill(bizkit, job)
    assert credit(bizkit, invoice, *how).code == 0
    assert take_back(bizkit, cost) == given_back
    lowered = Decimal("22") if "--amount" in how else Decimal(0)
    assert money(bizkit, job)["changes"] == Decimal("110") - lowered
    bizkit("invoice", "settle", job, "--on", "2027-05-15")
    after = money(bizkit, job)
    assert after["invoiced"] - after["credited"] == Decimal("110") - lowered


def test_an_invoice_with_one_line_is_lowered_by_that_line(bizkit, job):
    cost = spend(bizkit, job, "990")
    assert credit(bizkit, bill(bizkit, job), "--amount", "100", "--lower-price").code == 0
    assert take_back(bizkit, cost) == "890.00"


def test_what_is_to_be_invoiced_again_and_given_up_is_given_back_for_good(bizkit, job):
    cost = spend(bizkit, job, "90")
    assert credit(bizkit, bill(bizkit, job), "--line", "1=30").code == 0
    again = next(
        row for row in bizkit("charge", "list", job, "--json").data["charges"] if row["state"] == "to invoice"
    )
    assert bizkit("charge", "waive", again["id"], "--reason", "let go", "--on", "2027-05-13").code == 0
    assert take_back(bizkit, cost) == "60.00"


def test_a_lower_price_is_refused_where_what_was_billed_is_given_back_already(bizkit, job):
    cost = spend(bizkit, job, "90")
    invoice = bill(bizkit, job)
    take_back(bizkit, cost)
    for step in range(2):
        refused = credit(bizkit, invoice, "--line", "1", "--lower-price", on="2027-05-16")
        assert (refused.code, len(refused.err.splitlines())) == (1, 1)
        assert "GBP 0.00 is still asked for it" in refused.err or "GBP 0.00 is left" in refused.err, refused.err
        if not step:
            assert bizkit("invoice", "settle", job, "--on", "2027-05-15").code == 0


def test_a_line_is_not_credited_beyond_what_it_comes_to(bizkit, job):
    spend(bizkit, job, "90")
    spend(bizkit, job, "110")
    invoice = bill(bizkit, job)
    assert credit(bizkit, invoice, "--line", "1", "--lower-price").code == 0
    refused = credit(bizkit, invoice, "--line", "1=0.01", "--lower-price")
    assert (refused.code, "GBP 0.00 is left, GBP 0.01 cannot be credited" in refused.err) == (1, True)
    twice = credit(bizkit, invoice, "--line", "2=60", "--line", "2=60")
    assert (twice.code, "--line: wanted each line once" in twice.err) == (2, True)


def test_a_day_is_recorded_anew_once_all_that_billed_it_is_credited(bizkit, job):
    def log(wrap, on):
        return bizkit("day", "log", job, "2027-05-10", "--call", "06:00", "--wrap", wrap, "--on", on, "--json")

    over = Decimal(log("20:00", "2027-05-10").data["overrun"])
    spend(bizkit, job, "90")
    invoice = bill(bizkit, job)
    assert credit(bizkit, invoice, "--line", "4", "--lower-price").code == 0
    assert credit(bizkit, invoice, "--line", "1").code == 0
    refused = log("18:00", "2027-05-14")
    assert (refused.code, f"is billed already by {invoice}: credit that first" in refused.err) == (1, True)
    assert credit(bizkit, invoice).code == 0
    again = log("18:00", "2027-05-14")
    assert again.code == 0, again.err
    less = Decimal(again.data["overrun"])
    assert Decimal(0) < less < over
    after = money(bizkit, job)
    assert after["changes"] == less
    bill(bizkit, job, on="2027-05-15")
    assert money(bizkit, job)["left_to_invoice"] == after["left_to_invoice"] - less


def lines_of(bizkit, number):
    document = bizkit("invoice", "show", number, "--json").data["document"]
    return [(line["item"], line["amount"]) for line in document["lines"]]


def test_what_is_given_back_stands_on_the_line_that_billed_it_and_is_not_billed_again(bizkit, job):
    """A cost of one kind among others is taken back and settled, then the rest of its invoice is credited whole."""
    bag = spend(bizkit, job, "90")
    spend(bizkit, job, "110")
    what = (
        "--what",
        "Extra edit",
        "--amount",
        "300",
        "--section",
        "post",
        "--reason",
        "asked for",
        "--agreed",
        "Una",
    )
    assert bizkit("charge", "add", job, *what, "--on", "2027-05-11").code == 0
    invoice = bill(bizkit, job)
    assert credit(bizkit, invoice, "--line", "2=50", "--lower-price").code == 0
    take_back(bizkit, bag)
    (note,) = bizkit("invoice", "settle", job, "--on", "2027-05-15", "--json").data["credit_notes"]
    bag_line, permit, edit = (item for item, _ in lines_of(bizkit, invoice))
    assert lines_of(bizkit, note["number"]) == [(bag_line, "90.00")]
    assert note["document"]["income"] == {"fees": "90.00"}
    rest = credit(bizkit, invoice, on="2027-05-16").data
    assert lines_of(bizkit, rest["number"]) == [(permit, "60.00"), (edit, "300.00")]
    assert rest["document"]["income"] == {"fees": "60.00", "post": "300.00"}
    again = bill(bizkit, job, on="2027-05-17")
    assert sorted(lines_of(bizkit, again)) == sorted([(permit, "60.00"), (edit, "300.00")])
    assert money(bizkit, job)["changes"] == Decimal("360.00")
    assert bizkit("verify").code == 0


@pytest.mark.parametrize("given_back", ["a lower price", "a sum agreed by hand"])
def test_a_day_is_recorded_anew_once_nothing_is_left_of_its_invoice(bizkit, job, given_back):
    def log(wrap, on):
        return bizkit("day", "log", job, "2027-05-10", "--call", "06:00", "--wrap", wrap, "--on", on, "--json")

    assert log("20:00", "2027-05-10").code == 0
    spend(bizkit, job, "90")
    invoice = bill(bizkit, job)
    assert credit(bizkit, invoice, "--line", "4", "--lower-price").code == 0
    assert credit(bizkit, invoice, "--line", "1=20", "--lower-price").code == 0
    if given_back == "a sum agreed by hand":  # is of no line of its own
        less = ("--what", "Goodwill", "--amount=-40", "--reason", "a late start", "--agreed", "Una")
        assert bizkit("charge", "add", job, *less, "--on", "2027-05-13").code == 0
        assert bizkit("invoice", "settle", job, "--on", "2027-05-13").code == 0
    assert credit(bizkit, invoice, on="2027-05-14").code == 0
    second = bill(bizkit, job, on="2027-05-14")
    refused = log("18:00", "2027-05-15")
    assert (refused.code, f"is billed already by {second}: credit that first" in refused.err) == (1, True)
    assert credit(bizkit, second, on="2027-05-15").code == 0
    before = money(bizkit, job)
    assert before["invoiced"] == before["credited"]
    again = log("18:00", "2027-05-15")
    assert again.code == 0, again.err
    less = Decimal("40") if given_back == "a sum agreed by hand" else Decimal(0)
    after = money(bizkit, job)
    assert after["changes"] == Decimal(again.data["overrun"]) - less
    third = bizkit("invoice", "issue", job, "--charges", "--agreed", "Una", "--on", "2027-05-16", "--json")
    assert Decimal(third.data["net"]) == after["changes"]
    assert money(bizkit, job)["left_to_invoice"] == after["left_to_invoice"] - after["changes"]


@pytest.mark.parametrize("seed", range(12))
def test_with_every_cost_taken_back_nothing_is_billed_and_nothing_given(bizkit, job, seed):
    """Costs that the client pays are billed, credited in every way, lowered, billed again, and at last taken back."""
    chance = random.Random(seed)
    costs = [spend(bizkit, job, chance.choice(["90", "33.33", "120.01"])) for _ in range(chance.randint(1, 3))]
    invoices, done, on = [bill(bizkit, job)], [], 13
    for _ in range(chance.randint(2, 7)):
        on += 1
        day = f"2027-05-{on}"
        act = chance.choice(["credit", "credit", "bill", "waive", "reverse", "tax"])
        if act == "credit":
            how = chance.choice([("--line", "1"), ("--line", "1=7.77"), ("--amount", "11.11"), ()])
            how += chance.choice([("--lower-price",), ()])
            answer = credit(bizkit, chance.choice(invoices), *how, on=day)
        elif act == "bill":
            answer = bizkit("invoice", "issue", job, "--charges", "--agreed", "Una", "--on", day, "--json")
            invoices += [answer.data["number"]] if answer.code == 0 else []
        elif act == "waive":
            rows = bizkit("charge", "list", job, "--json").data["charges"]
            waiting = [row["id"] for row in rows if row["state"] == "to invoice" and Decimal(row["amount"]) > 0]
            answer = waiting and bizkit("charge", "waive", waiting[0], "--reason", "let go", "--on", day)
        elif act == "tax":
            answer = bizkit("overhead", "tax", chance.choice(costs), chance.choice(["0", "5", "1.11"]), "--on", day)
        else:
            cost = chance.choice(costs)
            answer = bizkit("cost", "reverse", cost, "--reason", "wrong", "--on", day)
            costs.remove(cost)
            if not costs:
                done.append(act)
                break
        done.append((act, answer and answer.code, answer and answer.err))
    for cost in costs:
        take_back(bizkit, cost, on="2027-05-29")
    before = money(bizkit, job)
    assert before["changes"] == 0, done
    if [row for row in bizkit("charge", "list", job, "--json").data["charges"] if row["state"] == "to invoice"]:
        settled = bizkit("invoice", "settle", job, "--agreed", "Una", "--on", "2027-05-30")
        assert settled.code == 0, (settled.err, done)
    after = money(bizkit, job)
    assert after["invoiced"] - after["credited"] == 0, done
    assert after["left_to_invoice"] == before["left_to_invoice"] + before["invoiced"] - before["credited"], done
