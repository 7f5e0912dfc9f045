"""Reading a TOML file into `Fields`: numbers exact, mistakes named with file and line."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.services.studio.source_file import MB, read_source_text

#: A settings file is no larger; the largest rate card anybody writes by hand has a hundredth of it.
MOST_BYTES = 5 * MB


@dataclass(frozen=True, slots=True)
class TomlFile:
    """A settings file as read: its name for messages, its text as it stood, and its tree."""

    name: str
    text: str
    fields: Fields


#: Folders of a studio whose files are named with them: `clients/skerrow.toml`, as several may be called alike.
FOLDERS = ("clients", "briefs", "jobs", "specs")


def read_toml(path: Path, what: str) -> TomlFile:
    """The file at `path`; `what` says in messages what it should be ("a brief"). Raises BadInput."""
    text = read_source_text(path, what, most=MOST_BYTES)
    folder = path.parent.name
    return parse_toml(text, f"{folder}/{path.name}" if folder in FOLDERS else path.name, what)


def parse_toml(text: str, name: str, what: str) -> TomlFile:
    """`text` as a settings file called `name`. Raises BadInput with line and column of a syntax mistake."""
    try:
        tree = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(wanted=f"{what} in TOML", got=str(error), where=name) from None
    return TomlFile(name, text, Fields(tree, where=name))


def sha256_of_bytes(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def sha256_of_text(text: str) -> str:
    """SHA-256 of a settings file's text, so that a paper can say which revision of it was used."""
    return sha256_of_bytes(text.encode())
