"""A cost passed on is charged without the tax that is reclaimed, and every report agrees on what it cost."""

from __future__ import annotations

import csv
import io
import zipfile
from decimal import Decimal

import pytest

ON = "2027-05-12"

#: The tax of three studios; the starter's is registered on the standard scheme.
STANDARD = "registered = true"
UNREGISTERED = "registered = false"
FLAT_RATE = "registered = true\nflat_rate = 13"
LATER = "registered = true\nregistered_from = 2027-06-01"


def add(bizkit, job, kind, amount, *more, on=ON):
    return bizkit("cost", "add", job, "--kind", kind, "--amount", amount, "--on", on, *more, "--json")


def reports(bizkit, job, tmp_path):
    """What the job, the margin, the quarter, the tax of the period and the bundle say was spent."""
    actual = bizkit("job", "actual", job, "--json").data
    margin = bizkit("report", "margin", "--json", "--on", "2027-07-01").data["rows"]
    quarter = bizkit("report", "quarter", "--json", "--on", "2027-07-01").data["rows"]
    tax = bizkit("report", "tax", "--from", "2027-04-06", "--to", "2027-07-05", "--json", "--on", "2027-07-06").data
    out = tmp_path / "bundle.zip"
    year = ("--from", "2027-04-06", "--to", "2028-04-05", "--on", "2027-07-06")
    assert bizkit("report", "bundle", *year, "--out", out).code == 0
    with zipfile.ZipFile(out) as bundle:
        rows = list(csv.DictReader(io.StringIO(bundle.read("costs.csv").decode("utf-8-sig"))))
    return {
        "spent": actual["total"]["spent"],
        "margin": next((row["costs"] for row in margin if row["name"] == job), "0.00"),
        "quarter": quarter[0]["costs"],
        "reclaimed": tax["tax_reclaimed"],
        "bundle": (
            f"{sum(Decimal(row['net']) for row in rows):.2f}", f"{sum(Decimal(row['tax']) for row in rows):.2f}"
        ),
    }  # fmt: skip


@pytest.mark.parametrize("said", [("--tax", "20"), ("--tax-rate", "20")])
def test_a_registered_studio_passes_a_cost_on_without_the_tax_it_reclaims(bizkit, job, tmp_path, said):
    # A boat at 120.00 with 20.00 of VAT in it: (120 - 20) + 10 % markup of the card = 110.00, and VAT on that
    done = add(bizkit, job, "boat", "120", *said, "--to-client", "--agreed", "Una Flett").data
    assert (done["tax"], done["reclaimed"], done["net"]) == ("20.00", "20.00", "100.00")
    assert done["charged"]["amount"] == "110.00"
    bill = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-14", "--json").data
    assert (bill["net"], bill["tax"], bill["gross"]) == ("110.00", "22.00", "132.00")
    assert reports(bizkit, job, tmp_path) == {
        "spent": "100.00", "margin": "100.00", "quarter": "100.00", "reclaimed": "20.00",
        "bundle": ("100.00", "20.00"),
    }  # fmt: skip
    (row,) = bizkit("cost", "list", job, "--json").data
    assert (row["amount"], row["tax"], row["net"]) == ("120.00", "20.00", "100.00")


def test_the_published_example_of_a_recharge(bizkit, job):
    # VAT Notice 700 section 25.1.1, read in a secondary page: 12.00 with 2.00 of tax in it is charged as 10.00 + VAT
    assert (
        add(bizkit, job, "parking", "12", "--tax", "2", "--to-client", "--agreed", "Una Flett").data["charged"][
            "amount"
        ]
        == "10.00"
    )
    bill = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-14", "--json").data
    assert (bill["net"], bill["tax"], bill["gross"]) == ("10.00", "2.00", "12.00")


@pytest.mark.parametrize(
    ("tax", "why"),
    [
        (UNREGISTERED, "not registered for VAT on 2027-05-12"),
        (FLAT_RATE, "in the flat-rate scheme"),
        (LATER, "not registered for VAT on 2027-05-12"),
    ],
)
def test_who_does_not_reclaim_passes_on_the_whole_and_has_it_as_a_cost(
    bizkit, job, studio, change, tmp_path, tax, why
):
    change(studio / "studio.toml", STANDARD, tax)
    done = add(bizkit, job, "boat", "120", "--tax", "20", "--to-client").data
    assert (done["tax"], done["reclaimed"], done["net"], done["why_not"]) == ("20.00", "0.00", "120.00", why)
    assert done["charged"]["amount"] == "132.00"
    said = bizkit("cost", "add", job, "--kind", "parking", "--amount", "-120", "--tax", "-20", "--on", ON).out
    assert f"which stays a cost: {why}" in said
    bizkit("overhead", "add", "Batteries", "120", "--tax-rate", "20", "--goods", "--on", ON)
    assert reports(bizkit, job, tmp_path) == {
        "spent": "0.00", "margin": "0.00", "quarter": "120.00", "reclaimed": "0.00", "bundle": ("120.00", "0.00"),
    }  # fmt: skip


