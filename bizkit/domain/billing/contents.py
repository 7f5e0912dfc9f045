"""What an invoice must say before it may be issued.

Sources: the Value Added Tax Regulations 1995 (SI 1995/2518) regulation 14 (contents of a VAT invoice), regulation 16A
(simplified invoice, up to 250 pounds tax included), regulation 15C (credit notes); UStG §§ 14, 14a for Germany,
where a small invoice goes up to 250 euros (UStDV § 33); Directive 2006/112/EC articles 226, 226b and 220a for studios
in the rest of the European Union: `law` names the one of the studio's country. EN 16931 names each field (BT-n)
where one exists. The rate of a cash discount (reg 14(1)(j)) is missing from the list below
because none can be offered here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from bizkit.domain.billing.law import law
from bizkit.domain.billing.tax import TAXED_AS
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.tables.tax_rates import TAX_CURRENCY
from bizkit.domain.tables.vat_area import EU

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that an invoice does not say. field: dotted name in the document. rule: who asks for it. write: what
    to do about it."""

    field: str
    what: str
    rule: str
    write: str = ""

    def __str__(self) -> str:
        return f"{self.field} ({'; '.join(one for one in (self.what, self.rule, self.write) if one)})"


#: Largest gross of a simplified invoice, by the studio's country. SI 1995/2518 reg 16A; Directive art. 220a(1)(a);
#: Germany UStDV § 33.
SIMPLIFIED_LIMIT: Final[dict[str, Money]] = {
    "GB": Money(250, "GBP"),
    **{country: Money(100, "EUR") for country in EU},
    "DE": Money(250, "EUR"),
}

_Check: TypeAlias = "tuple[str, str, str, str, Callable[[BillOnFile], object]]"


def _lines_have(key: str) -> Callable[[BillOnFile], bool]:
    return lambda document: (
        bool(document["lines"]) and all(str(line.get(key, "")).strip() for line in document["lines"])
    )


def _taxed(document: BillOnFile) -> bool:
    return Decimal(document["tax"]) != 0


def _home_tax_said(document: BillOnFile) -> bool:
    country = document["studio"]["country"]
    home = TAX_CURRENCY.get(TAXED_AS.get(country, country))
    if not _taxed(document) or home is None or home == document["currency"]:
        return True
    return bool(document.get("tax_in")) and document["tax_in"]["currency"] == home


def _names_a_tax_number(document: BillOnFile) -> bool:
    """Whether the invoice names a tax number: it taxes, shifts the tax to the client, or is exempt (BR-E-02)."""
    return any(tax["category"] in ("S", "Z", "E", "AE", "K", "G") for tax in document["taxes"])


def _shifted(document: BillOnFile) -> bool:
    """Whether the client accounts for the tax."""
    return any(tax["category"] in ("AE", "K") for tax in document["taxes"])


def _supplier_vat_number(document: BillOnFile) -> object:
    return document["studio"]["tax_number"] or not _shifted(document)


#: What to do about what is missing.
_TAKEN: Final = "in clients/{client}.toml, then bizkit job client {job}"
_WRITE: Final[Mapping[str, str]] = {
    "the supplier's tax number": "write number, or local_number, under [tax] in studio.toml",
    "the supplier's own VAT number": "the customer accounts for the tax: write number under [tax] in studio.toml",
    "the supplier's address": "write address in studio.toml",
    "the customer's address": f"write address {_TAKEN}",
    "the customer's number where the customer accounts for the tax": f"write tax_number {_TAKEN}",
}

