"""EN 16931 in the syntax of UN/CEFACT: Cross Industry Invoice D22B, as Factur-X and ZUGFeRD embed it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Final

from bizkit.exchange.einvoice.claim import claim
from bizkit.exchange.einvoice.parties import Party
from bizkit.exchange.einvoice.terms import Document, Terms
from bizkit.exchange.xml_writer import Writer, drop_empty, serialized

#: BT-8, paid to date: UNTDID 2475 in this syntax, which the norm maps to 432 of UNTDID 2005.
PAID_TO_DATE: Final = "72"

_PREFIXES: Final = {
    "rsm": "urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100",
    "ram": "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100",
    "qdt": "urn:un:unece:uncefact:data:standard:QualifiedDataType:100",
    "udt": "urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100",
}


def cii(document: Document) -> bytes:
    """The invoice or credit note as UTF-8 XML, an XRechnung where it is one. Raises RuleBroken as `claim` does."""
    claimed = claim(document, "cii")
    return cii_of(claimed.facts, claimed.specification, claimed.process)


def cii_of(facts: Terms, specification: str, process: str = "") -> bytes:
    """These terms under a specification (BT-24) and a process (BT-23)."""
    write = Writer(_PREFIXES)
    root = write.root("rsm:CrossIndustryInvoice")
    context = write.group(root, "rsm:ExchangedDocumentContext")
    write.text(context, "ram:BusinessProcessSpecifiedDocumentContextParameter/ram:ID", process)
    write.text(context, "ram:GuidelineSpecifiedDocumentContextParameter/ram:ID", specification)
    head = write.group(root, "rsm:ExchangedDocument")
    write.text(head, "ram:ID", facts.number)
    write.text(head, "ram:TypeCode", facts.type_code)
    write.text(head, "ram:IssueDateTime/udt:DateTimeString", _day(facts.issued_on), format="102")
    for note in facts.notes:
        write.text(head, "ram:IncludedNote/ram:Content", note)
    transaction = write.group(root, "rsm:SupplyChainTradeTransaction")
    _lines(write, transaction, facts)
    _agreement(write, transaction, facts)
    write.group(transaction, "ram:ApplicableHeaderTradeDelivery")
    settlement = write.group(transaction, "ram:ApplicableHeaderTradeSettlement")
    _payment(write, settlement, facts)
    _taxes(write, settlement, facts)
    _totals(write, settlement, facts)
    for child in transaction:
        drop_empty(child)
    return serialized(root)


def _day(iso: str) -> str:
    return iso.replace("-", "")


def _lines(write: Writer, transaction: ET.Element, facts: Terms) -> None:
    for line in facts.lines:
        item = write.group(transaction, "ram:IncludedSupplyChainTradeLineItem")
        write.text(item, "ram:AssociatedDocumentLineDocument/ram:LineID", line.id)
        product = write.group(item, "ram:SpecifiedTradeProduct")
        write.text(product, "ram:Name", line.name)
        price = write.group(item, "ram:SpecifiedLineTradeAgreement", "ram:NetPriceProductTradePrice")
        write.text(price, "ram:ChargeAmount", line.price)
        write.text(price, "ram:BasisQuantity", line.per, unitCode=line.unit)
        write.text(item, "ram:SpecifiedLineTradeDelivery/ram:BilledQuantity", line.quantity, unitCode=line.unit)
        settlement = write.group(item, "ram:SpecifiedLineTradeSettlement")
        tax = write.group(settlement, "ram:ApplicableTradeTax")
        write.text(tax, "ram:TypeCode", "VAT")
        write.text(tax, "ram:CategoryCode", line.category)
        write.text(tax, "ram:RateApplicablePercent", line.rate)
        total = "ram:SpecifiedTradeSettlementLineMonetarySummation/ram:LineTotalAmount"
        write.text(settlement, total, line.amount)


def _agreement(write: Writer, transaction: ET.Element, facts: Terms) -> None:
    agreement = write.group(transaction, "ram:ApplicableHeaderTradeAgreement")
    write.text(agreement, "ram:BuyerReference", facts.buyer_reference)
    _party(write, write.group(agreement, "ram:SellerTradeParty"), facts.seller)
    _party(write, write.group(agreement, "ram:BuyerTradeParty"), facts.buyer)
    write.text(agreement, "ram:BuyerOrderReferencedDocument/ram:IssuerAssignedID", facts.order)
    if facts.project:
        project = write.group(agreement, "ram:SpecifiedProcuringProject")
        write.text(project, "ram:ID", facts.project)
        write.text(project, "ram:Name", "Project reference")


def _party(write: Writer, node: ET.Element, party: Party) -> None:
    write.text(node, "ram:ID", party.identifier)
    write.text(node, "ram:Name", party.name)
    write.text(node, "ram:SpecifiedLegalOrganization/ram:ID", party.company_number)
    contact = write.group(node, "ram:DefinedTradeContact")
    write.text(contact, "ram:PersonName", party.person)
    write.text(contact, "ram:TelephoneUniversalCommunication/ram:CompleteNumber", party.phone)
    write.text(contact, "ram:EmailURIUniversalCommunication/ram:URIID", party.email)
    address = write.group(node, "ram:PostalTradeAddress")
    write.text(address, "ram:PostcodeCode", party.postcode)
    for name, line in zip(("ram:LineOne", "ram:LineTwo", "ram:LineThree"), party.lines, strict=True):
        write.text(address, name, line)
    write.text(address, "ram:CityName", party.city)
    write.text(address, "ram:CountryID", party.country)
    scheme, endpoint = party.endpoint
    write.text(node, "ram:URIUniversalCommunication/ram:URIID", endpoint, schemeID=scheme)
    write.text(node, "ram:SpecifiedTaxRegistration/ram:ID", party.registration, schemeID="FC")
    write.text(node, "ram:SpecifiedTaxRegistration/ram:ID", party.vat, schemeID="VA")


def _payment(write: Writer, settlement: ET.Element, facts: Terms) -> None:
    write.text(settlement, "ram:PaymentReference", facts.remittance)
    write.text(settlement, "ram:TaxCurrencyCode", facts.tax_currency)
    write.text(settlement, "ram:InvoiceCurrencyCode", facts.currency)
    if facts.means_code:
        means = write.group(settlement, "ram:SpecifiedTradeSettlementPaymentMeans")
        write.text(means, "ram:TypeCode", facts.means_code)
    if facts.iban or facts.account_number:
        account = write.group(means, "ram:PayeePartyCreditorFinancialAccount")
        write.text(account, "ram:IBANID", facts.iban)
        write.text(account, "ram:AccountName", facts.account_name)
        write.text(account, "ram:ProprietaryID", facts.account_number)
        write.text(means, "ram:PayeeSpecifiedCreditorFinancialInstitution/ram:BICID", facts.bank_code)


def _taxes(write: Writer, settlement: ET.Element, facts: Terms) -> None:
    for place, tax in enumerate(facts.breakdown):
        node = write.group(settlement, "ram:ApplicableTradeTax")
        write.text(node, "ram:CalculatedAmount", tax.tax)
        write.text(node, "ram:TypeCode", "VAT")
        write.text(node, "ram:ExemptionReason", tax.reason)
        write.text(node, "ram:BasisAmount", tax.base)
        write.text(node, "ram:CategoryCode", tax.category)
        write.text(node, "ram:ExemptionReasonCode", tax.reason_code)
        if not place:  # once for the whole paper (CII-SR-461 of the CEN rules)
            write.text(node, "ram:TaxPointDate/udt:DateString", _day(facts.tax_point), format="102")
            write.text(node, "ram:DueDateTypeCode", PAID_TO_DATE if facts.taxed_when_paid else "")
        write.text(node, "ram:RateApplicablePercent", tax.rate)
    first, last = facts.period
    if first:
        period = write.group(settlement, "ram:BillingSpecifiedPeriod")
        write.text(period, "ram:StartDateTime/udt:DateTimeString", _day(first), format="102")
        write.text(period, "ram:EndDateTime/udt:DateTimeString", _day(last), format="102")
    for part in facts.allowances:
        node = write.group(settlement, "ram:SpecifiedTradeAllowanceCharge")
        write.text(node, "ram:ChargeIndicator/udt:Indicator", "false")
        write.text(node, "ram:ActualAmount", part.amount)
        write.text(node, "ram:Reason", part.reason)
        category = write.group(node, "ram:CategoryTradeTax")
        write.text(category, "ram:TypeCode", "VAT")
        write.text(category, "ram:CategoryCode", part.category)
        write.text(category, "ram:RateApplicablePercent", part.rate)


def _totals(write: Writer, settlement: ET.Element, facts: Terms) -> None:
    payment = write.group(settlement, "ram:SpecifiedTradePaymentTerms")
    write.text(payment, "ram:Description", facts.terms)
    write.text(payment, "ram:DueDateDateTime/udt:DateTimeString", _day(facts.due_on), format="102")
    sums = write.group(settlement, "ram:SpecifiedTradeSettlementHeaderMonetarySummation")
    write.text(sums, "ram:LineTotalAmount", facts.sum_lines)
    write.text(sums, "ram:AllowanceTotalAmount", facts.sum_allowances if facts.allowances else "")
    write.text(sums, "ram:TaxBasisTotalAmount", facts.net)
    write.text(sums, "ram:TaxTotalAmount", facts.tax, currencyID=facts.currency)
    if facts.tax_currency:
        write.text(sums, "ram:TaxTotalAmount", facts.tax_in_tax_currency, currencyID=facts.tax_currency)
    write.text(sums, "ram:RoundingAmount", facts.rounding)
    write.text(sums, "ram:GrandTotalAmount", facts.gross)
    write.text(sums, "ram:TotalPrepaidAmount", facts.prepaid)
    write.text(sums, "ram:DuePayableAmount", facts.due)
    for number, issued_on in facts.preceding:
        reference = write.group(settlement, "ram:InvoiceReferencedDocument")
        write.text(reference, "ram:IssuerAssignedID", number)
        write.text(reference, "ram:FormattedIssueDateTime/qdt:DateTimeString", _day(issued_on), format="102")