def test_the_flat_rate_gives_back_the_tax_in_a_capital_good(bizkit, job, studio, change, tmp_path):
    # VAT Notice 733 section 15, from memory: capital goods of 2,000 or more, tax included
    change(studio / "studio.toml", STANDARD, FLAT_RATE)
    bizkit("overhead", "add", "Housing", "2400", "--tax-rate", "20", "--capital", "--on", ON)
    bizkit("overhead", "add", "Tripod", "1200", "--tax-rate", "20", "--capital", "--on", ON)
    found = reports(bizkit, job, tmp_path)
    assert (found["reclaimed"], found["quarter"]) == ("400.00", "3200.00")


def test_tax_that_is_noted_later_changes_what_is_charged_on(bizkit, job):
    number = add(bizkit, job, "boat", "120", "--to-client").data["number"]
    assert bizkit("charge", "list", job, "--json").data["open"][0]["net"] == "132.00"
    done = bizkit("overhead", "tax", number, "20", "--on", ON, "--json").data
    assert (done["charged"]["amount"], done["to_invoice"]) == ("110.00", "110.00")
    assert bizkit("charge", "list", job, "--json").data["open"][0]["net"] == "110.00"


def test_tax_that_is_noted_after_the_bill_gives_the_difference_back(bizkit, job):
    number = add(bizkit, job, "boat", "120", "--to-client", "--agreed", "Una Flett").data["number"]
    bill = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-13", "--json").data
    assert bill["net"] == "132.00"
    said = bizkit("overhead", "tax", number, "20", "--on", "2027-05-14").out
    assert "To invoice now: GBP -22.00" in said
    bizkit("invoice", "settle", job, "--on", "2027-05-15")
    sums = bizkit("job", "money", job, "--json").data
    assert Decimal(sums["invoiced"]) - Decimal(sums["credited"]) == Decimal("110.00")


def test_a_job_that_is_cancelled_has_its_costs_without_the_tax_reclaimed(bizkit, job):
    add(bizkit, job, "ferry", "180", "--tax", "30", on="2027-02-10")
    done = bizkit("quote", "cancel", job, "--preview", "--on", "2027-03-01", "--json").data
    assert [(line["item"], line["amount"]) for line in done["lines"]] == [
        ("Already spent: Ferry, vehicle and two people", "150.00")
    ]


def test_a_cost_in_the_tax_offices_money_on_a_job_in_another(bizkit, studio, change):
    brief = studio / "briefs" / "follow-the-kelp.toml"
    change(brief, 'currency = "GBP"', 'currency = "EUR"')
    with brief.open("a", encoding="utf-8") as file:
        file.write('\n[exchange]\nrate = 1.2\non = 2027-01-25\nsource = "invented"\n')
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, "follow-the-kelp", "--on", "2027-01-26")
        assert done.code == 0, done.err
    rate = ("--currency", "GBP", "--rate", "1.15", "--rate-source", "card bill")
    done = add(bizkit, "follow-the-kelp", "boat", "120", "--tax", "20", *rate, "--to-client").data
    # 100.00 at 1.15 = 115.00, + 10 % = 126.50
    assert (done["in_job"], done["net"], done["charged"]["amount"]) == ("138.00", "115.00", "126.50")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["120", "--tax", "20", "--tax-rate", "20"], "--tax: wanted either --tax or --tax-rate, got both"),
        (["120", "--tax", "121"], "--tax: wanted a part of GBP 120.00, got GBP 121.00"),
        (["120", "--tax", "120"], "--tax: wanted a part of GBP 120.00, got GBP 120.00. Less than all of it"),
        (["120", "--tax", "-20"], "--tax: wanted a part of GBP 120.00, got GBP -20.00"),
        (["120", "--tax", "20,5"], "--tax: wanted"),
        (["120", "--tax-rate", "100"], "--tax-rate: wanted a percent from 0 to 100"),
        (
            ["120", "--tax", "20", "--currency", "EUR", "--rate", "0.86", "--rate-source", "x"],
            "--tax: wanted no tax in EUR, as only tax in GBP can be reclaimed, got EUR 20.00",
        ),
    ],
)
def test_tax_that_cannot_be_inside_is_refused_and_nothing_is_recorded(bizkit, job, more, said):
    done = add(bizkit, job, "boat", *more)
    assert (done.code, said in done.err) == (2, True), done.err
    assert len(done.err.splitlines()) == 1
    assert bizkit("cost", "list", "--json").data == []


def test_tax_below_zero_is_not_inside_a_cost_above_it(bizkit, job):
    number = add(bizkit, job, "boat", "120").data["number"]
    done = bizkit("overhead", "tax", "--on", ON, "--", number, "-20")
    assert (done.code, "cannot be inside it" in done.err) == (1, True)


# --- a cost that was recorded wrongly


def spend(bizkit, job, *more, amount="120"):
    done = bizkit("cost", "add", job, "--kind", "boat", "--amount", amount, *more, "--on", "2027-05-12", "--json")
    assert done.code == 0, done.err
    return done.data["number"]


def charged(bizkit, job):
    return [(row["amount"], row["state"]) for row in bizkit("charge", "list", job, "--json").data["charges"]]


