"""The business terms (BT-n) of EN 16931, read off a frozen invoice or credit note.

Both syntaxes write these, so that they cannot differ in what they say. Where the document says something that the
norm words otherwise, it is settled here:

* outside the scope of tax (category O) neither party may show a VAT number (BR-O-02): the studio's goes to its tax
  registration (BT-32);
* a line whose amount is not quantity x unit price states the amount as the price of its whole quantity (BT-149);
* a unit price is never negative (BR-27): the quantity is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from bizkit.domain.documents.outgoing import outgoing
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, decimal, minor_digits, plain
from bizkit.domain.tables.vat_area import EU

Document = Mapping[str, Any]

#: Unit of a line -> code of UN/ECE Recommendation 20 and 21. Everything else counts as "one" (C62).
UNIT_CODES: Final[dict[str, str]] = {
    "second": "SEC",
    "minute": "MIN",
    "hour": "HUR",
    "day": "DAY",
    "week": "WEE",
    "month": "MON",
    "year": "ANN",
    "mile": "SMI",
    "km": "KMT",
    "kilometre": "KMT",
}
ONE: Final = "C62"

#: UNTDID 4461: a credit transfer, and one inside the Single Euro Payments Area.
CREDIT_TRANSFER: Final = "30"
SEPA_CREDIT_TRANSFER: Final = "58"

INVOICE_CODE: Final = "380"
CREDIT_NOTE_CODE: Final = "381"

#: Reason codes of the CEF VATEX list that suppliers in the European Union state beside the wording.
REASON_CODES: Final[dict[str, str]] = {"AE": "VATEX-EU-AE", "O": "VATEX-EU-O", "G": "VATEX-EU-G", "K": "VATEX-EU-IC"}


@dataclass(frozen=True, slots=True)
class Party:
    """BG-4 or BG-7. vat: with the country's letters. registration: tax number that is no VAT number (BT-32).

    endpoint: scheme of the EAS list and the address.
    """

    name: str
    lines: tuple[str, str, str]
    city: str
    postcode: str
    country: str
    identifier: str = ""
    company_number: str = ""
    vat: str = ""
    registration: str = ""
    endpoint: tuple[str, str] = ("", "")
    person: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """BG-25. price: of `per` units. Amounts as text."""

    id: str
    name: str
    quantity: str
    unit: str
    price: str
    per: str
    amount: str
    category: str
    rate: str


@dataclass(frozen=True, slots=True)
class Allowance:
    """BG-20, off the whole document."""

    reason: str
    amount: str
    category: str
    rate: str


@dataclass(frozen=True, slots=True)
class Breakdown:
    """BG-23: one category and rate."""

    category: str
    rate: str
    base: str
    tax: str
    reason: str
    reason_code: str


@dataclass(frozen=True, slots=True)
class Terms:
    """Everything both syntaxes write; names after their meaning, numbers in `cii` and `ubl`."""

    number: str
    issued_on: str
    type_code: str
    currency: str
    tax_currency: str
    tax_in_tax_currency: str
    tax_point: str
    due_on: str
    buyer_reference: str
    project: str
    order: str
    terms: str
    notes: tuple[str, ...]
    corrects: tuple[str, str]
    seller: Party
    buyer: Party
    period: tuple[str, str]
    means_code: str
    remittance: str
    iban: str
    account_name: str
    bic: str
    lines: tuple[Line, ...]
    allowances: tuple[Allowance, ...]
    breakdown: tuple[Breakdown, ...]
    sum_lines: str
    sum_allowances: str
    net: str
    tax: str
    gross: str
    prepaid: str
    rounding: str
    due: str
    has_rate: bool = field(default=True)


def terms(document: Document) -> Terms:
    """Read the terms. Raises RuleBroken for a paper that is no invoice, or a currency with more than two decimals."""
    document = outgoing(document)
    kind = document["kind"]
    if kind not in ("invoice", "credit_note"):
        raise RuleBroken(f"a {kind.replace('_', ' ')} is no electronic invoice: only invoices and credit notes are")
    currency = document["currency"]
    if minor_digits(currency) > 2:
        raise RuleBroken(
            f"electronic invoices carry two decimals (EN 16931 BR-DEC), {currency} has {minor_digits(currency)}: "
            "send the PDF"
        )
    outside = any(tax["category"] == "O" for tax in document["taxes"])
    home = document.get("tax_in")
    credit = kind == "credit_note"
    payment = document["payment"]
    sepa = currency == "EUR"
    return Terms(
        number=document["number"],
        issued_on=document["issued_on"],
        type_code=CREDIT_NOTE_CODE if credit else INVOICE_CODE,
        currency=currency,
        tax_currency=home["currency"] if home else "",
        tax_in_tax_currency=home["amount"] if home else "",
        tax_point=document["tax_point"],
        due_on="" if credit else document["due_on"],
        buyer_reference=document.get("buyer_reference", ""),
        project=document["job"],
        order=document["purchase_order"],
        terms=document["reason"] if credit else payment["terms"],
        notes=_notes(document),
        corrects=(document["credits"]["number"], document["credits"]["issued_on"]) if credit else ("", ""),
        seller=_seller(document["studio"], outside),
        buyer=_buyer(document["client"], outside),
        period=(document.get("supplied_from", ""), document.get("supplied_to", "")),
        means_code="" if not payment["iban"] else SEPA_CREDIT_TRANSFER if sepa else CREDIT_TRANSFER,
        remittance=payment["reference"],
        iban=payment["iban"],
        account_name=payment["account_name"],
        bic=payment["bic"],
        lines=tuple(_line(number, line, currency) for number, line in enumerate(document["lines"], start=1)),
        allowances=tuple(
            Allowance(part["reason"], part["amount"], part["category"], part["tax_rate"])
            for part in document["allowances"]
        ),
        breakdown=tuple(_breakdown(tax, document["studio"]["country"]) for tax in document["taxes"]),
        sum_lines=_sum([line["amount"] for line in document["lines"]], currency),
        sum_allowances=_sum([part["amount"] for part in document["allowances"]], currency),
        net=document["net"],
        tax=document["tax"],
        gross=document["gross"],
        prepaid=_unless_zero(document["prepaid"]),
        rounding=_unless_zero(document.get("rounding", "")),
        due=document["due"],
        has_rate=not outside,
    )


def _unless_zero(amount: str) -> str:
    return amount if amount and decimal(amount) else ""


def _sum(amounts: Sequence[str], currency: str) -> str:
    return Money(sum((decimal(amount) for amount in amounts), Decimal(0)), currency).text


def _notes(document: Document) -> tuple[str, ...]:
    notes = [*document["licence_sentences"], *document["notes"]]
    quote = document.get("quote")
    if quote:
        notes.insert(0, f"{quote['number']} / {quote['revision']}")
    if document["kind"] == "credit_note":
        notes.insert(0, document["reason"])
    return tuple(note for note in notes if note.strip())


def _address(party: Mapping[str, Any]) -> tuple[str, str, str]:
    """Three address lines; what does not fit joins the third. A line repeating town and postcode is dropped."""
    lines = list(party["address"])
    city, postcode = party.get("city", ""), party.get("postcode", "")
    if lines and (city or postcode) and set(lines[-1].split()) <= set(f"{city} {postcode}".split()):
        lines.pop()
    first, second, *rest = [*lines, "", ""]
    return first, second, ", ".join(line for line in rest if line)


def _seller(studio: Mapping[str, Any], outside: bool) -> Party:
    number = studio["tax_number"]
    vat = "" if outside else number
    company = studio["company_number"]
    identifier = "" if vat or company else number or studio["email"] or studio["name"]
    return Party(
        name=studio["name"],
        lines=_address(studio),
        city=studio.get("city", ""),
        postcode=studio.get("postcode", ""),
        country=studio["country"],
        identifier=identifier,
        company_number=company,
        vat=vat,
        registration=number if outside else "",
        endpoint=_endpoint(studio),
        person=studio["people"][0] if studio["people"] else "",
        phone=studio["phone"],
        email=studio["email"],
    )


def _buyer(client: Mapping[str, Any], outside: bool) -> Party:
    return Party(
        name=client["name"],
        lines=_address(client),
        city=client.get("city", ""),
        postcode=client.get("postcode", ""),
        country=client["country"],
        company_number=client.get("company_number", ""),
        vat="" if outside or not _is_vat_number(client["tax_number"]) else client["tax_number"],
        endpoint=_endpoint(client),
        person=client["contact"],
        email=client["email"],
    )


def _is_vat_number(number: str) -> bool:
    """Whether it begins with the letters of a country (BR-CO-09)."""
    return len(number) > 2 and number[:2].isalpha()


def _endpoint(party: Mapping[str, Any]) -> tuple[str, str]:
    """Electronic address: the one given, else the email (EAS code EM)."""
    given = party.get("endpoint", "")
    if given:
        scheme, _, address = given.partition(":")
        return scheme, address
    return ("EM", party["email"]) if party["email"] else ("", "")


def _line(number: int, line: Mapping[str, str], currency: str) -> Line:
    quantity, rate, amount = decimal(line["quantity"]), decimal(line["rate"]), decimal(line["amount"])
    unit = UNIT_CODES.get(line["unit"].lower(), ONE)
    price, per = plain(rate), "1"
    if (Money(rate, currency) * quantity).rounded().amount != amount:
        price, per = plain(abs(amount)), plain(abs(quantity))
        quantity = abs(quantity) if amount >= 0 else -abs(quantity)
    return Line(
        id=str(number),
        name=line["item"],
        quantity=plain(quantity),
        unit=unit,
        price=price,
        per=per,
        amount=line["amount"],
        category=line["category"],
        rate=line["tax_rate"],
    )


def _breakdown(tax: Mapping[str, str], country: str) -> Breakdown:
    code = REASON_CODES.get(tax["category"], "") if country in EU else ""
    return Breakdown(tax["category"], tax["rate"], tax["base"], tax["amount"], tax["note"], code)
