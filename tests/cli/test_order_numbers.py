"""The order number and the reference that a client wants on the invoices of one job."""

from __future__ import annotations

from pathlib import Path

import pypdf

CLIENT = "clients/skerrow-islands-tourism.toml"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_an_order_number_of_the_job_stands_on_its_invoices_and_no_file_takes_it_away(bizkit, job, studio, change):
    change(studio / CLIENT, "business = true", 'business = true\npurchase_order = "PO-FILE"')
    said = bizkit("job", "order", job, "PO-7", "--reference", "Cost centre 9", "--on", "2027-02-08")
    assert "order number: PO-7" in said.out
    assert bizkit("job", "client", job, "--on", "2027-02-08").code == 0
    bill = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    text = text_of(bill["file"])
    assert "Your order PO-7" in text
    assert "Your reference Cost centre 9" in text
    xml = bizkit("invoice", "export", bill["number"], "--format", "ubl", "--json").data["file"]
    written = Path(xml).read_text(encoding="utf-8")
    assert "<cac:OrderReference><cbc:ID>PO-7</cbc:ID>" in "".join(written.split())
    assert bizkit("job", "order", job, "--on", "2027-02-08").code == 2


def test_a_brief_says_the_order_number_and_a_client_may_want_one(bizkit, studio, change):
    change(studio / CLIENT, "business = true", "business = true\nwants_order = true")
    draft = ("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    assert "pays no invoice without an order number" in bizkit(*draft).out
    brief = studio / "briefs" / "follow-the-kelp.toml"
    change(brief, 'currency = "GBP"', 'currency = "GBP"\npurchase_order = "PO-8"')
    assert "pays no invoice without an order number" not in bizkit(*draft).out
    bizkit("quote", "send", "follow-the-kelp", "--on", "2027-02-01")
    bizkit("quote", "accept", "follow-the-kelp", "--on", "2027-02-01")
    bill = bizkit("invoice", "issue", "follow-the-kelp", "--on", "2027-02-01", "--json").data
    assert bill["document"]["purchase_order"] == "PO-8"
