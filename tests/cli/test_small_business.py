"""A German small business (section 19 UStG) and other studios without tax, through the command line.

Sources: UStG sections 14(4) no. 2 (tax number or VAT number on every invoice), 19 and UStDV section 34a as read on
2026-11-25 in the published statute; EN 16931 BR-E-... for the category, see tests/exchange/einvoice.
"""

from __future__ import annotations

import pypdf
import pytest
from lxml import etree

JOB = "seegras-im-bodden"
RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"


@pytest.fixture
def german(bizkit, tmp_path, monkeypatch, change):
    """A German starter; `german(tax)` puts another [tax] table in it."""
    bizkit("init", tmp_path / "studio", "--starter", "eur-de")
    monkeypatch.chdir(tmp_path / "studio")

    def with_tax(lines: str):
        path = tmp_path / "studio" / "studio.toml"
        text = path.read_text("utf-8")
        start, end = text.index("[tax]"), text.index("[bank]")
        path.write_text(f"practice = true\n{text[:start]}[tax]\n{lines}\n\n{text[end:]}", "utf-8")
        return tmp_path / "studio"

    return with_tax


def first_invoice(bizkit):
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, JOB, "--on", "2027-05-04")
        assert done.code == 0, done.err
    return bizkit("invoice", "issue", JOB, "--on", "2027-05-05", "--json")


def test_its_invoice_says_why_no_tax_is_charged_and_names_the_steuernummer(bizkit, german):
    folder = german('registered = false\nname = "USt."\nlocal_number = "29/815/08157"')
    done = first_invoice(bizkit)
    assert done.code == 0, done.err
    document = done.data["document"]
    assert (document["tax"], document["net"]) == ("0.00", document["gross"])
    assert [tax["category"] for tax in document["taxes"]] == ["E"]
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(done.data["file"]).pages).split())
    assert "Steuerfrei nach § 19 UStG (Kleinunternehmer)" in text
    assert "Unsere Steuernummer 29/815/08157" in text
    assert "USt-IdNr." not in text
    bizkit("invoice", "export", done.data["number"], "--format", "cii", "--out", folder / "bill.xml")
    root = etree.parse(str(folder / "bill.xml"))
    (number,) = root.findall(f".//{RAM}SellerTradeParty/{RAM}SpecifiedTaxRegistration/{RAM}ID")
    assert (number.get("schemeID"), number.text) == ("FC", "29/815/08157")


def test_a_quote_that_ends_the_exemption_says_so_before_it_is_sent(bizkit, german, change):
    folder = german('registered = false\nname = "USt."\nlocal_number = "29/815/08157"')
    line = "in 2027, more than EUR 25000.00: from 2028 on you are no small business"
    small = [one for one in bizkit("price", JOB, "--on", "2027-05-04", "--json").data["warnings"] if "small" in one]
    card = folder / "rate-card.toml"
    card.write_text(card.read_text("utf-8").replace("day_rate = 650", "day_rate = 4650", 1), "utf-8")
    done = bizkit("quote", "draft", JOB, "--on", "2027-05-04")
    assert done.code == 0, done.err
    assert (small, line in " ".join(done.out.split())) == ([], True)


def test_without_any_tax_number_no_invoice_is_issued(bizkit, german):
    german('registered = false\nname = "USt."')
    done = first_invoice(bizkit)
    assert done.code == 1
    assert "studio.tax_number (the supplier's tax number; " in done.err
    assert bizkit("invoice", "list", "--json").data == []


def test_a_registered_studio_may_write_its_steuernummer_alone(bizkit, german):
    german('registered = true\nname = "USt."\nlocal_number = "29/815/08157"')
    done = first_invoice(bizkit)
    assert done.code == 0, done.err
    assert [tax["category"] for tax in done.data["document"]["taxes"]] == ["S"]


def test_a_steuernummer_in_the_wrong_place_is_told_where_it_goes(bizkit, german):
    german('registered = true\nnumber = "29/815/08157"')
    done = bizkit("price", JOB, "--on", "2027-05-04")
    assert done.code == 2
    assert "A Steuernummer is written as local_number" in done.err


def test_an_unregistered_british_invoice_shows_no_rate_and_no_vat(bizkit, studio, change):
    change(studio / "studio.toml", "registered = true", "registered = false")
    change(studio / "studio.toml", 'number = "GB980780684"', 'number = ""')
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "follow-the-kelp", "--on", "2027-01-26")
    done = bizkit("invoice", "issue", "follow-the-kelp", "--on", "2027-01-27", "--json").data
    assert [tax["category"] for tax in done["document"]["taxes"]] == ["O"]
    text = " ".join(pypdf.PdfReader(done["file"]).pages[0].extract_text().split())
    assert "No VAT charged: the supplier is not registered for VAT" in text
    assert "0%" not in text.replace("50%", "")


def test_an_employer_number_is_no_vat_number_on_paper(bizkit, studio, change):
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    change(client, 'country = "GB"', 'country = "US"\ntax_number = "12-3456789"\nbusiness_evidence = "register"')
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "follow-the-kelp", "--on", "2027-01-26")
    done = bizkit("invoice", "issue", "follow-the-kelp", "--on", "2027-01-27", "--json").data
    text = " ".join(pypdf.PdfReader(done["file"]).pages[0].extract_text().split())
    assert "Tax no. 123456789" in text
    assert "VAT no. 123456789" not in text
