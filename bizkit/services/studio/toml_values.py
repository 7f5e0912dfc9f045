"""Texts and dates of a settings file by their place in it, so that one can be rewritten, comments kept."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bizkit.domain.errors import BadInput
from bizkit.services.studio.toml_file import toml_tree

#: Where a value stands: the keys that lead to it, and numbers within arrays, from 0.
Path = tuple[str | int, ...]

#: A comment, a text in one of TOML's four forms, or a date. Whatever else a file holds is left alone.
_TOKEN = re.compile(
    r'(?P<comment>#[^\n]*)|(?P<text>"""(?:\\.|(?!""")[^\\])*"""(?:"{0,2})|\'\'\'(?:(?!\'\'\').)*\'\'\'(?:\'{0,2})'
    r'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\')|(?P<date>(?<![\w.+:-])\d{4}-\d{2}-\d{2}(?![\w:.-]|[ Tt]\d{2}:))',
    re.DOTALL,
)
_STAND_IN = date(9000, 1, 1)


@dataclass(frozen=True, slots=True)
class Value:
    """One text or date, and from where to where it is written."""

    path: Path
    value: str | date
    start: int
    end: int


def values(text: str, name: str) -> list[Value]:
    """Every text and date in the file called `name`, in its order. Raises BadInput where it is no TOML.

    Each is read in its place by writing a day of the far future there, and looking where that day comes out.
    """
    _tree(text, name)
    tokens = [one for one in _TOKEN.finditer(text) if one.lastgroup != "comment"]
    days = [(_STAND_IN + timedelta(days=number)).isoformat() for number in range(len(tokens))]
    marked, at = [], 0
    for day, one in zip(days, tokens, strict=True):
        marked += [text[at : one.start()], day if one.lastgroup == "date" else f'"{day}"']
        at = one.end()
    said = {day: _tree(f"it = {one[0]}", name)["it"] for day, one in zip(days, tokens, strict=True)}
    ends = {day: (one.start(), one.end()) for day, one in zip(days, tokens, strict=True)}
    places = _walk(_tree("".join(marked) + text[at:], name))
    found = [
        Value(
            tuple(str(said.get(one, one)) if isinstance(one, str) else one for one in path),
            said[str(day)],
            *ends[str(day)],
        )
        for path, day in places
        if str(day) in said
    ]
    return sorted(found, key=lambda one: one.start)


def rewritten(text: str, changes: Mapping[Path, str | date], name: str) -> str:
    """The file with these values in place of what stands there. Raises BadInput where a value cannot be found."""
    known = {one.path: one for one in values(text, name)}
    for path in changes:
        if path not in known:
            raise BadInput(wanted="a text or date", got="none", field=".".join(map(str, path)), where=name)
    for path, new in sorted(changes.items(), key=lambda one: -known[one[0]].start):
        one = known[path]
        written = new.isoformat() if isinstance(new, date) else json.dumps(new, ensure_ascii=False)
        text = text[: one.start] + written + text[one.end :]
    return text


def _tree(text: str, name: str) -> dict[str, Any]:
    return toml_tree(text, name, "a settings file")


def _walk(part: Any, path: Path = ()) -> Iterator[tuple[Path, str | date]]:
    if isinstance(part, dict):
        for key, one in part.items():
            yield from _walk(one, (*path, key))
    elif isinstance(part, list):
        for number, one in enumerate(part):
            yield from _walk(one, (*path, number))
    elif isinstance(part, str | date):
        yield path, part
