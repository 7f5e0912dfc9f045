"""What an invoice must say before it may be issued.

Sources: the Value Added Tax Regulations 1995 (SI 1995/2518) regulation 14 (contents of a VAT invoice), regulation 16A
(simplified invoice, up to 250 pounds tax included), regulation 15C (credit notes); Directive 2006/112/EC articles
226, 226b and 220a for studios in the European Union. EN 16931 names each field (BT-n) where one exists. The rate of a
cash discount (reg 14(1)(j)) is missing from the list below because none can be offered here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from bizkit.domain.billing.tax import TAXED_AS
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.tables.tax_rates import TAX_CURRENCY
from bizkit.domain.tables.vat_area import EU

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that an invoice does not say. field: dotted name in the document. rule: who asks for it."""

    field: str
    what: str
    rule: str

    def __str__(self) -> str:
        return f"{self.field} ({self.what}; {self.rule})"


#: Largest gross of a simplified invoice, by the studio's country. SI 1995/2518 reg 16A; Directive art. 220a(1)(a).
SIMPLIFIED_LIMIT: Final[dict[str, Money]] = {
    "GB": Money(250, "GBP"),
    **{country: Money(100, "EUR") for country in EU},
}

_Check = tuple[str, str, str, Callable[[Document], object]]


def _lines_have(key: str) -> Callable[[Document], bool]:
    return lambda document: (
        bool(document["lines"]) and all(str(line.get(key, "")).strip() for line in document["lines"])
    )


def _taxed(document: Document) -> bool:
    return Decimal(document["tax"]) != 0


def _home_tax_said(document: Document) -> bool:
    country = document["studio"]["country"]
    home = TAX_CURRENCY.get(TAXED_AS.get(country, country))
    if not _taxed(document) or home is None or home == document["currency"]:
        return True
    return bool(document.get("tax_in")) and document["tax_in"]["currency"] == home


def _names_a_tax_number(document: Document) -> bool:
    """Whether the invoice names a tax number: it taxes, shifts the tax to the client, or is exempt (BR-E-02)."""
    return any(tax["category"] in ("S", "Z", "E", "AE", "K", "G") for tax in document["taxes"])


#: field, what, rule, check. The letters of regulation 14(1) are from memory of its present text.
_FULL: Final[tuple[_Check, ...]] = (
    ("number", "a sequential number", "reg 14(1)(a); BT-1", lambda d: d["number"]),
    ("tax_point", "the time of supply", "reg 14(1)(b); BT-7", lambda d: d["tax_point"]),
    ("issued_on", "the date of issue", "reg 14(1)(c); BT-2", lambda d: d["issued_on"]),
    ("studio.name", "the supplier's name", "reg 14(1)(d); BT-27", lambda d: d["studio"]["name"]),
    ("studio.address", "the supplier's address", "reg 14(1)(d); BG-5", lambda d: d["studio"]["address"]),
    (
        "studio.tax_number",
        "the supplier's tax number",
        "reg 14(1)(d), Directive 2006/112/EC art. 226(3); BT-31 or BT-32",
        lambda d: d["studio"]["tax_number"] or d["studio"].get("local_tax_number") or not _names_a_tax_number(d),
    ),
    ("client.name", "the customer's name", "reg 14(1)(e); BT-44", lambda d: d["client"]["name"]),
    ("client.address", "the customer's address", "reg 14(1)(e); BG-8", lambda d: d["client"]["address"]),
    ("lines.item", "a description of each service", "reg 14(1)(g); BT-153", _lines_have("item")),
    ("lines.quantity", "the quantity of each line", "reg 14(1)(h); BT-129", _lines_have("quantity")),
    ("lines.rate", "the unit price of each line", "reg 14(1)(m); BT-146", _lines_have("rate")),
    ("lines.tax_rate", "the rate of tax of each line", "reg 14(1)(h); BT-152", _lines_have("tax_rate")),
    ("lines.amount", "the net amount of each line", "reg 14(1)(h); BT-131", _lines_have("amount")),
    ("net", "the total without tax", "reg 14(1)(i); BT-109", lambda d: d["net"]),
    (
        "tax_in",
        "the total tax in the money of the tax office",
        "reg 14(1)(l), Directive art. 230; BT-111",
        _home_tax_said,
    ),
    (
        "client.tax_number",
        "the customer's number where the customer accounts for the tax",
        "Directive 2006/112/EC art. 226(4); BT-48",
        lambda d: d["client"]["tax_number"] or all(tax["category"] not in ("AE", "K") for tax in d["taxes"]),
    ),
    (
        "taxes.note",
        "the reason where no tax is charged",
        "Directive 2006/112/EC art. 226(11); BT-120",
        lambda d: all(tax["note"] or tax["category"] in ("S", "Z") for tax in d["taxes"]),
    ),
)

_SIMPLIFIED: Final = ("number", "tax_point", "studio.name", "studio.address", "studio.tax_number", "lines.item")


def missing_contents(document: Document, *, simplified: bool = False) -> list[Missing]:
    """What the invoice or credit note should say and does not, in the order of the regulation."""
    missing = [
        Missing(field, what, rule)
        for field, what, rule, said in _FULL
        if (not simplified or field in _SIMPLIFIED) and not said(document)
    ]
    if document["kind"] == "credit_note":
        for field, what in (
            ("credits", "the number and date of the invoice corrected"),
            ("reason", "the reason for the credit"),
        ):
            if not document.get(field):
                missing.append(Missing(field, what, "reg 15C; BG-3"))
    return missing


def check_contents(document: Document, *, simplified: bool = False) -> None:
    """Refuse to issue what lacks a required field, naming each with its rule; or a simplified invoice over the limit.

    Raises RuleBroken.
    """
    if simplified:
        _check_simplified(document)
    missing = missing_contents(document, simplified=simplified)
    if missing:
        name = document["kind"].replace("_", " ")
        raise RuleBroken(f"the {name} cannot be issued, it lacks: " + "; ".join(str(entry) for entry in missing))


def _check_simplified(document: Document) -> None:
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
