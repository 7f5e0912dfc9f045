"""Canonical JSON: the same content is always the same bytes, so that its SHA-256 means something.

Keys sorted, no white space, UTF-8 without escapes, no floats (amounts and quantities are strings).
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection


def canonical(data: Any) -> str:
    """`data` as canonical JSON text. Raises TypeError for a float or anything JSON lacks.

    >>> canonical({"b": 1, "a": ["£", None]})
    '{"a":["£",null],"b":1}'
    """
    _no_float(data)
    return json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def parsed(text: str) -> Any:
    """The data behind JSON text."""
    return json.loads(text)


def member(work: Connection, column: Any, *path: str) -> ColumnElement[str]:
    """One member of the JSON in a text column as text, read by the database."""
    from sqlalchemy import cast, func

    if work.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import JSONB

        return func.jsonb_extract_path_text(cast(column, JSONB), *path)
    return func.json_extract(column, "$." + ".".join(path))


def sha256(content: str | bytes) -> str:
    """SHA-256 in hexadecimal; text is taken as UTF-8."""
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()


def _no_float(data: Any) -> None:
    if isinstance(data, float):
        raise TypeError(f"{data!r} is a float: amounts and quantities are kept as exact text")
    if isinstance(data, dict):
        for value in data.values():
            _no_float(value)
    elif isinstance(data, list | tuple):
        for value in data:
            _no_float(value)
