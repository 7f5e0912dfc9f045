"""What a settings file may say: each key declared once, and a file read by its declaration, all problems in one run.

An input is a frozen dataclass; a member that stands in the file carries a `Key` in its annotation. The type says
what is wanted, the dataclass default what holds where the file is silent:

    @dataclass(frozen=True, slots=True)
    class Bank:
        iban: Annotated[str, Key("Where clients pay to.", example="GB29 NWBK 6016 1331 9268 19")] = ""

From the same declaration come the reader (`read_input`), the JSON Schema (`exchange.json_schema`) and the reference
(`bizkit keys`). What needs several keys at once is said by `settled`, which an input may have: it reports problems
and gives back the input, completed where one key follows from another.

Types: str, bool, int, `Minutes` (written in hours), Decimal, Money, date, time, tuples of str or date, another input
(a table), a tuple of inputs (`[[rows]]`), a mapping of str to an input (named tables) or to a text, number or amount,
and any of them or None. Where Python has another type than the file, `Key.written` says the file's and `rule` or
`each` makes the one from the other. A text that is not required and left empty is not said. An amount is in the
currency that the file names under `currency` at its top, else in the one the reader is called with. Numbers must have
been parsed as exact decimals (`tomllib.loads(..., parse_float=Decimal)`).
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date, time
from decimal import Decimal
from enum import Enum
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from bizkit.domain.money import Money


@dataclass(frozen=True, slots=True)
class Form:
    """What stands at a key where no type says it, in words and as JSON Schema; the key's `rule` reads it."""

    words: str
    schema: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a settings file: what it means and what may stand there.

    unit: of a number, in the plural ("days", "percent"). least, most: its limits, both included; 0 is the least
    where nothing is said. above: it must be more than that. choices: the words it, or each of a list or of the names
    in a table of values, may be. pattern: the form of a text, `wanted` in words. rule: takes the value and gives it
    back put right (a code in capitals), or raises BadInput; each: the same for each text of a list. written: the type
    in the file, where the member has another. usual: what holds where the file is silent, of a member that Python
    gives no default, as the currency of an amount is known to the file alone. name: as in the file, where the member
    has another. form: where no type says what may stand there. example: what may stand there. hint: what to do where
    a number is not above what it must be.
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
    above: Decimal | int | None = None
    each: Callable[[str], Any] | None = None
    written: Any = None
    usual: Any = None
    form: "Form | None" = None


class Given(Enum):
    """What an input may have that does not stand in it: a member annotated so is filled by the reader."""

    NAME = "the name of the table or file it stands in"
    FILE = "the file"
    PLACE = "where in the file it stands, for messages"


class Kind(Enum):
    """What stands at a key. VALUES: a table of texts, numbers or amounts, under names of the writer's choice."""

    TEXT = "text"
    FLAG = "true or false"
    WHOLE = "whole number"
    NUMBER = "number"
    HOURS = "hours"
    AMOUNT = "amount"
    DAY = "date"
    TIME = "time of day"
    TEXTS = "list of texts"
    DAYS = "list of dates"
    VALUES = "table of values"
    TABLE = "table"
    ROWS = "list of tables"
    TABLES = "named tables"
    OTHER = "another form"


class _Hours:
    """Marks a number of minutes that is written in hours."""


#: Whole minutes, written as hours: `hours = 7.5`. No more than a day of them unless the key says `most`, in hours.
Minutes = Annotated[int, _Hours]

_SIMPLE = {
    str: Kind.TEXT, bool: Kind.FLAG, int: Kind.WHOLE, Decimal: Kind.NUMBER, Money: Kind.AMOUNT, date: Kind.DAY,
    time: Kind.TIME,
}  # fmt: skip
#: Kinds that are numbers, with their limits.
NUMERIC = (Kind.WHOLE, Kind.NUMBER, Kind.HOURS, Kind.AMOUNT)


