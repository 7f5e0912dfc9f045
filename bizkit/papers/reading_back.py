"""Whether a PDF is one that bizkit drew, whole and as it was drawn, and of which number."""

from __future__ import annotations

import base64
import re
import zlib
from typing import Final

_MADE: Final = (b"/Creator (bizkit)", b"/Producer (bizkit)")
_STREAM: Final = re.compile(rb">>\r?\nstream\r?\n")


def is_whole_paper(content: bytes, number: str) -> bool:
    """Whether `content` is a paper that bizkit drew for `number`, with nothing of it missing or changed by accident.

    Each compressed stream ends in a checksum of what it holds (RFC 1950 section 2.2), which shows damage; the title
    names the number. Somebody who means to forge one can.
    """
    if not content.startswith(b"%PDF-") or not content.endswith(b"%%EOF\n"):
        return False
    if not all(made in content for made in _MADE) or not _names(content, number):
        return False
    streams = list(_STREAM.finditer(content))
    return bool(streams) and all(_is_whole(content, one.start(), one.end()) for one in streams)


def _names(content: bytes, number: str) -> bool:
    """Whether the title holds the number, written in one byte a letter or in two."""
    wide = "".join(f"\\000{letter}" for letter in number)
    title = re.search(rb"/Title \((?:[^()\\]|\\.|\([^()]*\))*\)", content, re.DOTALL)
    return title is not None and (number.encode() in title[0] or wide.encode() in title[0])


def _is_whole(content: bytes, start: int, end: int) -> bool:
    about = content[content.rfind(b" obj", 0, start) : start]
    length = re.search(rb"/Length (\d+)", about)
    if length is None:
        return False
    data = content[end : end + int(length[1])]
    if not content[end + int(length[1]) :].lstrip().startswith(b"endstream"):
        return False
    try:
        if b"/ASCII85Decode" in about:
            data = base64.a85decode(data.strip().removesuffix(b"~>"))
        if b"/FlateDecode" in about:
            zlib.decompress(data)
    except (ValueError, zlib.error):
        return False
    return True
