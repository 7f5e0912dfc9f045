"""What Peppol BIS Billing 3 asks for beyond the norm, so that an invoice claims to be one only where it is.

Source: the rules of Peppol BIS Billing 3, release 3.0.19 of May 2025 (PEPPOL-EN16931-R... and -CL...,
PEPPOL-COMMON-R..., the national rules in the same file), read 2026-11-25. What the documents can never break (one
note, one total with subtotals, no empty element, unit codes alike) is not asked here: the tests hold it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from stdnum import ean
from stdnum.au import abn
from stdnum.be import vat as enterprise
from stdnum.no import orgnr as norwegian
from stdnum.se import orgnr as swedish

from bizkit.domain.tables.electronic_addresses import PEPPOL_EAS
from bizkit.exchange.einvoice.parties import Party
from bizkit.exchange.einvoice.terms import Terms

#: BT-24 and BT-23 of Peppol BIS Billing 3.0.
PEPPOL: Final = "urn:cen.eu:en16931:2017#compliant#urn:fdc:peppol.eu:2017:poacc:billing:3.0"
PEPPOL_PROCESS: Final = "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0"

#: What German rules want, and XRechnung in a right form.
EMAIL: Final = "studio's email"

#: Suppliers' countries, as their VAT number or address says, whose national rules are not held here -> their name.
OTHER_NATIONAL_RULES: Final[dict[str, str]] = {
    "DK": "DK-R", "EL": "GR-R", "GR": "GR-R", "IS": "IS-R", "IT": "IT-R", "NL": "NL-R", "NO": "NO-R", "SE": "SE-R",
}  # fmt: skip

#: Schemes whose numbers have check digits -> rule, whether a number is one.
_CHECKED: Final[dict[str, tuple[str, Callable[[str], bool]]]] = {
    "0088": ("PEPPOL-COMMON-R040", lambda number: number.isdigit() and ean.is_valid(number)),
    "0192": ("PEPPOL-COMMON-R041", lambda number: number.isdigit() and norwegian.is_valid(number)),
    "0184": (
        "PEPPOL-COMMON-R042",
        lambda number: number.removeprefix("DK").isdigit() and len(number.removeprefix("DK")) == 8,
    ),
    "0208": ("PEPPOL-COMMON-R043", lambda number: number.isdigit() and enterprise.is_valid(number)),
    "0007": ("PEPPOL-COMMON-R049", lambda number: number.isdigit() and swedish.is_valid(number)),
    "0151": ("PEPPOL-COMMON-R050", lambda number: number.isdigit() and abn.is_valid(number)),
}


def gaps(facts: Terms) -> Iterator[str]:
    """Each thing an invoice lacks to be one of Peppol BIS Billing 3, with the rule that asks for it."""
    if not (facts.buyer_reference or facts.order):
        yield "purchase order or buyer reference (PEPPOL-EN16931-R003)"
    yield from _endpoint("client", facts.buyer, "PEPPOL-EN16931-R010")
    yield from _endpoint("studio", facts.seller, "PEPPOL-EN16931-R020")
    supplier = facts.seller.vat[:2] or facts.seller.country
    for country in dict.fromkeys((supplier, facts.seller.country)):
        if country in OTHER_NATIONAL_RULES:
            yield f"the rules for suppliers of {country} are not known here ({OTHER_NATIONAL_RULES[country]}-...)"
    if facts.seller.country == facts.buyer.country == "DE":
        yield from _within_germany(facts)


def _endpoint(whose: str, party: Party, rule: str) -> Iterator[str]:
    scheme, address = party.endpoint
    if not address:
        yield f"{whose}'s electronic address: endpoint = SCHEME:ID ({rule})"
    elif scheme not in PEPPOL_EAS:
        what = "an e-mail address is none" if scheme == "EM" else f"{scheme} is not of its list"
        yield f"{whose}'s electronic address of a Peppol scheme, endpoint = SCHEME:ID: {what} (PEPPOL-EN16931-CL008)"
    elif scheme in _CHECKED and not _CHECKED[scheme][1](address):
        yield f"{whose}'s electronic address {scheme}:{address} with right check digits ({_CHECKED[scheme][0]})"


def _within_germany(facts: Terms) -> Iterator[str]:
    """The German rules, which hold where seller and buyer are both in Germany."""
    rules = ("001", "003", "004", "005", "006", "007", "008", "009")
    named = named_in_germany(facts.seller, facts.buyer, account=bool(facts.means_code))
    yield from (f"{what} (DE-R-{rule})" for rule, (what, there) in zip(rules, named, strict=True) if not there)
    if not facts.buyer_reference:
        yield "buyer reference, such as a Leitweg-ID (DE-R-015)"


def named_in_germany(seller: Party, buyer: Party, *, account: bool) -> tuple[tuple[str, bool], ...]:
    """What German rules want an invoice to name, whatever they are called, and whether it does. account: whether it
    names one, or needs none."""
    return (
        ("studio's bank account", account),
        ("studio's town, city", bool(seller.city)),
        ("studio's postcode", bool(seller.postcode)),
        ("studio's contact, people", bool(seller.person)),
        ("studio's phone", sum(sign.isdigit() for sign in seller.phone) >= 3),
        (EMAIL, bool(seller.email)),
        ("client's town, city", bool(buyer.city)),
        ("client's postcode", bool(buyer.postcode)),
    )
