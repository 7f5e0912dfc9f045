"""The media hash list: identifiers known from outside, and the form that the published schemas ask for."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from hashlib import sha512

import pytest

from bizkit.domain.errors import BadInput
from bizkit.exchange.mhl import CHAIN, Listed, c4, media_hash_list

AT = datetime(2027, 6, 15, 9, 5, 7, tzinfo=UTC)
LIST, DIRECTORY = "{urn:ASC:MHL:v2.0}", "{urn:ASC:MHL:DIRECTORY:v2.0}"


def listed(name: str, content: bytes) -> Listed:
    return Listed(name, len(content), sha512(content).digest())


@pytest.mark.parametrize(
    ("content", "identifier"),
    [
        # SMPTE ST 2114: the identifier of nothing, from memory.
        (b"", "c459dsjfscH38cYeXXYogktxf4Cd9ibshE3BHUo6a58hBXmRQdZrAkZzsWcbWtDg5oQstpDuni4Hirj75GEmTc1sFT"),
        # Computed by the working group's reference implementation, ascmhl 1.2.
        (b"hello\n", "c45dkQrAqUiR8WzPGgn6fAGji3VAVeAE7cKVG4G53ou9dTk4Nzb9vFYEwzy9jq5ZKQKM64DMpPpVbYe2bMsZP2yYKi"),
        (b"x\n", "c42PcUhCnecsbmBqn2PFyXazPeSq8FS2yvURNdEbAdfpEa1YkwuXtFHf3wSWt47eMscK8MiL58LnCME52vDck9vHUF"),
    ],
)
def test_identifiers_are_those_of_the_standard(content: bytes, identifier: str) -> None:
    assert c4(sha512(content).digest()) == identifier


def test_an_identifier_is_always_ninety_characters_long() -> None:
    assert c4(bytes(64)) == "c4" + "1" * 88
    assert len(c4(b"\xff" * 64)) == 90


def test_the_list_has_the_members_of_the_schema_in_its_order() -> None:
    files = media_hash_list(
        "kelp",
        [listed("b/h & m.txt", b"hello\n"), listed("a.mov", b"x\n")],
        made_at=AT,
        made_by="Gannet & Lark Films",
    )
    name = "0001_kelp_2027-06-15_090507Z.mhl"
    assert set(files) == {name, CHAIN}
    root = ET.fromstring(files[name])
    assert (root.tag, root.attrib) == (f"{LIST}hashlist", {"version": "2.0"})
    assert [child.tag.removeprefix(LIST) for child in root] == ["creatorinfo", "processinfo", "hashes"]
    assert [child.tag.removeprefix(LIST) for child in root[0]] == ["creationdate", "hostname", "tool"]
    assert root.findtext(f"{LIST}creatorinfo/{LIST}creationdate") == "2027-06-15T09:05:07+00:00"
    assert [child.tag.removeprefix(LIST) for child in root[1]] == ["process", "ignore"]
    hashes = [(entry[0].text, entry[0].attrib, entry[1].text, entry[1].get("action")) for entry in root[2]]
    assert hashes == [
        ("a.mov", {"size": "2"}, c4(sha512(b"x\n").digest()), "original"),
        ("b/h & m.txt", {"size": "6"}, c4(sha512(b"hello\n").digest()), "original"),
    ]


def test_the_chain_names_the_list_by_its_identifier() -> None:
    files = media_hash_list("kelp", [listed("a.mov", b"x")], made_at=AT, made_by="G")
    (name,) = [each for each in files if each != CHAIN]
    (entry,) = ET.fromstring(files[CHAIN])
    assert entry.attrib == {"sequencenr": "1"}
    assert (entry.findtext(f"{DIRECTORY}path"), entry.findtext(f"{DIRECTORY}c4")) == (
        name, c4(sha512(files[name]).digest()),
    )  # fmt: skip


@pytest.mark.parametrize("name", ["a\x01.mov", "a\ufffe.mov", "a\udcff.mov"])
def test_a_name_that_xml_cannot_hold_is_refused(name: str) -> None:
    with pytest.raises(BadInput, match="wanted a file name that a media hash list can hold"):
        media_hash_list("kelp", [listed(name, b"x")], made_at=AT, made_by="G")


def test_nothing_makes_no_list() -> None:
    with pytest.raises(BadInput, match="wanted one file or more"):
        media_hash_list("kelp", [], made_at=AT, made_by="G")
