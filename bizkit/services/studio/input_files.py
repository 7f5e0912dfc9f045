"""The settings files of a studio that are declared key by key: what each is, and every key it may have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from bizkit.domain.errors import NotFound
from bizkit.domain.inputs.keys import NUMERIC, Declared, Key, Kind, all_keys, heading_of
from bizkit.domain.money import plain
from bizkit.domain.parties import Client, Studio
from bizkit.domain.pricing.brief_file import BriefFile
from bizkit.domain.pricing.card_file import CardFile
from bizkit.domain.pricing.floor import FloorTerms
from bizkit.domain.rights.paper_file import PaperFile
from bizkit.domain.work.spec import Spec
from bizkit.domain.work.worksheet import Worksheet


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
        InputFile("rate-card", "rate-card.toml", "What you charge", CardFile),
        InputFile("brief", "briefs/NAME.toml", "What one shoot needs", BriefFile),
        InputFile("floor", "floor.toml", "What a year takes: the price below which you lose money", FloorTerms),
        InputFile(
            "job", "jobs/KEY.toml", "How a job is worked: shots, cards and drives, steps of the plan", Worksheet
        ),
        InputFile("spec", "specs/NAME.toml", "What a delivered file must be", Spec),
        InputFile("paper", "a file for --terms", "What a signed paper allows, part by part", PaperFile),
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
    if key.choices and one.kind is Kind.TEXTS:
        return "list of " + ", ".join(_written(word) for word in key.choices)
    if key.choices and one.kind is Kind.TEXT:
        return " | ".join(_written(word) for word in key.choices)
    if key.form is not None:
        return key.form.words
    if one.kind is Kind.VALUES and one.values is not None:
        names = f"any of {', '.join(key.choices)}" if key.choices else "names of your own"
        return f"{names}, each with: {_number(one.values, key) if one.values in NUMERIC else one.values.value}"
    return _number(one.kind, key) if one.kind in NUMERIC else str(one.kind.value)


def _number(kind: Kind, key: Key) -> str:
    """A number with its limits and its unit: "number 0..100 percent", "amount above 0"."""
    most = 24 if kind is Kind.HOURS and key.most is None else key.most
    if key.above is not None:
        limits = f"above {key.above}" + (f", up to {most}" if most is not None else "")
    else:
        limits = f"of {key.least} or more" if most is None else f"{key.least}..{most}"
    return f"{kind.value} {limits} {key.unit}".strip()


def _default(one: Declared) -> str:
    usual = one.shown_usual
    return "" if one.required or usual in (None, "", (), {}) else _written(usual)


def _written(value: object) -> str:
    """A value as it is written in a settings file."""
    if value in ("", None, ()):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_written(one) for one in value)}]"
    if isinstance(value, Decimal | Fraction | int):
        return plain(Decimal(value.numerator) / value.denominator if isinstance(value, Fraction) else Decimal(value))
    text = str(value)
    return text if text[:4].isdigit() and text[4:5] == "-" else f'"{text}"'


def schema_of(file: InputFile) -> str:
    """The JSON Schema of a file, as shipped in `templates/schema`."""
    from bizkit.exchange.json_schema import schema_text

    return schema_text(file.input, f"{file.place}: {file.about}")
