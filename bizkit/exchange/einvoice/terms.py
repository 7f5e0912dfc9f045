"""The business terms (BT-n) of EN 16931, read off a frozen invoice or credit note.

Both syntaxes write these, so that they cannot differ in what they say. Where the document says something that the
norm words otherwise, it is settled here:

* outside the scope of tax (category O) no line has a rate (BR-O-05), the breakdown says zero;
* a deposit for work still to be done is a prepayment invoice (UNTDID 1001 code 386), any other invoice for such work
  a partial one (326) where the country taxes the work and not the invoice;
* where the tax waits for the money, no day of it is said but that it does (BT-8 in place of BT-7, BR-CO-03);
* a later invoice names those it takes off (BG-3);
* money that is set off or has come needs no account: a credit note is cleared against its invoice (UNTDID 4461 code
  97), a deposit that has come has no means of payment to name (code 1), no terms and no due date, as on paper;
* where there is no IBAN the account is the British account number, and the sort code the bank that keeps it: BT-84
  and BT-86 take any identifier, "such as a BIC or a national clearing code" (EN 16931-1);
* a line whose amount is not quantity x unit price states the amount as the price of its whole quantity (BT-149);
* a unit price is never negative (BR-27): the quantity is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from bizkit.domain.billing.tax_point import BY_PERFORMANCE
from bizkit.domain.documents.outgoing import outgoing
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, decimal, minor_digits, plain
from bizkit.domain.tables.vat_area import EU
from bizkit.exchange.einvoice.parties import Party, buyer, seller

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
#: Nothing is left to pay; what two partners owe each other is set off.
NO_INSTRUMENT: Final = "1"
CLEARED: Final = "97"

#: UNTDID 1001.
INVOICE_CODE: Final = "380"
PREPAYMENT_CODE: Final = "386"
PARTIAL_CODE: Final = "326"
CREDIT_NOTE_CODE: Final = "381"

#: Outside the scope of tax.
OUTSIDE: Final = "O"

#: Reason codes of the CEF VATEX list that suppliers in the European Union state beside the wording.
REASON_CODES: Final[dict[str, str]] = {"AE": "VATEX-EU-AE", "O": "VATEX-EU-O", "G": "VATEX-EU-G", "K": "VATEX-EU-IC"}


@dataclass(frozen=True, slots=True)
class Line:
    """BG-25. price: of `per` units. Amounts as text. rate: empty where the category has none."""

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
    taxed_when_paid: bool
    due_on: str
    buyer_reference: str
    project: str
    order: str
    terms: str
    notes: tuple[str, ...]
    preceding: tuple[tuple[str, str], ...]
    seller: Party
    buyer: Party
    period: tuple[str, str]
    means_code: str
    remittance: str
    iban: str
    account_number: str
    account_name: str
    bank_code: str
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


def terms(document: Document) -> Terms:
    """Read the terms. Raises RuleBroken for a paper that is no invoice, a currency with more than two decimals, or an
    invoice that the norm wants something of which the document lacks."""
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
    outside = any(tax["category"] == OUTSIDE for tax in document["taxes"])
    home = document.get("tax_in")
    credit = kind == "credit_note"
    payment = document["payment"]
    settled = not credit and not decimal(document["due"]) and bool(decimal(document["prepaid"]))
    if credit or settled:
        account = {"means_code": CLEARED if credit else NO_INSTRUMENT, **dict.fromkeys(_ACCOUNT, "")}
    else:
        account = _account(payment, currency)
    waits = document.get("taxed_when") == "paid"
    facts = Terms(
        number=document["number"],
        issued_on=document["issued_on"],
        type_code=_type_code(document),
        currency=currency,
        tax_currency=home["currency"] if home else "",
        tax_in_tax_currency=home["amount"] if home else "",
        tax_point="" if waits else document["tax_point"],
        taxed_when_paid=waits,
        due_on="" if credit or settled else document["due_on"],
        buyer_reference=document.get("buyer_reference", ""),
        project=document["title"],
        order=document["purchase_order"],
        terms=_set_off(document) if credit else "" if settled else payment["terms"],
        notes=_notes(document),
        preceding=tuple(
            (one["number"], one["issued_on"])
            for one in ([document["credits"]] if credit else document.get("preceding", ()))
        ),
        seller=seller(document["studio"], outside=outside),
        buyer=buyer(document["client"], outside=outside),
        period=(document.get("supplied_from", ""), document.get("supplied_to", "")),
        remittance="" if credit or settled else payment["reference"],
        **account,
        lines=tuple(_line(number, line, currency) for number, line in enumerate(document["lines"], start=1)),
        allowances=tuple(
            Allowance(part["reason"], part["amount"], part["category"], _rate(part))
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
    )
    if not (outside or facts.seller.vat or facts.seller.registration):
        raise RuleBroken(
            f"an electronic invoice of category {facts.breakdown[0].category} names the seller's tax number "
            "(EN 16931 BR-E-02, BR-S-02): write number or local_number under [tax] in studio.toml before you issue it"
        )
    return facts


_ACCOUNT: Final = ("iban", "account_number", "account_name", "bank_code")


def _account(payment: Mapping[str, str], currency: str) -> dict[str, str]:
    """The means of payment and the account: an IBAN where there is one, else what is paid to at home."""
    iban, number = payment["iban"], payment.get("account_number", "")
    code = SEPA_CREDIT_TRANSFER if iban and currency == "EUR" else CREDIT_TRANSFER
    return {
        "means_code": code if iban or number else "",
        "iban": iban,
        "account_number": "" if iban else number,
        "account_name": payment["account_name"],
        "bank_code": payment["bic"] if iban else payment.get("sort_code", ""),
    }


def _type_code(document: Document) -> str:
    """BT-3: what came or is asked for before the work is done is said to be that."""
    if document["kind"] == "credit_note":
        return CREDIT_NOTE_CODE
    ahead = not document.get("work_done", False)
    if document.get("deposit") and ahead:
        return PREPAYMENT_CODE
    partial = document["studio"]["country"] in BY_PERFORMANCE and ahead and "work_done" in document
    return PARTIAL_CODE if partial else INVOICE_CODE


def _set_off(document: Document) -> str:
    """What becomes of a credit, as its paper says (BT-20; never the reason for it)."""
    said = document.get("refund", "")
    return said or _SET_OFF.get(document["language"], _SET_OFF["en"]).format(number=document["credits"]["number"])


#: The sentence that papers have whose document holds none.
_SET_OFF: Final[dict[str, str]] = {
    "en": "The credit is set against invoice {number}. "
    "Whatever you have paid beyond what is left of it is paid back to you.",
    "de": "Der Betrag wird mit der Rechnung {number} verrechnet. "
    "Was Sie über den Rest hinaus bezahlt haben, wird Ihnen erstattet.",
}


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
        rate=_rate(line),
    )


def _breakdown(tax: Mapping[str, str], country: str) -> Breakdown:
    code = REASON_CODES.get(tax["category"], "") if country in EU else ""
    return Breakdown(tax["category"], tax["rate"], tax["base"], tax["amount"], tax["note"], code)


def _rate(part: Mapping[str, str]) -> str:
    """BT-152, BT-96: none outside the scope of tax (BR-O-05, BR-O-06)."""
    return "" if part["category"] == OUTSIDE else part["tax_rate"]
