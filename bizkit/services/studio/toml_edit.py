"""Settings files are changed in place: comments, order and spacing of everything else stay as they are.

The TOML itself is another's work (tomlkit). What was written is read back: when anything but the change came of it,
nothing is kept.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from copy import deepcopy
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from bizkit.domain.errors import BadInput
from bizkit.services.studio.toml_file import toml_tree

#: Where a value stands: the keys that lead to it, and numbers within lists, from 0.
Path = tuple[str | int, ...]


def texts_and_dates(tree: Mapping[str, Any]) -> Iterator[tuple[Path, str | date]]:
    """Every text and date of a file's tree, by its place."""

    def below(part: Any, path: Path) -> Iterator[tuple[Path, str | date]]:
        if isinstance(part, Mapping):
            for key, one in part.items():
                yield from below(one, (*path, key))
        elif isinstance(part, list):
            for number, one in enumerate(part):
                yield from below(one, (*path, number))
        elif isinstance(part, str) or (isinstance(part, date) and not isinstance(part, datetime)):
            yield path, part

    yield from below(tree, ())


def rewritten(text: str, changes: Mapping[Path, Any], name: str, *, without: Collection[Path] = ()) -> str:
    """The file with these values at their places; the tables that lead to them must be there, the last key need not.

    without: places whose keys go. Raises BadInput where it is no TOML, or stands in a form in which it cannot be
    changed in place.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    wanted = deepcopy(toml_tree(text, name, "a settings file"))
    gone = [path for path in without if path not in changes]
    for path, new in changes.items():
        _table_of(wanted, path)[path[-1]] = new
    for path in gone:
        _table_of(wanted, path).pop(path[-1], None)
    try:
        document: Any = tomlkit.parse(text)
        for path, new in changes.items():
            _table_of(document, path)[path[-1]] = _written(new)
        for path in gone:
            _table_of(document, path).pop(path[-1], None)
        result = tomlkit.dumps(document)
        same = tomllib.loads(result, parse_float=Decimal) == wanted
    except (TOMLKitError, tomllib.TOMLDecodeError, LookupError, TypeError, ValueError):
        same = False
    if not same:
        raise BadInput(
            wanted="a settings file that can be changed in place",
            got="one whose keys stand in another form",
            where=name,
            hint="Nothing was written: change it yourself",
        )
    return result


def _table_of(tree: Any, path: Path) -> Any:
    """The table or list that the last step of a place is in."""
    for step in path[:-1]:
        tree = tree[step]
    return tree


def with_table(text: str, table: str, name: str) -> str:
    """The file with an empty `[table]` at its end, where it has none."""
    if table in toml_tree(text, name, "a settings file"):
        return text
    return text + ("" if not text or text.endswith("\n") else "\n") + f"\n[{table}]\n"


def _written(value: Any) -> Any:
    """A value as TOML writes it: exact numbers as they are said, tables on one line."""
    import tomlkit
    from tomlkit.items import Float, Trivia

    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        for key, one in value.items():
            inline.append(key, _written(one))
        return inline
    if isinstance(value, Decimal):
        return Float(float(value), Trivia(), f"{value:f}") if value != int(value) else tomlkit.item(int(value))
    return tomlkit.item(value)