def take_back(bizkit, cost, *more):
    done = bizkit("cost", "reverse", cost, "--reason", "typed twice", "--on", "2027-05-20", *more, "--json")
    assert done.code == 0, done.err
    return done.data


def test_a_cost_taken_back_is_charged_to_nobody(bizkit, job):
    number = spend(bizkit, job, "--to-client", "--agreed", "Una")
    assert charged(bizkit, job) == [("132.00", "to invoice")]
    assert take_back(bizkit, number)["given_back"] == "0.00"
    assert charged(bizkit, job) == []
    rows = bizkit("cost", "list", job, "--json").data
    assert [(row["amount"], row["reverses"], row["reversed_by"]) for row in rows] == [
        ("120.00", 0, 2),
        ("-120.00", 1, 0),
    ]
    assert "taken back by 2" in bizkit("cost", "list", job).out
    again = bizkit("cost", "reverse", number, "--reason", "x", "--on", "2027-05-21")
    assert (again.code, "taken back already, by 2" in again.err) == (1, True)
    assert bizkit("cost", "reverse", 2, "--reason", "x", "--on", "2027-05-21").code == 1


def test_what_was_billed_of_it_is_given_back(bizkit, job):
    number = spend(bizkit, job, "--to-client", "--agreed", "Una")
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15").code == 0
    assert take_back(bizkit, number)["given_back"] == "132.00"
    assert charged(bizkit, job) == [("132.00", "invoiced"), ("-132.00", "to invoice")]
    settled = bizkit("invoice", "settle", job, "--on", "2027-05-22", "--json")
    assert settled.code == 0, settled.err


def test_a_negative_cost_does_not_leave_the_charge_of_the_same_sum(bizkit, job):
    number = spend(bizkit, job, "--to-client", "--agreed", "Una")
    refused = bizkit("cost", "add", job, "--kind", "boat", "--amount", "-120", "--on", "2027-05-13")
    assert (refused.code, f"bizkit cost reverse {number}" in refused.err) == (1, True)
    # A part that came back is another thing, and so is the same sum once the cost is taken back.
    assert spend(bizkit, job, amount="-20") == 2
    take_back(bizkit, number)
    assert spend(bizkit, job, amount="-120") == 4


def test_tax_goes_back_with_its_cost_and_the_job_costs_nothing_more(bizkit, job):
    before = bizkit("job", "actual", job, "--json").data
    number = spend(bizkit, job, "--tax", "20")
    done = take_back(bizkit, number)
    assert done["tax"] == "20.00"
    assert bizkit("job", "actual", job, "--json").data == before
    noted = bizkit("overhead", "tax", number, "10", "--on", "2027-05-22")
    assert (noted.code, "is taken back by 2" in noted.err) == (1, True)


@pytest.mark.parametrize(("option", "wanted"), [("", "Missing option"), ("  ", "wanted why it is taken back")])
def test_taking_back_says_why(bizkit, job, option, wanted):
    number = spend(bizkit, job)
    more = ["--reason", option] if option else []
    refused = bizkit("cost", "reverse", number, *more, "--on", "2027-05-20")
    assert (refused.code, wanted in refused.err) == (2, True)


def test_a_cost_is_not_taken_back_before_it_was_spent(bizkit, job):
    """The tax in it would move to a quarter in which nothing was bought."""
    number = spend(bizkit, job, "--tax", "20")
    early = bizkit("cost", "reverse", number, "--reason", "typed twice", "--on", "2027-05-11")
    assert (early.code, "--on: wanted a day from 2027-05-12 on, when it was spent" in early.err) == (2, True)
    take_back(bizkit, number)


def test_what_a_bill_holds_is_credited_on_that_bill(bizkit, job):
    number = spend(bizkit, job, "--to-client", "--agreed", "Una")
    charges = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-15", "--json").data["number"]
    stage = bizkit("invoice", "issue", job, "--stage", "1", "--on", "2027-05-16", "--json")
    assert stage.code == 0, stage.err
    take_back(bizkit, number)
    (note,) = bizkit("invoice", "settle", job, "--on", "2027-05-22", "--json").data["credit_notes"]
    assert note["credits"] == charges


def test_a_part_of_one_percent_is_asked_about(bizkit, job):
    typed = ["cost", "add", job, "--kind", "boat", "--amount", "108", "--tax-rate", "0.2", "--on", "2027-05-12"]
    done = bizkit(*typed)
    assert (done.code, "0.2 is a part of one percent: write 20" in done.err) == (2, True)


def test_what_the_quote_holds_already_is_a_look(bizkit, job):
    """The client would pay the boat twice: in the quote and as a cost passed on."""
    lines = [line["item"] for line in bizkit("quote", "show", job, "--json").data["document"]["lines"]]
    (boat,) = [one for one in lines if one.startswith("Boat")]
    done = bizkit("cost", "add", job, "--kind", "boat", "--amount", "120", "--to-client", "--on", "2027-05-12")
    assert f"Look: the quote holds this already: {boat}" in done.out
    other = bizkit("cost", "add", job, "--kind", "parking", "--amount", "12", "--to-client", "--on", "2027-05-12")
    assert "the quote holds this already" not in other.out
