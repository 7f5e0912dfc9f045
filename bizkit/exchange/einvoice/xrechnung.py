"""What XRechnung asks for beyond the norm, so that an invoice claims to be one only where it is.

German public bodies want it (E-Rechnungsverordnung of the Federation, section 4); their Leitweg-ID as buyer
reference says that an invoice is for one of them. Source: the rules of the publisher for XRechnung 3.0 (BR-DE-...,
version 2.5.0 of January 2026), read 2026-11-26. What the documents can never break (no direct debit, no card, no
attachment, a right IBAN) is not asked here. Rules that are warnings there are held too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from stdnum.de import leitweg

from bizkit.exchange.einvoice.parties import Party
from bizkit.exchange.einvoice.peppol import EMAIL, PEPPOL_PROCESS, named_in_germany
from bizkit.exchange.einvoice.terms import Terms
from bizkit.exchange.identifiers import meant_as_leitweg

#: BT-24 and BT-23 of XRechnung 3.0.
XRECHNUNG: Final = "urn:cen.eu:en16931:2017#compliant#urn:xeinkauf.de:kosit:xrechnung_3.0"
XRECHNUNG_PROCESS: Final = PEPPOL_PROCESS

#: What an invoice within Germany names -> the rules of XRechnung that ask for it. The buyer reference, which makes it
#: one for a public body, is there.
RULES: Final[dict[str, str]] = {
    "studio's bank account": "BR-DE-1",
    "studio's town, city": "BR-DE-3",
    "studio's postcode": "BR-DE-4",
    "studio's contact, people": "BR-DE-5",
    "studio's phone": "BR-DE-6, BR-DE-27",
    EMAIL: "BR-DE-7, BR-DE-28",
    "client's town, city": "BR-DE-8",
    "client's postcode": "BR-DE-9",
}

_EMAIL: Final = re.compile(r"[^@\s]+@([^@.\s]+\.)+[^@.\s]+")


def for_public_body(reference: str, country: str) -> bool:
    """Whether the buyer reference (BT-10) of a client in Germany is a Leitweg-ID, or is meant as one."""
    return country == "DE" and (bool(leitweg.is_valid(reference)) or meant_as_leitweg(country, reference))


def party_gaps(seller: Party, buyer: Party, reference: str, *, account: bool) -> Iterator[str]:
    """What of the two sides an XRechnung lacks, which is known before there is an invoice. account: whether there is
    one to pay to, or none is needed."""
    if not leitweg.is_valid(reference):
        yield "client's Leitweg-ID with right check digits, buyer_reference (BR-DE-15)"
    lacking = dict(named_in_germany(seller, buyer, account=account))
    lacking[EMAIL] = bool(_EMAIL.fullmatch(seller.email))
    yield from (f"{what} ({RULES[what]})" for what, there in lacking.items() if not there)


def gaps(facts: Terms) -> Iterator[str]:
    """Each thing an invoice lacks to be an XRechnung, with the rule that asks for it."""
    seller, buyer = facts.seller, facts.buyer
    yield from party_gaps(seller, buyer, facts.buyer_reference, account=bool(facts.means_code))
    if any(line.strip().startswith("#") for line in facts.terms.splitlines()):
        yield "payment terms of which no line begins with # (BR-DE-18)"
    for whose, party, rule in (("client", buyer, "R010"), ("studio", seller, "R020")):
        if not party.endpoint[1]:
            yield f"{whose}'s electronic address: endpoint = SCHEME:ID, or an email (PEPPOL-EN16931-{rule})"
