"""What an XMP packet says about an image. Reads XML without ever loading a document type or an entity."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from xml.parsers import expat

from bizkit.domain.errors import one_line

_DC = "http://purl.org/dc/elements/1.1/"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_PHOTOSHOP = "http://ns.adobe.com/photoshop/1.0/"
_RIGHTS = "http://ns.adobe.com/xap/1.0/rights/"
_EXIF = "http://ns.adobe.com/exif/1.0/"
_EXIF_EX = "http://cipa.jp/exif/1.0/"
_AUX = "http://ns.adobe.com/exif/1.0/aux/"
_PLUS = "http://ns.useplus.org/ldf/xmp/1.0/"
_IPTC = "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/"
_IPTC_EX = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/"

#: XMP property -> plain name. XMP specification part 2, IPTC Photo Metadata Standard, PLUS (names from memory).
_NAMES = {
    (_DC, "creator"): "creator",
    (_DC, "rights"): "copyright",
    (_DC, "description"): "caption",
    (_DC, "title"): "title",
    (_PHOTOSHOP, "Credit"): "credit",
    (_PHOTOSHOP, "DateCreated"): "taken_on",
    (_EXIF, "DateTimeOriginal"): "taken_on",
    (_RIGHTS, "UsageTerms"): "usage_terms",
    (_RIGHTS, "WebStatement"): "rights_page",
    (_PLUS, "ModelReleaseStatus"): "model_release",
    (_PLUS, "PropertyReleaseStatus"): "property_release",
    **{
        (_EXIF, name): "position"
        for name in ("GPSLatitude", "GPSLongitude", "GPSDestLatitude", "GPSDestLongitude", "GPSAreaInformation")
    },
    (_EXIF_EX, "BodySerialNumber"): "camera_serial",
    (_AUX, "SerialNumber"): "camera_serial",
}
#: Where it was, in words: the places that a file may name, from the nest to the town. Countries give nothing away.
_PLACES = (
    (_IPTC, "Location"),
    (_PHOTOSHOP, "City"),
    (_IPTC_EX, "Sublocation"),
    (_IPTC_EX, "City"),
    (_IPTC_EX, "LocationName"),
    (_IPTC_EX, "LocationId"),
)
#: Far more than a real packet holds.
PACKET_MOST_BYTES = 4 << 20
DEPTH_MOST = 50


class _Stop(Exception):
    """The packet holds a document type or is nested too deep: no XMP is."""


def read_xmp(packet: bytes) -> dict[str, str]:
    """Plain name -> value. What cannot be read as XML counts only as far as it could be; never raises.

    "position" is "yes" for coordinates, else the places named, as of `place_in_words`.

    >>> read_xmp(b'<r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><r:Description '
    ...          b'xmlns:p="http://ns.adobe.com/photoshop/1.0/" p:Credit="Gannet &amp; Lark Films"/></r:RDF>')
    {'credit': 'Gannet & Lark Films'}
    """
    found: dict[str, str] = {}
    if not packet or len(packet) > PACKET_MOST_BYTES:
        return found
    stack: list[str] = []
    text: list[str] = []
    places: list[str] = []

    def note(name: str, value: str) -> None:
        namespace, _, local = name.rpartition(" ")
        if (namespace, local) in _PLACES and value.strip():
            places.append(value)
        plain = _NAMES.get((namespace, local))
        if plain and value.strip() and plain not in found:
            found[plain] = "yes" if plain == "position" else one_line(value, 200)

    def start(name: str, attributes: dict[str, str]) -> None:
        stack.append(name)
        if len(stack) > DEPTH_MOST:
            raise _Stop
        text.clear()
        for key, value in attributes.items():
            if key == f"{_RDF} resource":
                note(name, value)
            else:
                note(key, value)

    def end(name: str) -> None:
        stack.pop()
        holder = next((each for each in reversed((*stack, name)) if not each.startswith(_RDF)), name)
        note(holder, "".join(text))
        text.clear()

    def characters(data: str) -> None:
        text.append(data)

    def refuse(*_: object) -> None:
        raise _Stop

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = characters
    parser.StartDoctypeDeclHandler = refuse
    with contextlib.suppress(_Stop, expat.ExpatError, ValueError):
        parser.Parse(packet.rstrip(b"\0"), True)
    return place_in_words(found, places)


def place_in_words(found: Mapping[str, str], places: Iterable[str]) -> dict[str, str]:
    """`found` with "position" saying the names of places, where it does not say that there are coordinates.

    >>> place_in_words({}, ["Kittiwake Head", "Kittiwake Head"])
    {'position': 'in words: Kittiwake Head'}
    """
    before = found.get("position", "")
    named = list(dict.fromkeys(one_line(place, 60) for place in places if place.strip()))
    if not named or before == "yes":
        return dict(found)
    start = f"{before}, " if before else "in words: "
    return {**found, "position": one_line(start + ", ".join(named), 200)}
