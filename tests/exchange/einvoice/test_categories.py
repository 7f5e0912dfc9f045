"""Which tax category, which identifiers and which means of payment stand in an electronic invoice.

Source of the rules: the CEN validation artefacts for EN 16931, release 1.3.16 of April 2026 (BR-...), the code lists
UNTDID 1001 (kind of document) and 4461 (means of payment); read 2026-11-25.
"""

from __future__ import annotations

import pytest
from lxml import etree

from bizkit.exchange.einvoice.cii import cii
from bizkit.exchange.einvoice.ubl import ubl

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"


class Read:
    """What both syntaxes say, by the names of the norm."""

    def __init__(self, paper):
        self.cii, self.ubl = etree.fromstring(cii(paper)), etree.fromstring(ubl(paper))

    def both(self, in_cii, in_ubl):
        """The texts that both have at these paths; they must agree."""
        said = [
            [node.text for node in root.iterfind(path)] for root, path in ((self.cii, in_cii), (self.ubl, in_ubl))
        ]
        assert said[0] == said[1], said
        return said[0]

    def line_rates(self):
        """BT-152."""
        return self.both(
            f".//{RAM}SpecifiedLineTradeSettlement/{RAM}ApplicableTradeTax/{RAM}RateApplicablePercent",
            f".//{CAC}ClassifiedTaxCategory/{CBC}Percent",
        )

    def breakdown(self):
        """BT-118, BT-119, BT-117, BT-120, BT-121 of each part."""
        tax = f".//{RAM}ApplicableHeaderTradeSettlement/{RAM}ApplicableTradeTax"
        part, category = f"{CAC}TaxTotal/{CAC}TaxSubtotal", f"{CAC}TaxTotal/{CAC}TaxSubtotal/{CAC}TaxCategory"
        return tuple(
            self.both(f"{tax}/{RAM}{one}", path)
            for one, path in (
                ("CategoryCode", f"{category}/{CBC}ID"),
                ("RateApplicablePercent", f"{category}/{CBC}Percent"),
                ("CalculatedAmount", f"{part}/{CBC}TaxAmount"),
                ("ExemptionReason", f"{category}/{CBC}TaxExemptionReason"),
                ("ExemptionReasonCode", f"{category}/{CBC}TaxExemptionReasonCode"),
            )
        )

    def party(self, whose):
        """BT-29 or 46, BT-30 or 47, BT-31 or 48, BT-32. whose: "Seller" or "Buyer"."""
        node = f".//{RAM}{whose}TradeParty"
        theirs = f"{CAC}Accounting{'Supplier' if whose == 'Seller' else 'Customer'}Party/{CAC}Party"
        registrations = self.cii.findall(f"{node}/{RAM}SpecifiedTaxRegistration/{RAM}ID")
        schemes = self.ubl.findall(f"{theirs}/{CAC}PartyTaxScheme")
        found = {}
        for name, code, scheme in (("vat", "VA", "VAT"), ("registration", "FC", "TAX")):
            in_cii = [one.text for one in registrations if one.get("schemeID") == code]
            in_ubl = [
                one.findtext(f"{CBC}CompanyID")
                for one in schemes
                if one.findtext(f"{CAC}TaxScheme/{CBC}ID") == scheme
            ]
            assert in_cii == in_ubl
            found[name] = "".join(in_cii)
        found["id"] = "".join(self.both(f"{node}/{RAM}ID", f"{theirs}/{CAC}PartyIdentification/{CBC}ID"))
        found["company"] = "".join(
            self.both(
                f"{node}/{RAM}SpecifiedLegalOrganization/{RAM}ID", f"{theirs}/{CAC}PartyLegalEntity/{CBC}CompanyID"
            )
        )
        return found


@pytest.fixture
def read(matrix):
    return lambda name: Read(matrix[name])


def test_a_german_small_business_is_exempt(read):
    # BR-E-02 the seller's VAT number or tax registration, BR-E-05 rate 0, BR-E-09 tax 0, BR-E-10 a reason in words;
    # no code of the VATEX list is for small businesses (only the French one). BR-CO-26: a tax registration does not
    # say who the seller is, so it stands as the identifier too.
    found = read("small business")
    assert found.line_rates() == ["0", "0"]
    reason = "Exempt from VAT: small enterprise under section 19 of the German VAT Act (UStG)"
    assert found.breakdown() == (["E"], ["0"], ["0.00"], [reason], [])
    assert found.party("Seller") == {
        "vat": "", "registration": "29/815/08157", "id": "29/815/08157", "company": "",
    }  # fmt: skip
    assert found.party("Buyer")["vat"] == "DE136695976"
    with_number = read("small business with a VAT number").party("Seller")
    assert (with_number["vat"], with_number["registration"]) == ("DE136695976", "")


