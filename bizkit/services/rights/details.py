"""Details of a paper typed into a TOML file: read by the shape of its document, so that a wrong key is never lost."""

from __future__ import annotations

import datetime as dt
import inspect
import textwrap
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, get_args, get_origin, is_typeddict

from bizkit.domain.dates import iso_date
from bizkit.domain.documents import SHAPES, members
from bizkit.domain.errors import BadInput, NotFound, suggest
from bizkit.domain.money import plain
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.paper_terms import PaperTerms
from bizkit.domain.rights.territory import Territory

#: Members that the studio, the job or the book give.
GIVEN: Final = frozenset(
    {
        "kind",
        "number",
        "language",
        "locale",
        "paper_size",
        "studio",
        "client",
        "job",
        "title",
        "issued_on",
        "signatures",
    }
)
#: Tables that stand in a shape without their columns.
_COLUMNS: Final = {
    "tides": ("what", "time", "height"),
    "light": ("what", "time"),
    "permissions": ("from", "reference", "until", "note"),
    "checks": ("text", "done"),
    "flights": ("from", "until", "battery", "note"),
}


def read_details(kind: str, path: Path) -> dict[str, Any]:
    """The file's tree as the document holds it: dates and times as text. Raises BadInput naming the key."""
    import tomllib

    from bizkit.services.studio.file_kind import read_as
    from bizkit.services.studio.toml_file import read_toml

    called = f"details of a {kind.replace('_', ' ')}"
    file = read_toml(path, called, lines=True)
    tree = tomllib.loads(file.text, parse_float=Decimal)
    known = {key: hint for key, hint in members(_shape(kind)).items() if key not in GIVEN}
    with read_as(called, file, known=known):
        return _members(tree, known, file.name, "")


def sample_details(kind: str) -> str:
    """An empty file of details with every key a paper of this kind knows. Raises NotFound."""
    hints = {key: hint for key, hint in members(_shape(kind)).items() if key not in GIVEN}
    head = f"# Details of a {kind.replace('_', ' ')}. Leave out what you do not know: it becomes a line to write on."
    return "\n".join([head, "", *_sample(hints, "")]) + "\n"


def terms_in(scope: Mapping[str, Any], tree: MediaTree, where: str) -> PaperTerms:
    """What the `[scope]` of a file of details says; an empty member says nothing. Raises BadInput naming the member.

    The words of a territory are read by the same rules as everywhere; codes beside them must say the same.
    """
    if scope.get("sentences"):
        raise BadInput(
            wanted="media, territory and dates", got="sentences", field="scope.sentences", where=where,
            hint="What is allowed is kept as facts; put other words under conditions",
        )  # fmt: skip

    def day(key: str) -> dt.date | None:
        return iso_date(scope[key], field=f"scope.{key}", where=where) if scope.get(key) else None

    said = scope.get("territory") or {}
    readings = [
        Territory.read(words, field=f"scope.territory.{key}", where=where)
        for key in ("phrase", "codes")
        if (words := said.get(key))
    ]
    if len(readings) == 2 and readings[0].codes != readings[1].codes:
        raise BadInput(
            wanted=f"the codes of {said['phrase']}, or none", got=", ".join(said["codes"]),
            field="scope.territory.codes", where=where,
        )  # fmt: skip
    media = [one for one in scope.get("media", ()) if one]
    try:
        return PaperTerms(
            media=tree.read(media, field="scope.media", where=where) if media else frozenset(),
            countries=readings[0] if readings else None,
            starts=day("starts"),
            until=day("ends"),
            months=scope.get("months") or None,
            without_end=bool(scope.get("open_end")),
        )
    except BadInput as error:
        field = error.field if error.field.startswith("scope.") else f"scope.{error.field}"
        raise BadInput(wanted=error.wanted, got=error.got, field=field, where=where, hint=error.hint) from None


def merged(document: Mapping[str, Any], details: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the details in it; tables are merged, lists and values replaced."""
    result = dict(document)
    for key, value in details.items():
        before = result.get(key)
        result[key] = merged(before, value) if isinstance(before, Mapping) and isinstance(value, Mapping) else value
    return result


def _shape(kind: str) -> type:
    if kind not in SHAPES:
        raise NotFound("kind of paper", kind, SHAPES, field="KIND")
    return SHAPES[kind]


def _members(tree: Mapping[str, Any], hints: Mapping[str, Any], where: str, path: str) -> dict[str, Any]:
    found = {}
    for key, value in tree.items():
        field = f"{path}.{key}" if path else key
        if key not in hints:
            raise BadInput(wanted="a known key", got=key, field=path, where=where, hint=suggest(key, hints))
        found[key] = _value(value, hints[key], where, field)
    return found


def _value(value: Any, hint: Any, where: str, field: str) -> Any:
    def wrong(wanted: str) -> BadInput:
        return BadInput(wanted=wanted, got=value, field=field, where=where)

    if is_typeddict(hint):
        if not isinstance(value, Mapping):
            raise wrong(f"a table [{field}]")
        return _members(value, members(hint), where, field)
    if get_origin(hint) is list:
        if not isinstance(value, list):
            raise wrong("a list")
        (inner,) = get_args(hint)
        return [_value(one, inner, where, f"{field}[{number}]") for number, one in enumerate(value, start=1)]
    if get_origin(hint) is dict:
        if not isinstance(value, Mapping):
            raise wrong(f"a table [{field}]")
        known = _COLUMNS.get(field.partition("[")[0], value)
        for key in value:
            if key not in known:
                raise BadInput(wanted="a known key", got=key, field=field, where=where, hint=suggest(key, known))
        return {key: one if isinstance(one, bool) else _text(one, wrong) for key, one in value.items()}
    if hint is bool:
        if not isinstance(value, bool):
            raise wrong("true or false")
        return value
    if hint is int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise wrong("a whole number")
        return value
    return _text(value, wrong)


def _text(value: Any, wrong: Any) -> str:
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value.isoformat()
    if isinstance(value, int | Decimal) and not isinstance(value, bool):
        return plain(Decimal(value))
    raise wrong("text in quotes, a date or a time")


def _sample(hints: Mapping[str, Any], path: str) -> Iterator[str]:
    tables = []
    for key, hint in hints.items():
        inner = get_args(hint)[0] if get_origin(hint) is list else hint
        if is_typeddict(inner) or get_origin(inner) is dict:
            tables.append((key, hint, inner))
        else:
            yield f"{key} = {_empty(hint)}"
    for key, hint, inner in tables:
        name = f"{path}.{key}" if path else key
        yield ""
        if is_typeddict(inner):
            doc = " ".join((inspect.getdoc(inner) or "").split())
            yield from textwrap.wrap(doc, 110, initial_indent="# ", subsequent_indent="# ")
        yield f"[[{name}]]" if get_origin(hint) is list else f"[{name}]"
        if is_typeddict(inner):
            yield from _sample(members(inner), name)
        else:
            yield from (f"{column} = {_empty(bool if column == 'done' else str)}" for column in _COLUMNS.get(key, ()))


def _empty(hint: Any) -> str:
    return {list: "[]"}.get(get_origin(hint), {bool: "false", int: "0"}.get(hint, '""'))
