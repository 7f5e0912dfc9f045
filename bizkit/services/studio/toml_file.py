"""Reading a TOML file into a tree: numbers exact, mistakes named with file and line."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from bizkit.domain.errors import BadInput, one_line
from bizkit.domain.plain_text import check_tree
from bizkit.services.studio.source_file import MB, read_source_text
from bizkit.services.studio.toml_hints import meant, place_of

#: A settings file is no larger; the largest rate card anybody writes by hand has a hundredth of it.
MOST_BYTES = 5 * MB

#: Tables and lists within one another; no settings file has a fifth of them.
DEEPEST = 50


@dataclass(frozen=True, slots=True)
class TomlFile:
    """A settings file as read: its name for messages, its text as it stood, and its tree."""

    name: str
    text: str
    tree: dict[str, Any]


#: Folders of a studio whose files are named with them: `clients/skerrow.toml`, as several may be called alike.
FOLDERS = ("clients", "briefs", "jobs", "specs")


def read_toml(path: Path, what: str, *, lines: bool = False, hint: str = "") -> TomlFile:
    """The file at `path`, as somebody typed it; `what` says in messages what it should be ("a brief").

    lines: any of its texts may run over several lines. hint: what to do where it is not there. Raises BadInput, also
    for text that no paper can carry.
    """
    text = read_source_text(path, what, most=MOST_BYTES, hint=hint)
    folder = path.parent.name
    name = f"{folder}/{path.name}" if folder in FOLDERS else path.name
    tree = toml_tree(text, name, what)
    check_tree(tree, where=name, lines=lines)
    return TomlFile(name, text, tree)


def parse_toml(text: str, name: str, what: str) -> TomlFile:
    """`text`, which the book kept, as a settings file called `name`. Raises BadInput with the place of a mistake."""
    return TomlFile(name, text, toml_tree(text, name, what))


def toml_tree(text: str, name: str, what: str) -> dict[str, Any]:
    """What `text` says, numbers exact. Raises BadInput with the place of a mistake, and for what no settings need."""
    try:
        tree = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        found, words = place_of(text, str(error))
        at = "" if "at line" in str(error) else f" at line {found}"
        got = f"{error}{at}: {one_line(words, 60)}"
        raise BadInput(wanted=f"{what} in TOML", got=got, where=name, hint=meant(text, str(error))) from None
    except RecursionError:
        raise _too_deep(name, what) from None
    except (ValueError, ArithmeticError):  # Python reads no whole number beyond a few thousand digits
        line = next((n for n, one in enumerate(text.split("\n"), 1) if re.search(r"[0-9_]{400}", one)), 0)
        at = f" (at line {line})" if line else ""
        raise BadInput(
            wanted=f"{what} in TOML", got=f"a number that is too long, or a date that cannot be{at}", where=name
        ) from None
    level: list[Any] = [tree]
    for _ in range(DEEPEST):
        level = [one for part in level for one in (part.values() if isinstance(part, dict) else part)]
        level = [one for one in level if isinstance(one, dict | list)]
        if not level:
            return tree
    raise _too_deep(name, what)


def _too_deep(name: str, what: str) -> BadInput:
    return BadInput(wanted=f"{what} in TOML", got="tables or lists nested too deep", where=name)
