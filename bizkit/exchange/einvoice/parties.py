"""Seller and buyer (BG-4, BG-7) as an electronic invoice names them, read off a document.

* Outside the scope of tax (category O) neither may show a VAT number (EN 16931 BR-O-02): the seller's goes to its tax
  registration (BT-32) and to its identifier (BT-29), the buyer's to its identifier (BT-46).
* One of identifier, company number or VAT number must say who the seller is (BR-CO-26); a tax registration does not.
* A tax number that is no VAT number (an employer number of the United States) is an identifier, not BT-48 (BR-CO-09).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bizkit.domain.registrations import is_vat_number
from bizkit.domain.tables.electronic_addresses import EAS


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


def seller(studio: Mapping[str, Any], *, outside: bool) -> Party:
    """The studio. outside: the invoice is outside the scope of tax."""
    number, local = studio["tax_number"], studio.get("local_tax_number", "")
    vat = "" if outside or not is_vat_number(number, studio["country"]) else number
    registration = local or ("" if vat else number)
    company = studio["company_number"]
    identifier = "" if vat or company else registration or studio["email"] or studio["name"]
    return Party(
        name=studio["name"],
        lines=_address(studio),
        city=studio.get("city", ""),
        postcode=studio.get("postcode", ""),
        country=studio["country"],
        identifier=identifier,
        company_number=company,
        vat=vat,
        registration=registration,
        endpoint=_endpoint(studio),
        person=studio["people"][0] if studio["people"] else "",
        phone=studio["phone"],
        email=studio["email"],
    )


def buyer(client: Mapping[str, Any], *, outside: bool) -> Party:
    """The client. outside: as for `seller`."""
    number = client["tax_number"]
    vat = "" if outside or not is_vat_number(number, client["country"]) else number
    return Party(
        name=client["name"],
        lines=_address(client),
        city=client.get("city", ""),
        postcode=client.get("postcode", ""),
        country=client["country"],
        identifier="" if vat else number,
        company_number=client.get("company_number", ""),
        vat=vat,
        endpoint=_endpoint(client),
        person=client["contact"],
        email=client["email"],
    )


def _address(party: Mapping[str, Any]) -> tuple[str, str, str]:
    """Three address lines; what does not fit joins the third. A line repeating town and postcode is dropped."""
    lines = list(party["address"])
    city, postcode = party.get("city", ""), party.get("postcode", "")
    if lines and (city or postcode) and set(lines[-1].split()) <= set(f"{city} {postcode}".split()):
        lines.pop()
    first, second, *rest = [*lines, "", ""]
    return first, second, ", ".join(line for line in rest if line)


def _endpoint(party: Mapping[str, Any]) -> tuple[str, str]:
    """Electronic address: the one given, where its scheme is of the EAS list (BR-CL-25), else the email (EM)."""
    scheme, _, address = party.get("endpoint", "").partition(":")
    if scheme in EAS and address:
        return scheme, address
    return ("EM", party["email"]) if party["email"] else ("", "")
