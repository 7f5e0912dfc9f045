"""What a settings file may say as JSON Schema (draft 2020-12), which editors read to complete and to check it.

Source: JSON Schema Core and Validation, draft 2020-12 (json-schema.org). A date of TOML is a string of format `date`
in the data model of JSON. What only several keys together can break is not in the schema.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from bizkit.domain.inputs.keys import NUMERIC, Declared, Key, Kind, keys_of

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schema_text(kind: type[Any], title: str) -> str:
    """The schema of an input as the text of its file. title: what the file is."""
    schema = {"$schema": DRAFT, "title": title, **_table(kind)}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _table(kind: type[Any]) -> dict[str, Any]:
    keys = keys_of(kind)
    table: dict[str, Any] = {"type": "object", "properties": {one.name: _key(one) for one in keys}}
    required = [one.name for one in keys if one.required]
    return table | ({"required": required} if required else {}) | {"additionalProperties": False}


def _key(one: Declared) -> dict[str, Any]:
    key = one.key
    about: dict[str, Any] = {"description": key.meaning + (f" In {key.unit}." if key.unit else "")}
    usual = _plain(one.shown_usual)
    if usual not in (None, "", [], {}) and one.of is None:
        about["default"] = usual
    if key.example:
        about["examples"] = [key.example]
    return about | _form(one)


def _form(one: Declared) -> dict[str, Any]:
    key = one.key
    match one.kind:
        case Kind.TEXT:
            return _text(one)
        case Kind.FLAG:
            return {"type": "boolean"}
        case Kind.WHOLE | Kind.NUMBER | Kind.AMOUNT | Kind.HOURS:
            return _number(one.kind, key)
        case Kind.DAY:
            return {"type": "string", "format": "date"}
        case Kind.TIME:
            return {"type": "string", "pattern": "^[0-9]{1,2}:[0-9]{2}$"}
        case Kind.TEXTS:
            text = {"enum": list(key.choices)} if key.choices else {"type": "string", "pattern": "\\S"}
            return {"anyOf": [{"type": "array", "items": text}, text]}
        case Kind.DAYS:
            return {"type": "array", "items": {"type": "string", "format": "date"}}
        case Kind.VALUES:
            assert one.values is not None
            named = {"propertyNames": {"enum": list(key.choices)}} if key.choices else {}
            each = _number(one.values, key) if one.values in NUMERIC else {"type": "string", "pattern": "\\S"}
            return {"type": "object", "additionalProperties": each} | named
        case Kind.OTHER:
            assert key.form is not None
            return dict(key.form.schema)
    assert one.of is not None
    if one.kind is Kind.ROWS:
        return {"type": "array", "items": _table(one.of)}
    if one.kind is Kind.TABLES:
        return {"type": "object", "additionalProperties": _table(one.of)}
    return _table(one.of)


def _text(one: Declared) -> dict[str, Any]:
    """An optional text may be empty, which says nothing."""
    key = one.key
    if key.choices:
        return {"enum": list(key.choices) + ([] if one.required else [""])}
    if key.pattern is None:
        return {"type": "string"} | ({"pattern": "\\S"} if one.required else {})
    inner = key.pattern.pattern
    return {"type": "string", "pattern": f"^({inner})$" if one.required else f"^({inner})?$"}


def _number(kind: Kind, key: Key) -> dict[str, Any]:
    """A number within its limits; one that is not whole may stand in quotes, as it is typed."""
    low = {"exclusiveMinimum": _plain(key.above)} if key.above is not None else {"minimum": _plain(key.least)}
    most = 24 if kind is Kind.HOURS and key.most is None else key.most
    limits = low | ({"maximum": _plain(most)} if most is not None else {})
    if kind is Kind.WHOLE:
        return {"type": "integer"} | limits
    return {"anyOf": [{"type": "number"} | limits, {"type": "string", "pattern": "[0-9]"}]}


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal | Fraction):
        return int(value) if value == int(value) else float(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(one) for one in value] if all(isinstance(one, str) for one in value) else None
    return dict(value) if isinstance(value, Mapping) else value
