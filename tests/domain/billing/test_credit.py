"""Credit notes never take back more than was invoiced."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.billing.credit import credit_note, left_to_credit
from bizkit.domain.billing.lines import Allowance, InvoiceLine
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money

LATER = date(2027, 6, 1)


def part(amount, category="S", percent="20"):
    return InvoiceLine("Part", Decimal(1), "part", Money(amount, "GBP"), category, Decimal(percent))


def credit(original, number="CN-2027-0001", **more):
    return credit_note(**{"original": original, "number": number, "issued_on": LATER, "reason": "Agreed", **more})


def test_a_whole_credit_mirrors_the_invoice(issue):
    invoice = issue((2, "450"), (1, "33.33"), allowances=[Allowance("Off", Money(50, "GBP"), "S", Decimal(20))])
    note = credit(invoice)
    assert note["kind"] == "credit_note"
    assert note["credits"] == {"number": "GL-2027-0001", "issued_on": "2027-05-10"}
    assert (note["net"], note["tax"], note["gross"]) == (invoice["net"], invoice["tax"], invoice["gross"])
    assert note["lines"] == invoice["lines"]


def test_parts_and_the_rest_come_to_the_invoice_exactly(issue):
    # 20 % of 100.03 is 20.006; halves of 50.01 and 50.02 would round to 10.00 each.
    invoice = issue((1, "100.03"))
    first = credit(invoice, lines=[part("50.01")])
    rest = credit(invoice, "CN-2027-0002", credited=[first])
    assert (first["tax"], rest["net"], rest["tax"]) == ("10.00", "50.02", "10.01")
    with pytest.raises(RuleBroken, match="is credited in full already"):
        credit(invoice, "CN-2027-0003", credited=[first, rest])


def test_more_than_is_left_is_refused(issue):
    invoice = issue((1, "100"))
    first = credit(invoice, lines=[part("60")])
    with pytest.raises(RuleBroken, match=r"has GBP 40.00 without tax left to credit at 20 %, not GBP 40.01"):
        credit(invoice, lines=[part("40.01")], credited=[first])
    with pytest.raises(RuleBroken, match=r"nothing taxed as Z at 0 %"):
        credit(invoice, lines=[part("10", "Z", "0")])


def test_a_credit_before_the_invoice_without_reason_or_of_a_credit_note_is_refused(issue):
    invoice = issue((1, "100"))
    with pytest.raises(RuleBroken, match="cannot be credited on 2027-05-09"):
        credit(invoice, issued_on=date(2027, 5, 9))
    with pytest.raises(BadInput, match="wanted a reason for the credit"):
        credit(invoice, reason=" ")
    with pytest.raises(RuleBroken, match="only an invoice can be credited"):
        credit(credit(invoice))


@settings(max_examples=50)
@given(
    pence=st.integers(1, 50_000),
    cuts=st.lists(st.integers(1, 20_000), max_size=6),
    percent=st.sampled_from(["20", "5", "19", "25.5"]),
)
def test_credits_never_pass_the_invoice_in_any_sum(pence, cuts, percent):
    invoice = {
        **BARE,
        "taxes": [
            {
                "category": "S",
                "name": "VAT",
                "rate": percent,
                "base": str(Decimal(pence) / 100),
                "amount": str((Decimal(pence) * Decimal(percent) / 10000).quantize(Decimal("0.01"), "ROUND_HALF_UP")),
                "note": "",
            }
        ],
    }
    notes = []
    for cut in cuts:
        amount = str(Decimal(cut) / 100)
        try:
            notes.append(credit(invoice, lines=[part(amount, percent=percent)], credited=notes))
        except RuleBroken:
            continue
    ((base, tax),) = left_to_credit(invoice, notes).values()
    assert base.amount >= 0
    assert tax.amount >= 0
    if base:
        notes.append(credit(invoice, lines=[part(base.text, percent=percent)], credited=notes))
    ((base, tax),) = left_to_credit(invoice, notes).values()
    assert (base.amount, tax.amount) == (0, 0)


BARE = {
    "kind": "invoice",
    "number": "GL-1",
    "issued_on": "2027-05-10",
    "currency": "GBP",
    "title": "Kelp",
    "simplified": False,
    "studio": {"name": "A", "address": ["B"], "country": "GB", "tax_number": "GB980780684"},
    "client": {"name": "C", "address": ["D"], "country": "GB", "tax_number": ""},
    "lines": [],
    "allowances": [],
    **dict.fromkeys(("language", "locale", "paper_size", "job", "quote", "purchase_order", "buyer_reference"), ""),
    "payment": {},
}
