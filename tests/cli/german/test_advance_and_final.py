"""Invoices for work still to be done, and the final one that takes them off, on paper and in the XML.

Sources: UStG § 14 Abs. 4 Nr. 6 (time of supply), § 14 Abs. 5 Satz 2 (a final invoice takes off advances and their
tax), § 27 Abs. 1 Satz 2 and 3, § 14 Abs. 4 Nr. 6a from 2028; EN 16931 BT-3 (UNTDID 1001: 326 partial, 386
prepayment, 380 invoice), BT-8 (UNTDID 2005 code 432, in CII 2475 code 72), BR-CO-03, BG-3.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from lxml import etree

from .conftest import JOB, text_of

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"


def xml(bizkit, number, format_, tmp_path):
    out = tmp_path / f"{number}.{format_}"
    done = bizkit("invoice", "export", number, "--format", format_, "--out", out)
    assert done.code == 0, done.err
    return etree.parse(str(out))


def texts(root, name):
    return [node.text for node in root.iter(name)]


def test_an_advance_says_in_the_xml_that_it_is_one_and_names_no_day_of_its_tax(
    bizkit, client, opened, issue, tmp_path
):
    client("firm")
    opened()
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-06")
    assert "Its tax falls due as it is paid" in done.out
    assert "Tax point" not in done.out
    number = bizkit("invoice", "list", "--json").data[0]["number"]
    cii = xml(bizkit, number, "cii", tmp_path)
    assert texts(cii, f"{RAM}TypeCode")[0] == "326"
    assert texts(cii, f"{RAM}DueDateTypeCode") == ["72"]
    assert list(cii.iter(f"{RAM}TaxPointDate")) == []
    ubl = xml(bizkit, number, "ubl", tmp_path)
    assert texts(ubl, f"{CBC}InvoiceTypeCode") == ["326"]
    assert texts(ubl, f"{CBC}DescriptionCode") == ["432"]
    assert texts(ubl, f"{CBC}TaxPointDate") == []


def test_money_that_came_after_the_work_is_no_advance_anywhere(bizkit, client, opened, delivered, tmp_path):
    client("firm")
    opened()
    delivered("2027-07-15")
    made = bizkit("invoice", "deposit", JOB, "1000", "--received", "2027-09-01", "--on", "2027-09-12", "--json").data
    text = text_of(made["file"])
    assert "Anzahlung, Leistung steht noch aus" not in text
    assert "Anzahlungsrechnung" not in text
    assert "Leistungszeitraum 14. Juni 2027 bis 15. Juli 2027" in text
    cii = xml(bizkit, made["number"], "cii", tmp_path)
    assert texts(cii, f"{RAM}TypeCode")[0] == "380"


def test_the_final_invoice_shows_the_whole_price_and_the_tax_of_what_it_takes_off(
    bizkit, client, opened, issue, delivered, tmp_path
):
    client("firm")
    opened()
    first = issue(on="2027-05-06")
    assert bizkit("payment", "add", "5000", "--invoice", first["number"], "--on", "2027-05-20").code == 0
    delivered("2027-07-15")
    last = issue("--final", on="2027-07-20")
    said = last["document"]["advances"]
    whole = {name: f"{float(first[name]) + float(last[name]):.2f}" for name in ("net", "tax", "gross")}
    assert {name: said[name] for name in ("net", "tax", "gross")} == whole
    (row,) = said["invoices"]
    left = f"{float(first['gross']) - 5000:.2f}"
    assert (row["number"], row["net"], row["tax"], row["paid"], row["left"]) == (
        first["number"], first["net"], first["tax"], "5000.00", left,
    )  # fmt: skip
    text = text_of(last["file"])
    assert "Gesamtpreis: " in text
    assert f"Davon abgesetzt: Rechnung {first['number']} vom 6. Mai 2027" in text
    assert "bezahlt sind 5.000,00" in text
    assert f"Aus der Rechnung {first['number']} sind noch" in text
    for format_, name in (("cii", f"{RAM}InvoiceReferencedDocument"), ("ubl", None)):
        root = xml(bizkit, last["number"], format_, tmp_path)
        found = (
            [node.findtext(f"{RAM}IssuerAssignedID") for node in root.iter(name)]
            if name
            else [node.findtext(f"{CBC}ID") for node in root.iter() if node.tag.endswith("InvoiceDocumentReference")]
        )
        assert found == [first["number"]]


def test_no_final_invoice_while_the_work_is_not_done_without_a_reason(bizkit, client, opened, issue):
    client("firm")
    opened()
    refused = bizkit("invoice", "issue", JOB, "--final", "--on", "2027-06-20")
    assert refused.code == 1
    assert "UStG § 14 Abs. 4 Nr. 6" in refused.err
    assert "bizkit deliverable approve" in refused.err
    assert bizkit("invoice", "list", "--json").data == []
    made = issue("--final", "--reason", "vereinbart", on="2027-06-20")
    text = text_of(made["file"])
    assert "Schlussrechnung" not in text
    assert "Abschlagsrechnung" in text


def test_work_done_after_registration_bears_the_tax_in_full(bizkit, taxed, client, opened, issue, delivered):
    before = 'registered = true\nregistered_from = 2027-06-01\nname = "USt."\nlocal_number = "29/815/08157"'
    taxed(before)
    client("firm")
    opened()
    first = issue(on="2027-05-06")
    assert first["tax"] == "0.00"
    delivered("2027-07-15")
    refused = bizkit("invoice", "issue", JOB, "--final", "--on", "2027-07-20")
    assert refused.code == 1
    assert f"credit it with bizkit invoice credit {first['number']}" in refused.err
    # A reason is why tax comes on top, and no word of an adviser that only the rest bears it.
    for more in (("--reason", "registered since June"), ("--add-tax", "--reason", "registered since June")):
        assert bizkit("invoice", "issue", JOB, "--final", *more, "--on", "2027-07-20").err == refused.err
    credit = ("--reason", "Steuer ab Juni", "--on", "2027-07-20")
    assert bizkit("invoice", "credit", first["number"], *credit).code == 0
    last = issue("--final", on="2027-07-20")
    quote = bizkit("quote", "show", JOB, "--json").data["document"]
    # 19 % of the whole quote.
    assert last["net"] == quote["net"]
    assert round(float(last["tax"]) * 100) == round(float(quote["net"]) * 19)
    assert last["document"]["advances"] is None


def test_from_2028_an_invoice_taxed_by_payment_says_so(bizkit, taxed, client, opened, delivered, issue, tmp_path):
    taxed('registered = true\nname = "USt."\nnumber = "DE136695976"\naccounting = "cash"')
    client("firm")
    opened()
    early = issue(on="2027-12-30")
    assert "vereinnahmten Entgelten" not in text_of(early["file"])
    delivered("2028-01-05")
    late = issue("--final", on="2028-01-11")
    assert "Versteuerung nach vereinnahmten Entgelten" in text_of(late["file"])
    cii = xml(bizkit, late["number"], "cii", tmp_path)
    assert "Versteuerung nach vereinnahmten Entgelten" in texts(cii, f"{RAM}Content")
    assert texts(cii, f"{RAM}DueDateTypeCode") == ["72"]


def test_no_invoice_tells_the_client_that_it_is_no_advice_but_the_studio_is_told(bizkit, client, opened):
    client("firm")
    opened()
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-06")
    assert "no tax advice" in done.out
    number = bizkit("invoice", "list", "--json").data[0]["number"]
    file = bizkit("invoice", "show", number, "--json").data["file"]
    assert "Steuerberatung" not in text_of(file)


@pytest.mark.parametrize("how", ["lowered", "open again", "billed again"])
def test_the_final_invoice_names_what_corrected_an_advance_and_the_amounts_after_it(
    bizkit, client, opened, issue, delivered, how
):
    client("firm")
    opened()
    quote = bizkit("quote", "show", JOB, "--json").data["document"]
    first = issue(on="2027-05-06")
    lower = ("--lower-price",) if how == "lowered" else ()
    less = ("--amount", "1000", "--reason", "weniger", *lower, "--on", "2027-05-20", "--json")
    note = bizkit("invoice", "credit", first["number"], *less).data
    again = issue("--charges", on="2027-05-21") if how == "billed again" else None
    delivered("2027-07-15")
    last = issue("--final", on="2027-07-20")
    said = last["document"]["advances"]
    net = Decimal(quote["net"]) - (1000 if how == "lowered" else 0)
    # 19 % of the price as it is agreed by now.
    assert (Decimal(said["net"]), Decimal(said["gross"])) == (net, net + Decimal(said["tax"]))
    assert abs(Decimal(said["tax"]) - net * 19 / 100) <= Decimal("0.01")
    of_first = Decimal(first["net"]) - 1000
    rows = [(row["number"], Decimal(row["net"])) for row in said["invoices"]]
    assert rows == [(first["number"], of_first), *([(again["number"], Decimal(1000))] if again else [])]
    assert sum(Decimal(row["gross"]) for row in said["invoices"]) + Decimal(last["gross"]) == Decimal(said["gross"])
    text = text_of(last["file"])
    assert f"Rechnung {first['number']} vom 6. Mai 2027 nach Rechnungskorrektur {note['number']} vom 20. Mai" in text
    named = [one["number"] for one in last["document"]["preceding"]]
    assert named == [first["number"], note["number"], *([again["number"]] if again else [])]