def test_an_unregistered_british_studio_is_outside_the_scope(read):
    # BR-O-02 neither VAT number, BR-O-05 no line has a rate, BR-O-09 tax 0, BR-O-10 a reason. DE-R-014 and BR-DE-14
    # want a rate in the breakdown all the same: zero.
    found = read("not registered, to a client with a VAT number")
    assert found.line_rates() == []
    reason = "No VAT charged: the supplier is not registered for VAT"
    assert found.breakdown() == (["O"], ["0"], ["0.00"], [reason], [])
    assert found.party("Seller") == {
        "vat": "", "registration": "", "id": "hello@gannetlark.example", "company": "",
    }  # fmt: skip
    # What the paper prints of the buyer is not lost: it stands as an identifier (BT-46).
    assert found.party("Buyer") == {"vat": "", "registration": "", "id": "GB980780684", "company": ""}


def test_a_company_is_known_by_its_number(read):
    seller = read("not registered, company").party("Seller")
    assert seller == {"vat": "", "registration": "", "id": "", "company": "SC123456"}


def test_an_employer_number_of_the_united_states_is_no_vat_number(read):
    # BR-CO-09: VAT numbers begin with the letters of a country. BR-O-02: here there is none at all.
    found = read("outside the scope, United States")
    assert found.party("Buyer") == {"vat": "", "registration": "", "id": "123456789", "company": ""}
    seller = found.party("Seller")
    assert (seller["vat"], seller["registration"]) == ("", "GB980780684")


def test_a_registered_german_studio_may_be_known_by_its_steuernummer(read):
    # UStG section 14(4) no. 2: tax number or VAT number; BR-S-02 takes BT-31 or BT-32, BR-CO-26 wants an identifier.
    seller = read("known by a Steuernummer").party("Seller")
    assert seller == {"vat": "", "registration": "29/815/08157", "id": "29/815/08157", "company": ""}


@pytest.mark.parametrize(
    ("name", "kind", "means"),
    [
        ("standard", "380", "30"),  # a credit transfer
        ("German studio at home", "380", "58"),  # one inside the Single Euro Payments Area
        ("deposit", "386", "1"),  # a prepayment that has come: no instrument to name
        ("deposit, reverse charge", "386", "1"),
        ("paid in full before", "380", "1"),
        ("credit note, whole", "381", "97"),  # cleared between partners
        ("no bank", "380", None),
    ],
)
def test_kind_of_document_and_means_of_payment(read, name, kind, means):
    found = read(name)
    in_ubl = f"{CBC}{'CreditNote' if kind == '381' else 'Invoice'}TypeCode"
    assert found.both(f".//{{*}}ExchangedDocument/{RAM}TypeCode", in_ubl) == [kind]
    codes = found.both(
        f".//{RAM}SpecifiedTradeSettlementPaymentMeans/{RAM}TypeCode",
        f"{CAC}PaymentMeans/{CBC}PaymentMeansCode",
    )
    assert codes == ([means] if means else [])
    # BR-50: a credit transfer names its account, and nothing else does.
    ibans = found.both(f".//{RAM}IBANID", f"{CAC}PaymentMeans/{CAC}PayeeFinancialAccount/{CBC}ID")
    assert bool(ibans) == (means in ("30", "58"))


def test_the_reason_of_a_credit_note_is_no_term_of_payment(read, matrix):
    # BR-CO-25 wants terms or a due date where something is due; BT-20 is how it is settled, BT-22 why it is credited.
    path = (f".//{RAM}SpecifiedTradePaymentTerms/{RAM}Description", f"{CAC}PaymentTerms/{CBC}Note")
    (terms,) = read("credit note, whole").both(*path)
    assert terms.startswith("The credit is set against invoice GL-2027-0001. ")
    assert read("credit note, small business").both(*path) == ["Der Betrag wird mit der Rechnung verrechnet."]
    notes = read("credit note, whole").ubl.findtext(f"{CBC}Note")
    assert "Weather day not used" in notes
    assert "Weather day not used" not in terms
