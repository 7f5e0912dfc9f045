"""A media hash list of the American Society of Cinematographers (ASC MHL 2.0), for who receives drives and wants one.

A folder `ascmhl` with one list of the files and a chain that names the list by its own identifier. What is written is
the first generation of a history; directory hashes, which the format leaves free, are left out. Form: the published
schemas ASCMHL.xsd and ASCMHLDirectory.xsd of the ASC MHL working group, read. Identifiers: SMPTE ST 2114 (C4): the
SHA-512 as a number to the base of 58.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha512

from bizkit import __version__
from bizkit.domain.errors import BadInput

FOLDER = "ascmhl"
CHAIN = "ascmhl_chain.xml"
_LIST = "urn:ASC:MHL:v2.0"
_DIRECTORY = "urn:ASC:MHL:DIRECTORY:v2.0"
_DIGITS = "123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz"
_LENGTH = 88


@dataclass(frozen=True, slots=True)
class Listed:
    """One file: its name below the folder, with slashes, its size, and the SHA-512 of its content."""

    name: str
    size_bytes: int
    sha512: bytes


def c4(digest: bytes) -> str:
    """The C4 identifier of a SHA-512: 90 characters that begin with c4.

    >>> c4(sha512(b"").digest())
    'c459dsjfscH38cYeXXYogktxf4Cd9ibshE3BHUo6a58hBXmRQdZrAkZzsWcbWtDg5oQstpDuni4Hirj75GEmTc1sFT'
    """
    number, text = int.from_bytes(digest, "big"), ""
    while number:
        number, rest = divmod(number, 58)
        text = _DIGITS[rest] + text
    return "c4" + text.rjust(_LENGTH, _DIGITS[0])


def media_hash_list(
    folder: str, files: Iterable[Listed], *, made_at: datetime, made_by: str, ignored: Iterable[str] = ()
) -> dict[str, bytes]:
    """The files to write into the folder `ascmhl`, by name. folder: what is listed. made_at: in UTC.

    ignored: patterns of what lies in the folder and is left out: whoever checks the list does not miss them there.

    Raises BadInput for no files, or a name that XML cannot hold.
    """
    stamp = made_at.isoformat(timespec="seconds")
    root = ET.Element("hashlist", {"version": "2.0", "xmlns": _LIST})
    creator = ET.SubElement(root, "creatorinfo")
    ET.SubElement(creator, "creationdate").text = stamp
    ET.SubElement(creator, "hostname").text = _text(made_by)
    ET.SubElement(creator, "tool", version=__version__).text = "bizkit"
    process = ET.SubElement(root, "processinfo")
    ET.SubElement(process, "process").text = "in-place"
    ignore = ET.SubElement(process, "ignore")
    for pattern in dict.fromkeys((".DS_Store", FOLDER, f"{FOLDER}/", *ignored)):
        ET.SubElement(ignore, "pattern").text = _text(pattern)
    hashes = ET.SubElement(root, "hashes")
    for file in sorted(files, key=lambda each: each.name):
        entry = ET.SubElement(hashes, "hash")
        ET.SubElement(entry, "path", size=str(file.size_bytes)).text = _text(file.name)
        ET.SubElement(entry, "c4", action="original", hashdate=stamp).text = c4(file.sha512)
    if not len(hashes):
        raise BadInput(wanted="one file or more", got="none", where=folder)
    name = f"0001_{folder}_{made_at:%Y-%m-%d_%H%M%S}Z.mhl"
    content = _document(root)
    chain = ET.Element("ascmhldirectory", {"xmlns": _DIRECTORY})
    entry = ET.SubElement(chain, "hashlist", sequencenr="1")
    ET.SubElement(entry, "path").text = _text(name)
    ET.SubElement(entry, "c4").text = c4(sha512(content).digest())
    return {name: content, CHAIN: _document(chain)}


def literal(name: str) -> str:
    r"""A pattern of the ignore list that fits this name alone (patterns are those of gitignore).

    >>> literal("take [1]*.lnk")
    'take \\[1\\]\\*.lnk'
    """
    return re.sub(r"([\\*?\[\]!#])", r"\\\1", name)


def check_names(names: Iterable[str]) -> None:
    """Refuse names that a media hash list cannot hold. Raises BadInput."""
    for name in names:
        _text(name)


def _document(root: ET.Element) -> bytes:
    ET.indent(root)
    text: str = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _text(value: str) -> str:
    """Raises BadInput for characters that XML 1.0 (2.2) leaves out."""
    for sign in value:
        if (sign < " " and sign not in "\t\n\r") or sign in "\ufffe\uffff" or "\ud800" <= sign <= "\udfff":
            raise BadInput(wanted="a file name that a media hash list can hold", got=value, field="name")
    return value
