"""Peppol BIS Billing 3 is claimed only by what holds its rules.

The rules are stated here once more, in our words and apart from the code, as read on 2026-11-25 in release 3.0.19 of
May 2025 (PEPPOL-EN16931-UBL.sch of the publisher's repository). Each has its name there. The published file itself
was run beside over the whole matrix of studios, clients, currencies and kinds; it is not kept here.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from lxml import etree

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Client
from bizkit.domain.registrations import Bank, TaxStatus
from bizkit.domain.tables.electronic_addresses import EAS, PEPPOL_EAS
from bizkit.exchange.einvoice.claim import claim
from bizkit.exchange.einvoice.peppol import PEPPOL
from bizkit.exchange.einvoice.ubl import ubl
from bizkit.exchange.einvoice.xrechnung import XRECHNUNG

CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"
NORM = "urn:cen.eu:en16931:2017"

#: UNCL 1001 subsets of the business process 01 (P0100, P0101).
INVOICES = re.findall(
    r"\d+",
    "71 80 82 84 102 218 219 326 331 380 382 383 384 386 388 393 395 553 575 623 780 817 870 875 876 877",
)
CREDIT_NOTES = ("381", "396", "81", "83", "532")
#: Countries whose suppliers have rules of their own there; the German ones are stated below.
NATIONAL = {"NO", "DK", "IT", "SE", "GR", "IS", "NL"}


def peppol_gaps(paper):
    return list(claim(paper, "ubl").peppol_gaps)


def broken(xml: bytes) -> set[str]:
    """Names of the rules that an XML breaks."""
    root = etree.fromstring(xml)

    def party(whose: str):
        return root.find(f"{CAC}Accounting{whose}Party/{CAC}Party")

    def text(node, path: str) -> str:
        return (node.findtext(path) or "").strip() if node is not None else ""

    wrong = set()
    if not text(root, f"{CBC}ProfileID"):
        wrong.add("PEPPOL-EN16931-R001")
    if len(root.findall(f"{CBC}Note")) > 1:
        wrong.add("PEPPOL-EN16931-R002")
    reference = text(root, f"{CBC}BuyerReference")
    if not (reference or text(root, f"{CAC}OrderReference/{CBC}ID")):
        wrong.add("PEPPOL-EN16931-R003")
    if not text(root, f"{CBC}CustomizationID").startswith(PEPPOL):
        wrong.add("PEPPOL-EN16931-R004")
    if any(not len(node) and not (node.text or "").strip() for node in root.iter()):
        wrong.add("PEPPOL-EN16931-R008")
    for rule, whose in (("PEPPOL-EN16931-R010", "Customer"), ("PEPPOL-EN16931-R020", "Supplier")):
        endpoint = party(whose).find(f"{CBC}EndpointID")
        if endpoint is None:
            wrong.add(rule)
        elif endpoint.get("schemeID") not in PEPPOL_EAS:
            wrong.add("PEPPOL-EN16931-CL008")
        elif endpoint.get("schemeID") == "0088" and not _gln(endpoint.text):
            wrong.add("PEPPOL-COMMON-R040")
    totals = root.findall(f"{CAC}TaxTotal")
    with_parts = [node for node in totals if node.find(f"{CAC}TaxSubtotal") is not None]
    if len(with_parts) != 1:
        wrong.add("PEPPOL-EN16931-R053")
    if len(totals) - len(with_parts) != len(root.findall(f"{CBC}TaxCurrencyCode")):
        wrong.add("PEPPOL-EN16931-R054")
    for line in (*root.findall(f"{CAC}InvoiceLine"), *root.findall(f"{CAC}CreditNoteLine")):
        quantity = next(node for node in line if node.tag in (f"{CBC}InvoicedQuantity", f"{CBC}CreditedQuantity"))
        price, per = (line.find(f"{CAC}Price/{CBC}{name}") for name in ("PriceAmount", "BaseQuantity"))
        amount = Decimal(text(line, f"{CBC}LineExtensionAmount"))
        if abs(Decimal(quantity.text) * Decimal(price.text) / Decimal(per.text) - amount) > Decimal("0.02"):
            wrong.add("PEPPOL-EN16931-R120")
        if Decimal(per.text) <= 0:
            wrong.add("PEPPOL-EN16931-R121")
        if per.get("unitCode") != quantity.get("unitCode"):
            wrong.add("PEPPOL-EN16931-R130")
    if text(root, f"{CBC}InvoiceTypeCode") not in ("", *INVOICES):
        wrong.add("PEPPOL-EN16931-P0100")
    if text(root, f"{CBC}CreditNoteTypeCode") not in ("", *CREDIT_NOTES):
        wrong.add("PEPPOL-EN16931-P0101")
    countries = [text(party(whose), f".//{CBC}IdentificationCode") for whose in ("Supplier", "Customer")]
    if countries[0] in NATIONAL:
        wrong.add("national")
    if countries == ["DE", "DE"]:
        wrong |= set(_broken_in_germany(root, party("Supplier"), party("Customer"), text))
    return wrong


def _gln(number: str) -> bool:
    """The check digit of GS1: weights 3 and 1 from the right."""
    digits = [int(sign) for sign in reversed(number)]
    return sum(digit * (3 if place % 2 else 1) for place, digit in enumerate(digits)) % 10 == 0


def _broken_in_germany(root, supplier, customer, text):
    means = root.find(f"{CAC}PaymentMeans")
    if means is None:
        yield "DE-R-001"
    elif text(means, f"{CBC}PaymentMeansCode") in ("30", "58") and means.find(f"{CAC}PayeeFinancialAccount") is None:
        yield "DE-R-023-1"
    if not text(root, f"{CBC}BuyerReference"):
        yield "DE-R-015"
    categories = {node.findtext(f"{CBC}ID") for node in root.iter(f"{CAC}ClassifiedTaxCategory")}
    if categories - {"O"} and not text(supplier, f"{CAC}PartyTaxScheme/{CBC}CompanyID"):
        yield "DE-R-016"
    for party, path, rule in (
        (supplier, f"{CAC}PostalAddress/{CBC}CityName", "DE-R-003"),
        (supplier, f"{CAC}PostalAddress/{CBC}PostalZone", "DE-R-004"),
        (supplier, f"{CAC}Contact/{CBC}Name", "DE-R-005"),
        (supplier, f"{CAC}Contact/{CBC}Telephone", "DE-R-006"),
        (supplier, f"{CAC}Contact/{CBC}ElectronicMail", "DE-R-007"),
        (customer, f"{CAC}PostalAddress/{CBC}CityName", "DE-R-008"),
        (customer, f"{CAC}PostalAddress/{CBC}PostalZone", "DE-R-009"),
    ):
        if not text(party, path):
            yield rule
    for part in root.iter(f"{CAC}TaxSubtotal"):
        if not text(part, f"{CAC}TaxCategory/{CBC}Percent"):
            yield "DE-R-014"


def as_if_claimed(xml: bytes) -> bytes:
    """The same with the identifiers of Peppol: what would have been said falsely."""
    claim = f"<cbc:CustomizationID>{PEPPOL}</cbc:CustomizationID>"
    profile = "<cbc:ProfileID>urn:fdc:peppol.eu:2017:poacc:billing:01:1.0</cbc:ProfileID>"
    old = f"<cbc:CustomizationID>{NORM}</cbc:CustomizationID>".encode()
    assert old in xml
    return xml.replace(old, (claim + profile).encode())


def test_what_claims_peppol_holds_its_rules_and_what_does_not_lists_what_it_breaks(paper):
    gaps, xml = peppol_gaps(paper), ubl(paper)
    if claim(paper, "ubl").specification == XRECHNUNG:
        assert gaps == []
        return
    if not gaps:
        assert claim(paper, "ubl").specification == PEPPOL
        assert broken(xml) == set()
        return
    assert claim(paper, "ubl").specification == NORM
    assert b"peppol" not in xml
    named = {gap.rpartition("(")[2].rstrip(")") for gap in gaps}
    assert broken(as_if_claimed(xml)) - {"national"} <= named
    assert broken(as_if_claimed(xml))


def test_some_of_the_matrix_claims_peppol_and_some_does_not(matrix):
    claims = {name for name, paper in matrix.items() if claim(paper, "ubl").specification == PEPPOL}
    assert claims >= {
        "peppol, standard",
        "peppol, within Germany",
        "peppol, German small business",
        "deposit within Germany",
        "credit note within Germany",
        "credit note, small business",
    }
    assert "standard" not in claims


def test_the_code_lists_of_electronic_addresses():
    # Peppol 3.0.19: 92 codes, none of them for e-mail; CEN 1.3.16: 104, EM among them.
    assert (len(PEPPOL_EAS), len(EAS)) == (92, 104)
    assert PEPPOL_EAS < EAS
    assert {"0060", "0088", "0204", "9930", "9932"} <= PEPPOL_EAS
    assert {
        "0219", "0220", "0242", "0244", "0245", "0246", "0248", "AN", "AQ", "AS", "AU", "EM",
    } == EAS - PEPPOL_EAS  # fmt: skip


def test_an_address_of_no_known_scheme_is_refused_where_it_is_written():
    given = {"name": "A", "country": "GB", "endpoint": "9999:1"}
    with pytest.raises(BadInput, match=r"endpoint: wanted an electronic address .*, got 9999:1.*BR-CL-25"):
        read_input(Client, given, where="clients/a.toml", name="a")


@pytest.mark.parametrize(
    ("country", "studio", "client", "rule"),
    [
        ("GB", {}, {"purchase_order": ""}, "PEPPOL-EN16931-R003"),
        ("GB", {}, {"endpoint": "", "email": ""}, "PEPPOL-EN16931-R010"),
        ("GB", {"endpoint": "", "email": ""}, {}, "PEPPOL-EN16931-R020"),
        ("GB", {}, {"endpoint": ""}, "PEPPOL-EN16931-CL008"),
        ("GB", {"endpoint": ""}, {}, "PEPPOL-EN16931-CL008"),
        ("GB", {}, {"endpoint": "EM:a@skerrow.example"}, "PEPPOL-EN16931-CL008"),
        ("GB", {}, {"endpoint": "0088:5060012349999"}, "PEPPOL-COMMON-R040"),
        ("GB", {}, {"endpoint": "0192:923609017"}, "PEPPOL-COMMON-R041"),
        ("GB", {}, {"endpoint": "0184:1234567"}, "PEPPOL-COMMON-R042"),
        ("GB", {}, {"endpoint": "0208:0403019262"}, "PEPPOL-COMMON-R043"),
        ("GB", {}, {"endpoint": "0007:5560360794"}, "PEPPOL-COMMON-R049"),
        ("GB", {}, {"endpoint": "0151:83914571674"}, "PEPPOL-COMMON-R050"),
        ("DE", {"bank": Bank()}, {}, "DE-R-001"),
        ("DE", {"city": ""}, {}, "DE-R-003"),
        ("DE", {"postcode": ""}, {}, "DE-R-004"),
        ("DE", {"people": ()}, {}, "DE-R-005"),
        ("DE", {"phone": ""}, {}, "DE-R-006"),
        ("DE", {"email": ""}, {}, "DE-R-007"),
        ("DE", {}, {"city": ""}, "DE-R-008"),
        ("DE", {}, {"postcode": ""}, "DE-R-009"),
        ("DE", {}, {"buyer_reference": ""}, "DE-R-015"),
        (
            "GB",
            {"country": "NO", "tax": TaxStatus(registered=True, number="NO923609016MVA")},
            {"country": "NO"},
            "NO-R-...",
        ),
    ],
)
def test_each_thing_that_lacks_is_named_with_its_rule_and_not_claimed(
    make_document, peppol_parties, country, studio, client, rule
):
    seller, buyer = peppol_parties[country]
    seller, buyer = replace(seller, **studio), replace(buyer, **client)
    paper = make_document(studio=seller, client=buyer, currency={"GB": "GBP", "NO": "NOK"}.get(seller.country, "EUR"))
    assert [gap.rpartition("(")[2] for gap in peppol_gaps(paper)] == [f"{rule})"]
    assert f"<cbc:CustomizationID>{NORM}<".encode() in ubl(paper)


@pytest.mark.parametrize(
    "endpoint",
    ["0088:5060012349998", "0192:923609016", "0184:DK12345674", "0208:0403019261", "0007:5560360793",
     "0151:83914571673", "0204:04011000-12345-03", "9930:DE136695976", "0060:123456789"],
)  # fmt: skip
def test_addresses_of_peppol_schemes_are_taken(make_document, peppol_parties, endpoint):
    studio, client = peppol_parties["GB"]
    assert peppol_gaps(make_document(studio=studio, client=replace(client, endpoint=endpoint))) == []


def test_an_exempt_studio_without_any_tax_number_makes_no_electronic_invoice(make_document, peppol_parties, matrix):
    # EN 16931 BR-E-02: an exempt line wants the seller's VAT number, tax registration or representative.
    studio, client = peppol_parties["DE"]
    with pytest.raises(RuleBroken, match=r"lacks: studio\.tax_number"):
        make_document(studio=replace(studio, tax=TaxStatus()), client=client, currency="EUR")
    old = matrix["small business"]
    old = {**old, "studio": {**old["studio"], "local_tax_number": ""}}
    with pytest.raises(RuleBroken, match=r"BR-E-02.*local_number under \[tax\]"):
        ubl(old)
