"""Rights metadata beside a still or a cut: an XMP sidecar with Dublin Core, XMP rights, IPTC and PLUS properties.

Sources: XMP Specification Part 1 (ISO 16684-1), IPTC Photo Metadata Standard 2025.1, PLUS Licence Data Format 1.2.1
(namespace http://ns.useplus.org/ldf/xmp/1.0/). Status codes are derived from the records, never typed: see
`release_status` and `youngest_age`.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from bizkit.domain.errors import BadInput
from bizkit.domain.tables.territories import NAMES
from bizkit.exchange.xml_writer import Writer, drop_empty, serialized

_PREFIXES: Final = {
    "x": "adobe:ns:meta/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "xml": "http://www.w3.org/XML/1998/namespace",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    "Iptc4xmpCore": "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",
    "Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",
    "plus": "http://ns.useplus.org/ldf/xmp/1.0/",
}
#: PLUS controlled values are URIs of this vocabulary.
_VOCABULARY: Final = "http://ns.useplus.org/ldf/vocab/"

#: What is on file for one recognisable person or property.
NO_RELEASE: Final = "none"
LIMITED_RELEASE: Final = "limited"
UNLIMITED_RELEASE: Final = "unlimited"


def release_status(kind: str, releases: Sequence[str]) -> str:
    """The PLUS code for the releases of a picture. kind: "model" or "property". releases: one per subject shown.

    None shown is "not applicable"; no release at all "none"; every one unlimited "unlimited"; anything between is
    "limited or incomplete".

    >>> release_status("model", ["unlimited", "none"])
    'MR-LMR'
    """
    prefix = {"model": "MR", "property": "PR"}.get(kind)
    if prefix is None:
        raise BadInput(wanted="model or property", got=kind, field="kind")
    known = {NO_RELEASE, LIMITED_RELEASE, UNLIMITED_RELEASE}
    for release in releases:
        if release not in known:
            raise BadInput(wanted=f"one of {', '.join(sorted(known))}", got=release, field="release")
    if not releases:
        return f"{prefix}-NAP"
    if set(releases) == {UNLIMITED_RELEASE}:
        return f"{prefix}-U{prefix}"
    if set(releases) == {NO_RELEASE}:
        return f"{prefix}-NON"
    return f"{prefix}-L{prefix}"


def youngest_age(ages: Iterable[int | None]) -> str:
    """The PLUS code for the age of the youngest person shown, at the time of the picture. None: not known.

    >>> youngest_age([41, 16]), youngest_age([41, None]), youngest_age([9])
    ('AG-A16', 'AG-UNK', 'AG-U14')
    """
    known = list(ages)
    youngest = min((age for age in known if age is not None), default=None)
    if youngest is not None and youngest < 0:
        raise BadInput(wanted="an age of 0 or more", got=youngest, field="age")
    if youngest is not None and youngest <= 14:
        return "AG-U14"
    if youngest is None or None in known:
        return "AG-UNK"
    return f"AG-A{min(youngest, 25)}"


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is: name, town, region, and the country by ISO 3166-1."""

    name: str = ""
    city: str = ""
    region: str = ""
    country_code: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True)
class Contact:
    """How to reach somebody about rights."""

    name: str = ""
    email: str = ""
    phone: str = ""
    website: str = ""
    address: str = ""
    city: str = ""
    postcode: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True)
class RightsMetadata:
    """What a sidecar says. Empty or None members are left out.

    usage_terms: plain sentences. licence_id, licensee, licence_from, licence_until (inclusive), media_limits and
    region_limits: of the licence the file was delivered under. model_release, property_release, minor_age: codes from
    `release_status` and `youngest_age`. no_data_mining: whether mining and training on it are prohibited.
    """

    title: str = ""
    headline: str = ""
    description: str = ""
    creators: tuple[str, ...] = ()
    creator_contact: Contact = Contact()
    copyright_owner: str = ""
    copyright_notice: str = ""
    credit: str = ""
    usage_terms: str = ""
    terms_url: str = ""
    licensor: Contact = Contact()
    instructions: str = ""
    keywords: tuple[str, ...] = ()
    created_on: date | None = None
    shown: Place = Place()
    identifier: str = ""
    media_type: str = ""
    model_release: str = ""
    model_release_ids: tuple[str, ...] = ()
    property_release: str = ""
    property_release_ids: tuple[str, ...] = ()
    minor_age: str = ""
    licence_id: str = ""
    licensee: str = ""
    licence_from: date | None = None
    licence_until: date | None = None
    media_limits: str = ""
    region_limits: str = ""
    no_data_mining: bool = False


def sidecar(facts: RightsMetadata) -> bytes:
    """The XMP packet as UTF-8, to be stored beside the file with the ending `.xmp`.

    Raises BadInput for an unknown country.
    """
    if facts.shown.country_code and facts.shown.country_code not in NAMES:
        raise BadInput(wanted="a country code such as GB", got=facts.shown.country_code, field="shown.country_code")
    write = Writer(_PREFIXES)
    root = write.root("x:xmpmeta")
    about = write.group(root, "rdf:RDF", "rdf:Description")
    write.mark(about, "rdf:about", "")
    _describe(write, about, facts)
    _rights(write, about, facts)
    _releases(write, about, facts)
    _licence(write, about, facts)
    drop_empty(about)
    return serialized(root)


