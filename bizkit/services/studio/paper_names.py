"""File names of papers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

#: Kinds of paper that may be issued again under the same number.
REVISED = ("quote", "licence_certificate")


def pdf_name(document: Mapping[str, Any]) -> str:
    """The file name of an issued paper: `Q-2027-0001-r2.pdf`, `GL-2027-0001.pdf`, `LC-2027-0001-r1.pdf`."""
    number = file_name(str(document["number"]))
    revision = f"-r{document['revision']}" if document["kind"] in REVISED else ""
    return f"{number}{revision}.pdf"


def file_name(text: str) -> str:
    """`text` as part of a file name: letters, digits, point, dash and low line; a dash for anything else."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text)
