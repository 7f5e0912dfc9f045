"""What a settings file may say: each key declared once, and a file read by its declaration, all problems in one run.

An input is a frozen dataclass; a member that stands in the file carries a `Key` in its annotation. The type says
what is wanted, the dataclass default what holds where the file is silent:

    @dataclass(frozen=True, slots=True)
    class Bank:
        iban: Annotated[str, Key("Where clients pay to.", example="GB29 NWBK 6016 1331 9268 19")] = ""

From the same declaration come the reader (`read_input`), the JSON Schema (`exchange.json_schema`) and the reference
(`bizkit keys`). What needs several keys at once is said by `settled`, which an input may have: it reports problems
and gives back the input, completed where one key follows from another.

Types: str, bool, int, Decimal, date, a tuple of str, another input (a table), a tuple of inputs (`[[rows]]`), a
mapping of str to an input (named tables), and any of them or None. A text that is not required and left empty is not
said.
Numbers must have been parsed as exact decimals (`tomllib.loads(..., parse_float=Decimal)`).
"""

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from types import MappingProxyType, UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin, get_type_hints

from bizkit.domain.dates import check_year, day_meant
from bizkit.domain.errors import BadInput, problems_of, suggest
from bizkit.domain.money import decimal
from bizkit.domain.typed_numbers import number_of