def _describe(write: Writer, about: ET.Element, facts: RightsMetadata) -> None:
    write.text(about, "dc:format", facts.media_type)
    _language(write, about, "dc:title", facts.title)
    _language(write, about, "dc:description", facts.description)
    _list(write, about, "dc:creator", "rdf:Seq", facts.creators)
    _list(write, about, "dc:subject", "rdf:Bag", facts.keywords)
    write.text(about, "photoshop:Headline", facts.headline)
    write.text(about, "photoshop:Credit", facts.credit)
    write.text(about, "photoshop:Instructions", facts.instructions)
    write.text(about, "photoshop:DateCreated", facts.created_on.isoformat() if facts.created_on else "")
    write.text(about, "Iptc4xmpExt:DigImageGUID", facts.identifier)
    contact = _struct(write, write.group(about, "Iptc4xmpCore:CreatorContactInfo"))
    for name, value in (
        ("CiAdrExtadr", facts.creator_contact.address),
        ("CiAdrCity", facts.creator_contact.city),
        ("CiAdrPcode", facts.creator_contact.postcode),
        ("CiAdrCtry", facts.creator_contact.country),
        ("CiEmailWork", facts.creator_contact.email),
        ("CiTelWork", facts.creator_contact.phone),
        ("CiUrlWork", facts.creator_contact.website),
    ):
        write.text(contact, f"Iptc4xmpCore:{name}", value)
    place = _struct(write, write.group(about, "Iptc4xmpExt:LocationShown", "rdf:Bag", "rdf:li"))
    write.text(place, "Iptc4xmpExt:Sublocation", facts.shown.name)
    write.text(place, "Iptc4xmpExt:City", facts.shown.city)
    write.text(place, "Iptc4xmpExt:ProvinceState", facts.shown.region)
    write.text(place, "Iptc4xmpExt:CountryName", facts.shown.country)
    write.text(place, "Iptc4xmpExt:CountryCode", facts.shown.country_code)


def _rights(write: Writer, about: ET.Element, facts: RightsMetadata) -> None:
    _language(write, about, "dc:rights", facts.copyright_notice)
    write.text(about, "xmpRights:Marked", "True")
    _language(write, about, "xmpRights:UsageTerms", facts.usage_terms)
    write.text(about, "xmpRights:WebStatement", facts.terms_url)
    _list(write, about, "xmpRights:Owner", "rdf:Bag", [facts.copyright_owner])
    owner = _struct(write, write.group(about, "plus:CopyrightOwner", "rdf:Seq", "rdf:li"))
    write.text(owner, "plus:CopyrightOwnerName", facts.copyright_owner)
    creators = write.group(about, "plus:ImageCreator", "rdf:Seq")
    for creator in facts.creators:
        write.text(_struct(write, write.group(creators, "rdf:li")), "plus:ImageCreatorName", creator)
    licensor = _struct(write, write.group(about, "plus:Licensor", "rdf:Seq", "rdf:li"))
    write.text(licensor, "plus:LicensorName", facts.licensor.name)
    write.text(licensor, "plus:LicensorEmail", facts.licensor.email)
    write.text(licensor, "plus:LicensorTelephone1", facts.licensor.phone)
    write.text(licensor, "plus:LicensorURL", facts.licensor.website)
    if facts.no_data_mining:
        write.text(about, "plus:DataMining", f"{_VOCABULARY}DMI-PROHIBITED")


def _releases(write: Writer, about: ET.Element, facts: RightsMetadata) -> None:
    for name, code in (
        ("plus:ModelReleaseStatus", facts.model_release),
        ("plus:PropertyReleaseStatus", facts.property_release),
        ("plus:MinorModelAgeDisclosure", facts.minor_age),
    ):
        write.text(about, name, f"{_VOCABULARY}{code}" if code else "")
    _list(write, about, "plus:ModelReleaseID", "rdf:Bag", facts.model_release_ids)
    _list(write, about, "plus:PropertyReleaseID", "rdf:Bag", facts.property_release_ids)


def _licence(write: Writer, about: ET.Element, facts: RightsMetadata) -> None:
    write.text(about, "plus:LicenseID", facts.licence_id)
    licensee = _struct(write, write.group(about, "plus:Licensee", "rdf:Seq", "rdf:li"))
    write.text(licensee, "plus:LicenseeName", facts.licensee)
    write.text(about, "plus:LicenseStartDate", facts.licence_from.isoformat() if facts.licence_from else "")
    write.text(about, "plus:LicenseEndDate", facts.licence_until.isoformat() if facts.licence_until else "")
    _language(write, about, "plus:MediaConstraints", facts.media_limits)
    _language(write, about, "plus:RegionConstraints", facts.region_limits)


def _language(write: Writer, about: ET.Element, name: str, text: str) -> None:
    """A language alternative with its one text."""
    entry = write.group(about, name, "rdf:Alt")
    write.text(entry, "rdf:li", text)
    for child in entry:
        write.mark(child, "xml:lang", "x-default")


def _list(write: Writer, about: ET.Element, name: str, kind: str, values: Iterable[str]) -> None:
    entries = write.group(about, name, kind)
    for value in values:
        write.text(entries, "rdf:li", value)


def _struct(write: Writer, node: ET.Element) -> ET.Element:
    """A structure: its fields stand in a description of their own."""
    return write.group(node, "rdf:Description")
