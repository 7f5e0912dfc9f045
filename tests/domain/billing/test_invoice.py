"""Invoices as documents."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.contents import missing_contents
from bizkit.domain.billing.home_tax import tax_at_home
from bizkit.domain.billing.lines import Allowance, InvoiceLine, deduction_lines, income_split, stage_lines
from bizkit.domain.billing.plan import BillingPlan, Stage, stage_amounts
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.registrations import TaxStatus


def gbp(text):
    return Money(text, "GBP")


def line(quantity, rate, category="S", percent="20", **more):
    return InvoiceLine("Work", Decimal(quantity), "day", gbp(rate), category, Decimal(percent), **more)


def test_the_computed_row_of_lines_allowance_and_prepaid(issue):
    # check-values: passes the CEN rules (0 fatal of 114); computed.
    lines = [line("2.5", "450"), line("7.25", "65"), line("3", "33.33", "Z", "0")]
    document = issue(
        lines=lines,
        allowances=[Allowance("Season discount", gbp("50"), "S", Decimal(20))],
        prepaid=gbp("500"),
    )
    assert [entry["amount"] for entry in document["lines"]] == ["1125.00", "471.25", "99.99"]
    assert sum(Decimal(entry["amount"]) for entry in document["lines"]) == Decimal("1696.24")
    assert {key: document[key] for key in ("net", "tax", "gross", "prepaid", "due")} == {
        "net": "1646.24",
        "tax": "309.25",
        "gross": "1955.49",
        "prepaid": "500.00",
        "due": "1455.49",
    }


def test_the_peppol_allowance_example(issue):
    # OpenPEPPOL, BIS Billing 3 example "Allowance-example": net 5900, tax 1225, gross 7125, prepaid 1000, due 6125.
    lines = [
        InvoiceLine("Item 1", Decimal(10), "unit", Money(410, "EUR"), "S", Decimal(25), fixed=Money(4000, "EUR")),
        InvoiceLine(
            "Item 2", Decimal(10), "unit", Money(200, "EUR"), "E", Decimal(0), "Exempt", fixed=Money(1000, "EUR")
        ),
        InvoiceLine("Item 3", Decimal(10), "unit", Money(100, "EUR"), "S", Decimal(25), fixed=Money(900, "EUR")),
    ]
    document = issue(
        lines=lines,
        currency="EUR",
        prepaid=Money(1000, "EUR"),
        tax_at_home=tax_at_home(Money(1225, "EUR"), "0.85", "GBP", source="bank", on=date(2027, 5, 10)),
    )
    assert (document["net"], document["tax"], document["gross"], document["due"]) == (
        "5900.00",
        "1225.00",
        "7125.00",
        "6125.00",
    )


def test_the_document_has_the_members_of_the_contract(issue):
    document = issue((1, "100"), quote={"number": "Q-2027-0001", "revision": 1, "accepted_on": "2027-03-01"})
    assert document["kind"] == "invoice"
    assert document["studio"]["tax_number"] == "GB980780684"
    assert document["client"]["name"] == "Skerrow Islands Tourism"
    assert document["lines"][0] == {
        "item": "Line 1",
        "quantity": "1",
        "unit": "day",
        "rate": "100.00",
        "amount": "100.00",
        "category": "S",
        "tax_rate": "20",
        "section": "",
        "source": "",
    }
    assert document["reckoning"] == [{"why": ""}]
    assert document["taxes"] == [
        {"category": "S", "name": "VAT", "rate": "20", "base": "100.00", "amount": "20.00", "note": ""}
    ]
    assert document["payment"] == {
        "terms": "30 days",
        "account_name": "Gannet & Lark Films",
        "iban": "GB29NWBK60161331926819",
        "bic": "NWBKGB2L",
        "reference": "GL-2027-0001",
    }


@pytest.mark.parametrize(
    ("gap", "rule"),
    [
        ({"number": ""}, r"number \(a sequential number; reg 14\(1\)\(a\)"),
        ({"studio": {"address": ()}}, r"studio.address \(the supplier's address; reg 14\(1\)\(d\)"),
        ({"client": {"address": ()}}, r"client.address \(the customer's address; reg 14\(1\)\(e\)"),
        ({"studio": {"tax": TaxStatus(registered=True)}}, r"studio.tax_number .* reg 14\(1\)\(d\)"),
    ],
)
def test_an_invoice_that_lacks_what_regulation_14_asks_is_not_issued(issue, studio, client, gap, rule):
    # SI 1995/2518 reg 14: contents of a full VAT invoice.
    changes = {
        "studio": replace(studio, **gap.get("studio", {})),
        "client": replace(client, **gap.get("client", {})),
    }
    if "number" in gap:
        changes["number"] = gap["number"]
    with pytest.raises(RuleBroken, match=rule):
        issue((1, "100"), **changes)


@pytest.mark.parametrize(
    ("path", "field"),
    # SI 1995/2518 reg 14: number, tax point, issue date, supplier's name, address and VAT number, customer's name and
    # address, description, per line quantity, unit price, rate and net, total net. (Total VAT in sterling: below.)
    [
        ("number", "number"),
        ("tax_point", "tax_point"),
        ("issued_on", "issued_on"),
        ("studio.name", "studio.name"),
        ("studio.address", "studio.address"),
        ("studio.tax_number", "studio.tax_number"),
        ("client.name", "client.name"),
        ("client.address", "client.address"),
        ("lines.0.item", "lines.item"),
        ("lines.0.quantity", "lines.quantity"),
        ("lines.0.rate", "lines.rate"),
        ("lines.0.tax_rate", "lines.tax_rate"),
        ("lines.0.amount", "lines.amount"),
        ("net", "net"),
    ],
)
def test_every_content_of_regulation_14_is_missed_when_blank(issue, path, field):
    document = issue((1, "100"))
    assert missing_contents(document) == []
    *steps, last = path.split(".")
    node = document
    for step in steps:
        node = node[int(step) if step.isdigit() else step]
    node[last] = "" if isinstance(node[last], str) else []
    assert [gap.field for gap in missing_contents(document)] == [field]


def test_several_gaps_are_named_at_once(issue, studio, client):
    with pytest.raises(RuleBroken, match=r"studio.address .*; client.address"):
        issue((1, "100"), studio=replace(studio, address=()), client=replace(client, address=()))


def test_a_simplified_invoice_goes_up_to_250_pounds_and_not_a_penny_more(issue, client):
    # SI 1995/2518 reg 16A: allowed at 250.00, not at 250.01.
    nameless = replace(client, address=())
    document = issue(lines=[line("1", "208.33")], client=nameless, simplified=True)
    assert document["gross"] == "250.00"
    with pytest.raises(RuleBroken, match=r"goes up to GBP 250.00, this one is GBP 250.01"):
        issue(lines=[line("1", "208.34")], client=nameless, simplified=True)


def test_a_foreign_currency_invoice_shows_its_tax_in_sterling(issue):
    # SI 1995/2518 reg 14(1): total VAT expressed in sterling.
    with pytest.raises(RuleBroken, match=r"tax_in \(the total tax in the money of the tax office"):
        issue((1, "100"), currency="EUR")
    at_home = tax_at_home(Money(20, "EUR"), "0.85", "GBP", source="tax office, May 2027", on=date(2027, 5, 1))
    document = issue((1, "100"), currency="EUR", tax_at_home=at_home)
    assert document["tax_in"]["amount"] == "17.00"


def test_a_reverse_charge_invoice_needs_no_sterling_but_the_number(issue, client):
    irish = replace(client, country="IE", tax_number="IE6433435F")
    document = issue((1, "100"), currency="EUR", client=irish)
    assert document["tax"] == "0.00"
    broken = {**document, "client": {**document["client"], "tax_number": ""}}
    assert [gap.field for gap in missing_contents(broken)] == ["client.tax_number"]


def test_a_pro_forma_takes_no_number_and_is_not_held_to_the_contents(issue, client):
    document = issue((1, "100"), kind="pro_forma", number="", client=replace(client, address=()))
    assert document["kind"] == "pro_forma"
    with pytest.raises(RuleBroken, match="takes no number of the invoice series"):
        issue((1, "100"), kind="pro_forma")


def test_what_cannot_be_an_invoice_is_refused(issue):
    with pytest.raises(RuleBroken, match="at least one line"):
        issue()
    with pytest.raises(RuleBroken, match="less than nothing is a credit note"):
        issue((-1, "100"))
    with pytest.raises(RuleBroken, match="cannot be due before"):
        issue((1, "100"), due_on=date(2027, 5, 9))
    with pytest.raises(RuleBroken, match="more than the gross"):
        issue((1, "100"), prepaid=gbp("120.01"))
    with pytest.raises(RuleBroken, match="GBP and EUR do not mix"):
        issue((1, "100"), allowances=[Allowance("x", Money(1, "EUR"), "S", Decimal(20))])
    with pytest.raises(RuleBroken, match="no line bears tax Z at 0 %"):
        issue((1, "100"), allowances=[Allowance("x", gbp("1"), "Z", Decimal(0))])
    with pytest.raises(BadInput, match="unit price of zero or more"):
        line("1", "-5")


def test_what_is_due_can_be_rounded_to_five_cents(issue, studio, client):
    document = issue((1, "10.02"), rounding=gbp("-0.02"))
    assert (document["gross"], document["rounding"], document["due"]) == ("12.02", "-0.02", "12.00")


def test_a_final_invoice_deducts_the_earlier_ones_and_the_job_adds_up(issue):
    price = {("S", Decimal(20)): gbp("4321.09")}
    plan = BillingPlan(
        (Stage("On acceptance", Decimal(30), "acceptance"), Stage("On delivery", Decimal(70), "delivery"))
    )
    first = stage_amounts(price, plan)[0]
    deposit = issue(lines=stage_lines(first, item="30 % on acceptance", source="quote Q-2027-0001", notes={}))
    final = issue(
        lines=[line("1", "4321.09"), *deduction_lines([deposit])],
        number="GL-2027-0002",
        issued_on=date(2027, 7, 1),
    )
    assert final["lines"][1]["item"] == "Less invoice GL-2027-0001 of 2027-05-10"
    assert final["lines"][1]["quantity"] == "-1"
    assert Decimal(deposit["net"]) + Decimal(final["net"]) == Decimal("4321.09")
    # 20 % of 4321.09 is 864.218
    assert Decimal(deposit["tax"]) + Decimal(final["tax"]) == Decimal("864.22")


def test_income_is_split_by_kind_and_adds_up():
    quoted = {"crew": gbp("3000"), "kit": gbp("1000"), "licence": gbp("1000"), "discount": gbp("-500")}
    stage = line("1", "1000.01")
    extra = line("1", "200", section="post")
    split = income_split([stage, extra], gbp("1200.01"), quoted)
    assert {kind: amount.text for kind, amount in split.items()} == {
        "post": "200.00",
        "crew": "600.01",
        "kit": "200.00",
        "licence": "200.00",
    }
    assert {k: v.text for k, v in income_split([stage], gbp("1000.01"), {}).items()} == {"other": "1000.01"}