#: Place of the first digit of the smallest number but 0: no rate or factor of the trade needs more.
SMALLEST_DIGIT = -12

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a settings file: what it means and what may stand there.

    unit: of a number, in the plural ("days", "percent"). least, most: its limits, both included; 0 is the least
    where nothing is said. choices: the words it may be. pattern: the form of a text, `wanted` in words. rule: takes
    the value and gives it back put right (a code in capitals), or raises BadInput. example: what may stand there.
    name: as in the file, where the member has another. hint: what to do where it is missing.
    """

    meaning: str
    unit: str = ""
    least: Decimal | int = 0
    most: Decimal | int | None = None
    choices: tuple[str, ...] = ()
    pattern: re.Pattern[str] | None = None
    wanted: str = ""
    rule: Callable[[Any], Any] | None = None
    example: object = ""
    name: str = ""
    hint: str = ""


class Given(Enum):
    """What an input may have that does not stand in it: a member annotated so is filled by the reader."""

    NAME = "the name of the table or file it stands in"
    FILE = "the file"
    PLACE = "where in the file it stands, for messages"


class Kind(Enum):
    """What stands at a key."""

    TEXT = "text"
    FLAG = "true or false"
    WHOLE = "whole number"
    NUMBER = "number"
    DAY = "date"
    TEXTS = "list of texts"
    TABLE = "table"
    ROWS = "list of tables"
    TABLES = "named tables"


_SIMPLE = {str: Kind.TEXT, bool: Kind.FLAG, int: Kind.WHOLE, Decimal: Kind.NUMBER, date: Kind.DAY}


@dataclass(frozen=True, slots=True)
class Declared:
    """A key as its input declares it. member: its name in Python. of: the input of a table. usual: the default."""

    name: str
    member: str
    kind: Kind
    key: Key
    required: bool
    usual: Any = None
    of: type[Any] | None = None

    @property
    def wanted(self) -> str:
        """What must stand there, in words."""
        key, kind = self.key, self.kind
        if key.wanted:
            return key.wanted
        if key.choices:
            return f"one of {', '.join(sorted(key.choices))}"
        if kind in (Kind.WHOLE, Kind.NUMBER):
            what = "a whole number" if kind is Kind.WHOLE else "a number"
            return f"{what} of {key.least} or more" if key.most is None else f"{what} {key.least}..{key.most}"
        if kind is Kind.TEXTS:
            return "a list of texts"
        return "a date such as 2027-05-03 (no quotes)" if kind is Kind.DAY else str(kind.value)


@dataclass(frozen=True, slots=True)
class _Members:
    """What an input has: the keys of the file, and what the reader fills in."""

    keys: tuple[Declared, ...]
    given: Mapping[str, Given]


_KNOWN: dict[type[Any], _Members] = {}


def keys_of(kind: type[Any]) -> tuple[Declared, ...]:
    """The keys an input may have, in the order it declares them."""
    return _members_of(kind).keys


def _members_of(kind: type[Any]) -> _Members:
    if kind not in _KNOWN:
        members = list(_members(kind))
        keys = tuple(one for one in members if isinstance(one, Declared))
        _KNOWN[kind] = _Members(keys, dict(one for one in members if isinstance(one, tuple)))
    return _KNOWN[kind]


def _members(kind: type[Any]) -> Iterator[Declared | tuple[str, Given]]:
    hints = get_type_hints(kind, include_extras=True)
    for member in fields(kind):
        hint = hints[member.name]
        if get_origin(hint) is not Annotated:
            continue
        about, *extras = get_args(hint)
        key = next((extra for extra in extras if isinstance(extra, Key)), None)
        if key is None:
            yield from ((member.name, extra) for extra in extras if isinstance(extra, Given))
            continue
        usual = member.default if member.default is not MISSING else None
        if member.default_factory is not MISSING:
            usual = member.default_factory()
        required = member.default is MISSING and member.default_factory is MISSING
        what, of = _kind(about)
        yield Declared(key.name or member.name, member.name, what, key, required, usual, of)


def _kind(about: Any) -> tuple[Kind, type[Any] | None]:
    """What a type wants in the file. Raises TypeError for a type that no key has."""
    if get_origin(about) in (Union, UnionType):
        about = next(one for one in get_args(about) if one is not type(None))
    if about in _SIMPLE:
        return _SIMPLE[about], None
    if is_dataclass(about) and isinstance(about, type):
        return Kind.TABLE, about
    origin, inner = get_origin(about), get_args(about)
    if origin is tuple:
        return (Kind.TEXTS, None) if inner[0] is str else (Kind.ROWS, inner[0])
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return Kind.TABLES, inner[1]
    raise TypeError(f"no key of a settings file has the type {about}")


@dataclass
class Table:
    """One table of a file while it is read: where it stands, and what is wrong in it."""

    tree: Mapping[str, Any]
    where: str
    path: str = ""
    name: str = ""
    root: type[Any] | None = None
    problems: list[BadInput] = field(default_factory=list)

    def field(self, key: str) -> str:
        """The dotted name of `key` for messages: `tax.number`."""
        return f"{self.path}.{key}" if self.path and key else key or self.path

    def problem(self, key: str, wanted: str, got: object, hint: str = "") -> None:
        """Something is wrong at `key`."""
        self.problems.append(BadInput(wanted=wanted, got=got, field=self.field(key), where=self.where, hint=hint))

    def says(self, key: str) -> bool:
        """Whether the file says anything at `key`."""
        return key in self.tree

    def inside(self, key: str, tree: Mapping[str, Any], name: str = "") -> "Table":
        """The table at `key`, its problems among these."""
        return Table(tree, self.where, self.field(key), name, self.root, self.problems)


def read_input(kind: type[T], tree: Mapping[str, Any], *, where: str = "", path: str = "", name: str = "") -> T:
    """The input that a settings tree holds. where: the file for messages. name: of the table or file.

    Raises BadInput; where several things are wrong it is a `Problems` with each of them.
    """
    table = Table(tree, where, path, name, kind)
    made = _read(kind, table)
    if made is None or table.problems:
        raise problems_of(table.problems)
    return made


def _read(kind: type[T], table: Table) -> T | None:
    """The input, or None when anything in it is wrong; all of that stands in `table.problems` then."""
    before = len(table.problems)
    declared = keys_of(kind)
    values: dict[str, Any] = {}
    for one in declared:
        if one.name not in table.tree:
            if one.required and one.kind not in (Kind.ROWS, Kind.TABLES):
                table.problem(one.name, one.wanted, "nothing", one.key.hint or f"Add {one.name} to the file")
            continue
        try:
            value = _value(one, table.tree[one.name], table)
            if one.key.rule is not None and value is not None:
                value = one.key.rule(value)
        except BadInput as error:
            table.problems.append(_placed(error, one.name, table))
            continue
        if value is not None:
            values[one.member] = value
    known = {one.name for one in declared}
    for name in table.tree:
        if name not in known:
            table.problem("", "a known key", name, _nearest(name, known, table))
    given = {Given.NAME: table.name, Given.FILE: table.where, Given.PLACE: table.path}
    values |= {member: given[what] for member, what in _members_of(kind).given.items()}
    if len(table.problems) > before:
        return None
    made = kind(**values)
    settled = getattr(made, "settled", None)
    if settled is not None:
        made = settled(table)
    return made if len(table.problems) == before else None


def _placed(error: BadInput, key: str, table: Table) -> BadInput:
    """A problem with the place it was found at, where it does not know it itself."""
    if error.where:
        return error
    return BadInput(wanted=error.wanted, got=error.got, hint=error.hint, field=table.field(key), where=table.where)


def _value(one: Declared, value: Any, table: Table) -> Any:
    """What stands at a key, of the kind it declares; None where an empty text says nothing. Raises BadInput."""

    def wrong(wanted: str = one.wanted, got: object = value, hint: str = "") -> BadInput:
        return BadInput(wanted=wanted, got=got, field=table.field(one.name), where=table.where, hint=hint)

    match one.kind:
        case Kind.TEXT:
            return _text(one, value, wrong)
        case Kind.FLAG:
            if not isinstance(value, bool):
                raise wrong()
            return value
        case Kind.WHOLE:
            if isinstance(value, bool) or not isinstance(value, int):
                raise wrong()
            return _within(one.key, value, wrong)
        case Kind.NUMBER:
            return _within(one.key, _number(one.key, value, wrong), wrong)
        case Kind.DAY:
            if isinstance(value, datetime) or not isinstance(value, date):
                raise wrong(hint=day_meant(value) if isinstance(value, str) else "")
            return check_year(value, field=table.field(one.name), where=table.where)
        case Kind.TEXTS:
            texts = [value] if isinstance(value, str) else value
            if not isinstance(texts, list | tuple) or any(not isinstance(v, str) or not v.strip() for v in texts):
                raise wrong()
            return tuple(text.strip() for text in texts)
    return _tables(one, value, table, wrong)


def _text(one: Declared, value: Any, wrong: Callable[..., BadInput]) -> str | None:
    key = one.key
    if not isinstance(value, str):
        raise wrong(key.wanted or "text in quotes")
    text = value.strip()
    if not text:
        if one.required:
            raise wrong("text that is not empty", "empty text")
        return None
    if key.choices and text not in key.choices:
        raise wrong(hint=suggest(text, key.choices))
    if key.pattern is not None and not key.pattern.fullmatch(text):
        raise wrong(got=text)
    return text


def _number(key: Key, value: Any, wrong: Callable[..., BadInput]) -> Decimal:
    """An exact number; in quotes it is read as one that is typed, see `domain.typed_numbers`."""
    try:
        typed = isinstance(value, str)
        number = number_of(value, field="", least=key.least, most=key.most) if typed else decimal(value)
    except BadInput as error:
        giant = f"That is: {error.wanted}" if "digits" in error.wanted else ""
        raise wrong(hint=error.hint or giant) from None
    if number and number.adjusted() < SMALLEST_DIGIT:
        raise wrong(f"0 or a number of 1e{SMALLEST_DIGIT} or more")
    return number


def _within(key: Key, value: Any, wrong: Callable[..., BadInput]) -> Any:
    if value < key.least or (key.most is not None and value > key.most):
        raise wrong()
    return value


def _tables(one: Declared, value: Any, table: Table, wrong: Callable[..., BadInput]) -> Any:
    """The inputs of a table, of rows or of named tables; None when one of them is wrong."""
    assert one.of is not None
    place = table.field(one.name)
    if one.kind is Kind.ROWS:
        if not isinstance(value, list) or any(not isinstance(row, Mapping) for row in value):
            raise wrong(f"tables [[{place}]]")
        rows = [_read(one.of, table.inside(f"{one.name}[{n}]", row)) for n, row in enumerate(value, start=1)]
        return None if any(row is None for row in rows) else tuple(rows)
    if not isinstance(value, Mapping):
        raise wrong(f"a table [{place}]" if one.kind is Kind.TABLE else f"tables [{place}.NAME]")
    if one.kind is Kind.TABLE:
        return _read(one.of, table.inside(one.name, value))
    named = {}
    for name, row in value.items():
        if not isinstance(row, Mapping):
            raise BadInput(wanted=f"a table [{place}.{name}]", got=row, field=f"{place}.{name}", where=table.where)
        named[name] = _read(one.of, table.inside(f"{one.name}.{name}", row, name))
    return None if any(row is None for row in named.values()) else MappingProxyType(named)


def _nearest(name: str, known: Collection[str], table: Table) -> str:
    """What may be meant by a key that this table does not know: the same in another table, or one of its own."""
    every = all_keys(table.root) if table.root is not None else ()
    places = [place for place, one in every if one.name == name and place.strip("[]") != table.path]
    if places:
        return (
            f"It stands in {places[0]}" if places[0] else "It stands at the top of the file, before the first table"
        )
    return suggest(name, known)


def all_keys(kind: type[Any], place: str = "") -> Iterator[tuple[str, Declared]]:
    """Every key of an input and of the tables in it, each with the heading it stands under: `[tax]`, `[[reminders]]`.

    >>> from bizkit.domain.parties import Studio
    >>> next(heading for heading, one in all_keys(Studio) if one.name == "iban")
    '[bank]'
    """
    for one in keys_of(kind):
        yield place, one
    for one in keys_of(kind):
        if one.of is not None:
            yield from all_keys(one.of, heading_of(place, one))


def heading_of(place: str, table: Declared) -> str:
    """How the heading of a table is written that stands under another: `[late]` and rates give `[[late.rates]]`."""
    inner = place.strip("[]")
    path = f"{inner}.{table.name}" if inner else table.name
    return {Kind.TABLE: f"[{path}]", Kind.ROWS: f"[[{path}]]"}.get(table.kind, f"[{path}.NAME]")
