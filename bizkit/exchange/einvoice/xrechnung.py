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

from bizkit.exchange.einvoice.terms import Terms

#: BT-24 and BT-23 of XRechnung 3.0.
XRECHNUNG: Final = "urn:cen.eu:en16931:2017#compliant#urn:xeinkauf.de:kosit:xrechnung_3.0"
XRECHNUNG_PROCESS: Final = "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0"

#: UNTDID 1001: a bill in part. A prepayment invoice (386) is not of XRechnung's list (BR-DE-17).
PARTIAL_CODE: Final = "326"

_EMAIL: Final = re.compile(r"[^@\s]+@([^@.\s]+\.)+[^@.\s]+")


def for_public_body(facts: Terms) -> bool:
    """Whether the buyer reference (BT-10) is a Leitweg-ID, with right check digits, of a client in Germany."""
    return facts.buyer.country == "DE" and bool(leitweg.is_valid(facts.buyer_reference))


def gaps(facts: Terms) -> Iterator[str]:
    """Each thing an invoice lacks to be an XRechnung, with the rule that asks for it."""
    seller, buyer = facts.seller, facts.buyer
    wanted = (
        (facts.means_code, "studio's bank account (BR-DE-1)"),
        (seller.city, "studio's town, city (BR-DE-3)"),
        (seller.postcode, "studio's postcode (BR-DE-4)"),
        (seller.person, "studio's contact, people (BR-DE-5)"),
        (sum(sign.isdigit() for sign in seller.phone) >= 3, "studio's phone (BR-DE-6, BR-DE-27)"),
        (_EMAIL.fullmatch(seller.email), "studio's email (BR-DE-7, BR-DE-28)"),
        (buyer.city, "client's town, city (BR-DE-8)"),
        (buyer.postcode, "client's postcode (BR-DE-9)"),
        (facts.buyer_reference, "buyer reference, the Leitweg-ID (BR-DE-15)"),
        (
            not any(line.strip().startswith("#") for line in facts.terms.splitlines()),
            "payment terms of which no line begins with # (BR-DE-18)",
        ),
        (buyer.endpoint[1], "client's electronic address: endpoint = SCHEME:ID, or an email (PEPPOL-EN16931-R010)"),
        (seller.endpoint[1], "studio's electronic address: endpoint = SCHEME:ID, or an email (PEPPOL-EN16931-R020)"),
    )
    yield from (what for there, what in wanted if not there)