@dataclass(frozen=True, slots=True)
class Declared:
    """A key as its input declares it. member: its name in Python. of: the input of a table. usual: the default.

    values: of what kind they are in a table of values.
    """

    name: str
    member: str
    kind: Kind
    key: Key
    required: bool
    usual: Any = None
    of: type[Any] | None = None
    values: Kind | None = None

    @property
    def shown_usual(self) -> Any:
        """The default as it would be written in the file: hours where the member has minutes."""
        if self.kind is Kind.HOURS and self.usual is not None:
            return Decimal(self.usual) / 60
        return self.usual

    @property
    def wanted(self) -> str:
        """What must stand there, in words."""
        key, kind = self.key, self.kind
        if key.wanted:
            return key.wanted
        if key.choices and kind is Kind.TEXT:
            return f"one of {', '.join(sorted(key.choices))}"
        if kind in NUMERIC:
            return number_wanted(kind, key)
        return _WANTED.get(kind, str(kind.value))


def number_wanted(kind: Kind, key: Key) -> str:
    """What a number must be, in words.

    >>> number_wanted(Kind.WHOLE, Key("", most=366)), number_wanted(Kind.NUMBER, Key("", above=0))
    ('a whole number 0..366', 'a number of more than 0')
    """
    what = "a whole number" if kind is Kind.WHOLE else "a number"
    most = 24 if kind is Kind.HOURS and key.most is None else key.most
    if key.above is not None:
        return f"{what} of more than {key.above}" + (f", {most} at most" if most is not None else "")
    return f"{what} of {key.least} or more" if most is None else f"{what} {key.least}..{most}"


_WANTED = {
    Kind.DAY: "a date such as 2027-05-03 (no quotes)",
    Kind.TIME: 'a time of day such as "08:30"',
    Kind.TEXTS: "a list of texts",
    Kind.DAYS: "a list of dates such as [2027-05-03]",
}


@dataclass(frozen=True, slots=True)
class Members:
    """What an input has: the keys of the file, and what the reader fills in."""

    keys: tuple[Declared, ...]
    given: Mapping[str, Given]


_KNOWN: dict[type[Any], Members] = {}


def keys_of(kind: type[Any]) -> tuple[Declared, ...]:
    """The keys an input may have, in the order it declares them."""
    return members_of(kind).keys


def members_of(kind: type[Any]) -> Members:
    """What an input has, looked up once."""
    if kind not in _KNOWN:
        members = list(_members(kind))
        keys = tuple(one for one in members if isinstance(one, Declared))
        _KNOWN[kind] = Members(keys, dict(one for one in members if isinstance(one, tuple)))
    return _KNOWN[kind]


def _members(kind: type[Any]) -> Iterator[Declared | tuple[str, Given]]:
    hints = get_type_hints(kind, include_extras=True)
    for member in fields(kind):
        about, extras = _unwrapped(hints[member.name])
        key = next((extra for extra in extras if isinstance(extra, Key)), None)
        if key is None:
            yield from ((member.name, extra) for extra in extras if isinstance(extra, Given))
            continue
        usual = member.default if member.default is not MISSING else key.usual
        if member.default_factory is not MISSING:
            usual = member.default_factory()
        required = member.default is MISSING and member.default_factory is MISSING and key.usual is None
        what, of, values = (Kind.OTHER, None, None) if key.form else _kind(key.written or about)
        what = Kind.HOURS if _Hours in extras else what
        yield Declared(key.name or member.name, member.name, what, key, required, usual, of, values)


def _unwrapped(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """A type without None and without what it is annotated with, and that."""
    extras: tuple[Any, ...] = ()
    while True:
        if get_origin(hint) is Annotated:
            hint, *more = get_args(hint)
            extras += tuple(more)
        elif get_origin(hint) in (Union, UnionType) and type(None) in get_args(hint):
            hint = next(one for one in get_args(hint) if one is not type(None))
        else:
            return hint, extras


def _kind(about: Any) -> tuple[Kind, type[Any] | None, Kind | None]:
    """What a type wants in the file. Raises TypeError for a type that no key has."""
    if about in _SIMPLE:
        return _SIMPLE[about], None, None
    if is_dataclass(about) and isinstance(about, type):
        return Kind.TABLE, about, None
    origin, inner = get_origin(about), get_args(about)
    if origin is tuple:
        lists = {str: Kind.TEXTS, date: Kind.DAYS}
        return (lists[inner[0]], None, None) if inner[0] in lists else (Kind.ROWS, inner[0], None)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        if inner[1] in _SIMPLE:
            return Kind.VALUES, None, _SIMPLE[inner[1]]
        return Kind.TABLES, inner[1], None
    raise TypeError(f"no key of a settings file has the type {about}")


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
