"""The settings files of a studio that are declared key by key: what each is, and every key it may have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bizkit.domain.errors import NotFound
from bizkit.domain.inputs import Declared, Kind, all_keys, heading_of
from bizkit.domain.parties import Client, Studio


@dataclass(frozen=True, slots=True)
class InputFile:
    """A settings file. place: where it stands in a studio. input: what declares its keys."""

    name: str
    place: str
    about: str
    input: type[Any]


INPUT_FILES = {
    one.name: one
    for one in (
        InputFile("studio", "studio.toml", "Who you are, your tax, your bank, your numbers", Studio),
        InputFile("client", "clients/KEY.toml", "Who commissions", Client),
    )
}


@dataclass(frozen=True, slots=True)
class KeyRow:
    """A key as it is shown. table: the heading it stands under, empty at the top of the file; about: what that is."""

    table: str
    about: str
    key: str
    value: str
    required: bool
    default: str
    meaning: str
    example: str


def input_file(name: str) -> InputFile:
    """The file of that name. Raises NotFound."""
    if name not in INPUT_FILES:
        raise NotFound("settings file", name, INPUT_FILES, field="FILE")
    return INPUT_FILES[name]


def key_rows(file: InputFile, table: str = "") -> list[KeyRow]:
    """Every key of a file, or of one of its tables, named with or without brackets. Raises NotFound."""
    rows = list(_rows(file.input))
    if not table:
        return rows
    known = {row.table.strip("[]"): row.table for row in rows if row.table}
    plain = table.strip("[]")
    wanted = known.get(plain) or known.get(f"{plain}.NAME")
    if wanted is None:
        raise NotFound("table", table, sorted(known), field="TABLE")
    return [row for row in rows if row.table == wanted]


def _rows(kind: type[Any]) -> Iterator[KeyRow]:
    about = {"": ""}
    for heading, one in all_keys(kind):
        if one.of is not None:
            about[heading_of(heading, one)] = one.key.meaning
            continue
        facts = (_value(one), one.required, _default(one), one.key.meaning, _written(one.key.example))
        yield KeyRow(heading, about[heading], one.name, *facts)


def _value(one: Declared) -> str:
    """What may stand at a key, in words."""
    key = one.key
    if key.choices:
        return " | ".join(_written(word) for word in key.choices)
    kind = {Kind.WHOLE: "whole number", Kind.TEXTS: "list of texts"}.get(one.kind, str(one.kind.value))
    if one.kind in (Kind.WHOLE, Kind.NUMBER):
        kind += f" of {key.least} or more" if key.most is None else f" {key.least}..{key.most}"
    return f"{kind} {key.unit}".strip()


def _default(one: Declared) -> str:
    return "" if one.required or one.usual in (None, "", ()) else _written(one.usual)


def _written(value: object) -> str:
    """A value as it is written in a settings file."""
    if value in ("", None, ()):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_written(one) for one in value)}]"
    if isinstance(value, Decimal | int):
        return str(value)
    text = str(value)
    return text if text[:4].isdigit() and text[4:5] == "-" else f'"{text}"'


def schema_of(file: InputFile) -> str:
    """The JSON Schema of a file, as shipped in `templates/schema`."""
    from bizkit.exchange.json_schema import schema_text

    return schema_text(file.input, f"{file.place}: {file.about}")
