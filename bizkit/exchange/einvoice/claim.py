"""What an electronic invoice says it is (BT-24, BT-23): never more than it holds.

An XRechnung where the client's reference is a Leitweg-ID and nothing lacks, in either syntax; else, in UBL, one of
Peppol BIS Billing 3 where nothing lacks; else an invoice of the norm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from bizkit.exchange.einvoice import peppol, xrechnung
from bizkit.exchange.einvoice.terms import PARTIAL_CODE, PREPAYMENT_CODE, Document, Terms, terms

#: BT-24: the core norm, which is also the profile "EN 16931" of Factur-X.
EN_16931: Final = "urn:cen.eu:en16931:2017"


@dataclass(frozen=True, slots=True)
class Claim:
    """specification: BT-24. process: BT-23, empty for the norm. facts: the terms as this specification words them.

    peppol_gaps, xrechnung_gaps: what it lacks to be one; empty too where nothing asks for it.
    """

    specification: str
    process: str
    facts: Terms
    peppol_gaps: tuple[str, ...] = ()
    xrechnung_gaps: tuple[str, ...] = ()


def claim(document: Document, syntax: str) -> Claim:
    """What the invoice or credit note claims to be in `syntax` (ubl or cii). Raises RuleBroken as `terms` does."""
    facts = terms(document)
    public = xrechnung.for_public_body(facts.buyer_reference, facts.buyer.country)
    lacks = tuple(xrechnung.gaps(facts)) if public else ()
    if public and not lacks:
        if facts.type_code == PREPAYMENT_CODE:
            # a prepayment invoice (386) is not of XRechnung's list (BR-DE-17)
            facts = replace(facts, type_code=PARTIAL_CODE)
        return Claim(xrechnung.XRECHNUNG, xrechnung.XRECHNUNG_PROCESS, facts)
    if syntax != "ubl":
        return Claim(EN_16931, "", facts, xrechnung_gaps=lacks)
    for_peppol = tuple(peppol.gaps(facts))
    if for_peppol:
        return Claim(EN_16931, "", facts, for_peppol, lacks)
    return Claim(peppol.PEPPOL, peppol.PEPPOL_PROCESS, facts, xrechnung_gaps=lacks)
