"""EN 16931 in the syntax of UBL 2.1, by the rules of Peppol BIS Billing 3 where the document has the fields."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Final

from bizkit.exchange.einvoice.claim import claim
from bizkit.exchange.einvoice.parties import Party
from bizkit.exchange.einvoice.terms import CREDIT_NOTE_CODE, Document, Terms
from bizkit.exchange.xml_writer import Writer, drop_empty, serialized

#: BT-8, paid to date: UNTDID 2005.
PAID_TO_DATE: Final = "432"

_COMMON: Final = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}
_MAIN: Final = "urn:oasis:names:specification:ubl:schema:xsd:"


def ubl(document: Document) -> bytes:
    """The invoice or credit note as UTF-8 XML, an XRechnung or one of Peppol BIS Billing 3 where it is one.

    Raises RuleBroken for what is no electronic invoice.
    """
    claimed = claim(document, "ubl")
    facts = claimed.facts
    credit = facts.type_code == CREDIT_NOTE_CODE
    name = "CreditNote" if credit else "Invoice"
    write = Writer({"": f"{_MAIN}{name}-2", **_COMMON})
    root = write.root(name)
    write.text(root, "cbc:CustomizationID", claimed.specification)
    write.text(root, "cbc:ProfileID", claimed.process)
    write.text(root, "cbc:ID", facts.number)
    write.text(root, "cbc:IssueDate", facts.issued_on)
    write.text(root, "cbc:DueDate", "" if credit else facts.due_on)
    if not credit:
        write.text(root, "cbc:InvoiceTypeCode", facts.type_code)
        write.text(root, "cbc:Note", "\n".join(facts.notes))
        write.text(root, "cbc:TaxPointDate", facts.tax_point)
    else:
        write.text(root, "cbc:TaxPointDate", facts.tax_point)
        write.text(root, "cbc:CreditNoteTypeCode", facts.type_code)
        write.text(root, "cbc:Note", "\n".join(facts.notes))
    write.text(root, "cbc:DocumentCurrencyCode", facts.currency)
    write.text(root, "cbc:TaxCurrencyCode", facts.tax_currency)
    write.text(root, "cbc:BuyerReference", facts.buyer_reference)
    first, last = facts.period
    if first or facts.taxed_when_paid:
        period = write.group(root, "cac:InvoicePeriod")
        write.text(period, "cbc:StartDate", first)
        write.text(period, "cbc:EndDate", last)
        write.text(period, "cbc:DescriptionCode", PAID_TO_DATE if facts.taxed_when_paid else "")
    write.text(root, "cac:OrderReference/cbc:ID", facts.order)
    for number, issued_on in facts.preceding:
        reference = write.group(root, "cac:BillingReference", "cac:InvoiceDocumentReference")
        write.text(reference, "cbc:ID", number)
        write.text(reference, "cbc:IssueDate", issued_on)
    if not credit:
        write.text(root, "cac:ProjectReference/cbc:ID", facts.project)
    _party(write, write.group(root, "cac:AccountingSupplierParty", "cac:Party"), facts.seller)
    _party(write, write.group(root, "cac:AccountingCustomerParty", "cac:Party"), facts.buyer)
    _payment(write, root, facts)
    _allowances(write, root, facts)
    _taxes(write, root, facts)
    _totals(write, root, facts)
    for line in facts.lines:
        node = write.group(root, "cac:CreditNoteLine" if credit else "cac:InvoiceLine")
        write.text(node, "cbc:ID", line.id)
        quantity = "cbc:CreditedQuantity" if credit else "cbc:InvoicedQuantity"
        write.text(node, quantity, line.quantity, unitCode=line.unit)
        write.text(node, "cbc:LineExtensionAmount", line.amount, currencyID=facts.currency)
        item = write.group(node, "cac:Item")
        write.text(item, "cbc:Name", line.name)
        _category(write, write.group(item, "cac:ClassifiedTaxCategory"), line.category, line.rate)
        price = write.group(node, "cac:Price")
        write.text(price, "cbc:PriceAmount", line.price, currencyID=facts.currency)
        write.text(price, "cbc:BaseQuantity", line.per, unitCode=line.unit)
    drop_empty(root)
    return serialized(root)


def _category(
    write: Writer, node: ET.Element, category: str, rate: str, reason: str = "", reason_code: str = ""
) -> None:
    write.text(node, "cbc:ID", category)
    write.text(node, "cbc:Percent", rate)
    write.text(node, "cbc:TaxExemptionReasonCode", reason_code)
    write.text(node, "cbc:TaxExemptionReason", reason)
    write.text(node, "cac:TaxScheme/cbc:ID", "VAT")


def _party(write: Writer, node: ET.Element, party: Party) -> None:
    scheme, endpoint = party.endpoint
    write.text(node, "cbc:EndpointID", endpoint, schemeID=scheme)
    write.text(node, "cac:PartyIdentification/cbc:ID", party.identifier)
    write.text(node, "cac:PartyName/cbc:Name", party.name)
    address = write.group(node, "cac:PostalAddress")
    first, second, third = party.lines
    write.text(address, "cbc:StreetName", first)
    write.text(address, "cbc:AdditionalStreetName", second)
    write.text(address, "cbc:CityName", party.city)
    write.text(address, "cbc:PostalZone", party.postcode)
    write.text(address, "cac:AddressLine/cbc:Line", third)
    write.text(address, "cac:Country/cbc:IdentificationCode", party.country)
    for number, kind in ((party.vat, "VAT"), (party.registration, "TAX")):
        if number:
            scheme_node = write.group(node, "cac:PartyTaxScheme")
            write.text(scheme_node, "cbc:CompanyID", number)
            write.text(scheme_node, "cac:TaxScheme/cbc:ID", kind)
    legal = write.group(node, "cac:PartyLegalEntity")
    write.text(legal, "cbc:RegistrationName", party.name)
    write.text(legal, "cbc:CompanyID", party.company_number)
    contact = write.group(node, "cac:Contact")
    write.text(contact, "cbc:Name", party.person)
    write.text(contact, "cbc:Telephone", party.phone)
    write.text(contact, "cbc:ElectronicMail", party.email)


def _payment(write: Writer, root: ET.Element, facts: Terms) -> None:
    if facts.means_code:
        means = write.group(root, "cac:PaymentMeans")
        write.text(means, "cbc:PaymentMeansCode", facts.means_code)
        write.text(means, "cbc:PaymentID", facts.remittance)
    if facts.iban or facts.account_number:
        account = write.group(means, "cac:PayeeFinancialAccount")
        write.text(account, "cbc:ID", facts.iban or facts.account_number)
        write.text(account, "cbc:Name", facts.account_name)
        write.text(account, "cac:FinancialInstitutionBranch/cbc:ID", facts.bank_code)
    write.text(root, "cac:PaymentTerms/cbc:Note", facts.terms)


def _allowances(write: Writer, root: ET.Element, facts: Terms) -> None:
    for part in facts.allowances:
        node = write.group(root, "cac:AllowanceCharge")
        write.text(node, "cbc:ChargeIndicator", "false")
        write.text(node, "cbc:AllowanceChargeReason", part.reason)
        write.text(node, "cbc:Amount", part.amount, currencyID=facts.currency)
        _category(write, write.group(node, "cac:TaxCategory"), part.category, part.rate)


def _taxes(write: Writer, root: ET.Element, facts: Terms) -> None:
    total = write.group(root, "cac:TaxTotal")
    write.text(total, "cbc:TaxAmount", facts.tax, currencyID=facts.currency)
    for tax in facts.breakdown:
        part = write.group(total, "cac:TaxSubtotal")
        write.text(part, "cbc:TaxableAmount", tax.base, currencyID=facts.currency)
        write.text(part, "cbc:TaxAmount", tax.tax, currencyID=facts.currency)
        category = write.group(part, "cac:TaxCategory")
        _category(write, category, tax.category, tax.rate, tax.reason, tax.reason_code)
    if facts.tax_currency:
        write.text(root, "cac:TaxTotal/cbc:TaxAmount", facts.tax_in_tax_currency, currencyID=facts.tax_currency)


def _totals(write: Writer, root: ET.Element, facts: Terms) -> None:
    sums = write.group(root, "cac:LegalMonetaryTotal")
    for name, amount in (
        ("LineExtensionAmount", facts.sum_lines),
        ("TaxExclusiveAmount", facts.net),
        ("TaxInclusiveAmount", facts.gross),
        ("AllowanceTotalAmount", facts.sum_allowances if facts.allowances else ""),
        ("PrepaidAmount", facts.prepaid),
        ("PayableRoundingAmount", facts.rounding),
        ("PayableAmount", facts.due),
    ):
        write.text(sums, f"cbc:{name}", amount, currencyID=facts.currency)