#: field, what, topic of `law`, term of EN 16931, check. The letters of regulation 14(1) are from memory.
_FULL: Final[tuple[_Check, ...]] = (
    ("number", "a sequential number", "number", "BT-1", lambda d: d["number"]),
    ("tax_point", "the time of supply", "tax_point", "BT-7", lambda d: d["tax_point"]),
    ("issued_on", "the date of issue", "issued_on", "BT-2", lambda d: d["issued_on"]),
    ("studio.name", "the supplier's name", "supplier", "BT-27", lambda d: d["studio"]["name"]),
    ("studio.address", "the supplier's address", "supplier", "BG-5", lambda d: d["studio"]["address"]),
    (
        "studio.tax_number",
        "the supplier's tax number",
        "supplier_number",
        "BT-31 or BT-32",
        lambda d: d["studio"]["tax_number"] or d["studio"].get("local_tax_number") or not _names_a_tax_number(d),
    ),
    ("studio.tax_number", "the supplier's own VAT number", "supplier_vat_number", "BT-31", _supplier_vat_number),
    ("client.name", "the customer's name", "customer", "BT-44", lambda d: d["client"]["name"]),
    ("client.address", "the customer's address", "customer", "BG-8", lambda d: d["client"]["address"]),
    ("lines.item", "a description of each service", "service", "BT-153", _lines_have("item")),
    ("lines.quantity", "the quantity of each line", "quantity", "BT-129", _lines_have("quantity")),
    ("lines.rate", "the unit price of each line", "unit_price", "BT-146", _lines_have("rate")),
    ("lines.tax_rate", "the rate of tax of each line", "line_tax", "BT-152", _lines_have("tax_rate")),
    ("lines.amount", "the net amount of each line", "line_tax", "BT-131", _lines_have("amount")),
    ("net", "the total without tax", "net", "BT-109", lambda d: d["net"]),
    ("tax_in", "the total tax in the money of the tax office", "home_tax", "BT-111", _home_tax_said),
    (
        "client.tax_number",
        "the customer's number where the customer accounts for the tax",
        "customer_number",
        "BT-48",
        lambda d: d["client"]["tax_number"] or not _shifted(d),
    ),
    (
        "taxes.note",
        "the reason where no tax is charged",
        "untaxed",
        "BT-120",
        lambda d: all(tax["note"] or tax["category"] in ("S", "Z") for tax in d["taxes"]),
    ),
)

_SIMPLIFIED: Final = ("number", "tax_point", "studio.name", "studio.address", "studio.tax_number", "lines.item")


def missing_contents(document: BillOnFile, *, simplified: bool = False) -> list[Missing]:
    """What the invoice or credit note should say and does not, in the order of the regulation."""
    country = document["studio"]["country"]
    missing = [
        Missing(field, what, "; ".join(one for one in (law(country, topic), term) if one), _fix(what, document))
        for field, what, topic, term, said in _FULL
        if (not simplified or field in _SIMPLIFIED) and not said(document)
    ]
    if document["kind"] == "credit_note":
        for field, what in (
            ("credits", "the number and date of the invoice corrected"),
            ("reason", "the reason for the credit"),
        ):
            if not document.get(field):
                rule = "; ".join(one for one in (law(country, "correction"), "BG-3") if one)
                missing.append(Missing(field, what, rule))
    kept: dict[str, Missing] = {}
    for one in missing:  # without any number the first rule says enough
        kept.setdefault(one.field, one)
    return list(kept.values())


def _fix(what: str, document: BillOnFile) -> str:
    names = {"client": document["client"].get("key", ""), "job": document.get("job", "")}
    return _WRITE.get(what, "").format(**names)


def check_contents(document: BillOnFile, *, simplified: bool = False) -> None:
    """Refuse to issue what lacks a required field, naming each with its rule; or a simplified invoice over the limit.

    Raises RuleBroken.
    """
    if simplified:
        _check_simplified(document)
    missing = missing_contents(document, simplified=simplified)
    if missing:
        name = document["kind"].replace("_", " ")
        raise RuleBroken(f"the {name} cannot be issued, it lacks: " + "; ".join(str(entry) for entry in missing))


def no_account(studio: Mapping[str, Any]) -> list[str]:
    """A sentence where the studio of a document has no account that its invoices could name."""
    if any(studio["bank"].get(name) for name in ("iban", "account_number", "bank")):
        return []
    home = ", or sort_code and account_number" if studio["country"] == "GB" else ""
    return [
        f"studio.toml says no account, so nobody could pay an invoice: write iban under [bank]{home}, or bank with "
        "the account in words"
    ]


def check_account(document: BillOnFile, reason: str) -> None:
    """Refuse to issue what is to be paid and says nowhere whereto, unless a reason says how. Raises RuleBroken."""
    lacking = no_account(document["studio"])
    if lacking and Decimal(document["due"]) > 0 and not reason.strip():
        raise RuleBroken(f"{lacking[0]}; where it is paid in another way, say how with --reason")


def _check_simplified(document: BillOnFile) -> None:
    country = document["studio"]["country"]
    limit = SIMPLIFIED_LIMIT.get(country)
    if limit is None:
        raise RuleBroken(f"no rule for simplified invoices of {country} is known here: issue a full invoice")
    if document["currency"] != limit.currency:
        raise RuleBroken(f"a simplified invoice is in {limit.currency}, this one is in {document['currency']}")
    gross = Money(document["gross"], document["currency"])
    if gross > limit:
        raise RuleBroken(f"a simplified invoice goes up to {limit}, this one is {gross}: issue a full invoice")
    if any(tax["category"] in ("AE", "K", "G", "O") for tax in document["taxes"]):
        raise RuleBroken("a supply to a customer abroad needs a full invoice")
