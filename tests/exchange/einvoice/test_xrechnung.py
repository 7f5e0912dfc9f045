"""XRechnung is claimed for a German public body, and only by what holds its rules.

The rules are stated here once more, in our words and apart from the code, as read on 2026-11-26 in the publisher's
rule files for XRechnung 3.0 (version 2.5.0 of January 2026). Each has its name there. The published files themselves
were run beside over the whole matrix in both syntaxes; they are not kept here.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lxml import etree

from bizkit.domain.registrations import Bank
from bizkit.exchange.einvoice.cii import cii, cii_of
from bizkit.exchange.einvoice.claim import EN_16931, claim
from bizkit.exchange.einvoice.peppol import PEPPOL
from bizkit.exchange.einvoice.terms import terms
from bizkit.exchange.einvoice.ubl import ubl
from bizkit.exchange.einvoice.xrechnung import XRECHNUNG

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"

#: Rule -> where each syntax says it; every one must be there.
THERE = {
    "BR-DE-1": (f"{CAC}PaymentMeans", f".//{RAM}SpecifiedTradeSettlementPaymentMeans"),
    "BR-DE-3": (
        f"{CAC}AccountingSupplierParty//{CAC}PostalAddress/{CBC}CityName",
        f".//{RAM}SellerTradeParty/{RAM}PostalTradeAddress/{RAM}CityName",
    ),
    "BR-DE-4": (
        f"{CAC}AccountingSupplierParty//{CAC}PostalAddress/{CBC}PostalZone",
        f".//{RAM}SellerTradeParty/{RAM}PostalTradeAddress/{RAM}PostcodeCode",
    ),
    "BR-DE-5": (
        f"{CAC}AccountingSupplierParty//{CAC}Contact/{CBC}Name",
        f".//{RAM}SellerTradeParty/{RAM}DefinedTradeContact/{RAM}PersonName",
    ),
    "BR-DE-6": (
        f"{CAC}AccountingSupplierParty//{CAC}Contact/{CBC}Telephone",
        f".//{RAM}SellerTradeParty/{RAM}DefinedTradeContact/{RAM}TelephoneUniversalCommunication/{RAM}CompleteNumber",
    ),
    "BR-DE-7": (
        f"{CAC}AccountingSupplierParty//{CAC}Contact/{CBC}ElectronicMail",
        f".//{RAM}SellerTradeParty/{RAM}DefinedTradeContact/{RAM}EmailURIUniversalCommunication/{RAM}URIID",
    ),
    "BR-DE-8": (
        f"{CAC}AccountingCustomerParty//{CAC}PostalAddress/{CBC}CityName",
        f".//{RAM}BuyerTradeParty/{RAM}PostalTradeAddress/{RAM}CityName",
    ),
    "BR-DE-9": (
        f"{CAC}AccountingCustomerParty//{CAC}PostalAddress/{CBC}PostalZone",
        f".//{RAM}BuyerTradeParty/{RAM}PostalTradeAddress/{RAM}PostcodeCode",
    ),
    "BR-DE-15": (f"{CBC}BuyerReference", f".//{RAM}BuyerReference"),
    "PEPPOL-EN16931-R001": (
        f"{CBC}ProfileID",
        f".//{RAM}BusinessProcessSpecifiedDocumentContextParameter/{RAM}ID",
    ),
    "PEPPOL-EN16931-R010": (
        f"{CAC}AccountingCustomerParty/{CAC}Party/{CBC}EndpointID",
        f".//{RAM}BuyerTradeParty/{RAM}URIUniversalCommunication/{RAM}URIID",
    ),
    "PEPPOL-EN16931-R020": (
        f"{CAC}AccountingSupplierParty/{CAC}Party/{CBC}EndpointID",
        f".//{RAM}SellerTradeParty/{RAM}URIUniversalCommunication/{RAM}URIID",
    ),
}


def broken(xml: bytes, syntax: int) -> set[str]:
    """Names of the rules that an XML breaks. syntax: 0 UBL, 1 CII."""
    root = etree.fromstring(xml)
    wrong = {
        rule for rule, paths in THERE.items() if not any((one.text or "").strip() or len(one)
                                                         for one in root.iterfind(paths[syntax]))
    }  # fmt: skip
    phone, mail = (root.findtext(THERE[rule][syntax]) or "" for rule in ("BR-DE-6", "BR-DE-7"))
    if len(re.findall(r"\d", phone)) < 3:
        wrong.add("BR-DE-27")
    if not re.match(r"^[^@\s]+@([^@.\s]+\.)+[^@.\s]+$", mail):
        wrong.add("BR-DE-28")
    code = root.findtext((f"{CBC}InvoiceTypeCode", f".//{RAM}TypeCode")[syntax]) or root.findtext(
        f"{CBC}CreditNoteTypeCode"
    )
    if code not in ("326", "380", "384", "389", "381", "875", "876", "877"):
        wrong.add("BR-DE-17")
    rates = (
        (f"{CAC}TaxTotal/{CAC}TaxSubtotal/{CAC}TaxCategory", f"{CBC}Percent"),
        (f".//{RAM}ApplicableHeaderTradeSettlement/{RAM}ApplicableTradeTax", f"{RAM}RateApplicablePercent"),
    )[syntax]
    if any(not part.findtext(rates[1]) for part in root.iterfind(rates[0])):
        wrong.add("BR-DE-14")
    return wrong


@pytest.mark.parametrize(("syntax", "write"), tuple(enumerate((ubl, cii))), ids=("ubl", "cii"))
def test_what_claims_xrechnung_holds_its_rules_and_what_does_not_lists_what_it_breaks(paper, syntax, write):
    claimed, xml = claim(paper, write.__name__), write(paper)
    assert f">{claimed.specification}<".encode() in xml
    if claimed.specification == XRECHNUNG:
        assert claimed.xrechnung_gaps == ()
        assert broken(xml, syntax) == set()
        return
    assert b"xrechnung" not in xml
    named = set(re.findall(r"(BR-DE-\d+|PEPPOL-EN16931-R\d+)", " ".join(claimed.xrechnung_gaps)))
    assert not named or broken(xml, syntax) & named


def test_which_of_the_matrix_are_xrechnungen(matrix):
    for syntax in ("ubl", "cii"):
        claims = {name for name, paper in matrix.items() if claim(paper, syntax).specification == XRECHNUNG}
        assert claims == {name for name in matrix if name.startswith("XRechnung")}


def test_a_hybrid_stays_of_the_profile_that_its_pdf_names(matrix):
    xml = cii_of(terms(matrix["XRechnung"]), EN_16931)
    assert f">{EN_16931}<".encode() in xml
    assert b"xrechnung" not in xml


def test_a_deposit_is_a_bill_in_part(matrix):
    assert b"<cbc:InvoiceTypeCode>326<" in ubl(matrix["XRechnung, deposit"])
    assert b"<ram:TypeCode>326<" in cii(matrix["XRechnung, deposit"])
    assert b"<cbc:InvoiceTypeCode>386<" in ubl(matrix["deposit within Germany"])


@pytest.mark.parametrize(
    ("studio", "client", "rule"),
    [
        ({"bank": Bank()}, {}, "BR-DE-1"),
        ({"city": ""}, {}, "BR-DE-3"),
        ({"postcode": ""}, {}, "BR-DE-4"),
        ({"people": ()}, {}, "BR-DE-5"),
        ({"phone": "12"}, {}, "BR-DE-6, BR-DE-27"),
        ({"email": "hello@nowhere", "endpoint": "9930:DE136695976"}, {}, "BR-DE-7, BR-DE-28"),
        ({}, {"city": ""}, "BR-DE-8"),
        ({}, {"postcode": ""}, "BR-DE-9"),
        ({}, {"email": ""}, "PEPPOL-EN16931-R010"),
    ],
)
def test_each_thing_that_lacks_is_named_with_its_rule_and_not_claimed(
    make_document, public_parties, studio, client, rule
):
    seller, buyer = public_parties
    paper = make_document(studio=replace(seller, **studio), client=replace(buyer, **client), currency="EUR")
    for syntax, write in (("ubl", ubl), ("cii", cii)):
        claimed = claim(paper, syntax)
        assert [gap.rpartition("(")[2] for gap in claimed.xrechnung_gaps] == [f"{rule})"]
        assert f">{EN_16931}<".encode() in write(paper)


@pytest.mark.parametrize(
    ("reference", "country", "expected"),
    [
        ("04011000-12345-03", "DE", XRECHNUNG),
        ("991-03730-19", "DE", XRECHNUNG),  # example of the library, a Federation's number
        ("04011000-12345-04", "DE", PEPPOL),  # wrong check digits
        ("Kreditor 4711", "DE", PEPPOL),
        ("04011000-12345-03", "IE", PEPPOL),  # only German bodies have one
    ],
)
def test_a_leitweg_id_of_a_german_client_asks_for_it(make_document, peppol_parties, reference, country, expected):
    studio, client = peppol_parties["DE"]
    buyer = replace(
        client,
        buyer_reference=reference,
        country=country,
        tax_number=client.tax_number if country == "DE" else "IE6433435F",
    )
    paper = make_document(studio=studio, client=buyer, currency="EUR")
    assert claim(paper, "ubl").specification == expected
