"""Reading a settings tree by the declaration of its keys: every problem of a file in one run, each with its place."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Any, TypeVar

from bizkit.domain.dates import check_year, clock_time, day_meant
from bizkit.domain.errors import BadInput, problems_of, suggest
from bizkit.domain.inputs.keys import Declared, Given, Key, Kind, all_keys, keys_of, members_of
from bizkit.domain.money import Money, decimal
from bizkit.domain.tables.currencies import MINOR_UNITS
from bizkit.domain.typed_numbers import number_of

#: Place of the first digit of the smallest number but 0: no rate or factor of the trade needs more.
SMALLEST_DIGIT = -12
#: Of amounts in a file that names no known currency, so that the rest of it is read; the file is refused anyway.
NO_CURRENCY = "GBP"

S = TypeVar("S")
T = TypeVar("T")


@dataclass
class Table:
    """One table of a file while it is read: where it stands, and what is wrong in it."""

    tree: Mapping[str, Any]
    where: str
    path: str = ""
    name: str = ""
    root: type[Any] | None = None
    currency: str = ""
    problems: list[BadInput] = field(default_factory=list)

    def field(self, key: str) -> str:
        """The dotted name of `key` for messages: `tax.number`."""
        return f"{self.path}.{key}" if self.path and key else key or self.path

    def problem(self, key: str, wanted: str, got: object, hint: str = "") -> None:
        """Something is wrong at `key`."""
        self.problems.append(BadInput(wanted=wanted, got=got, field=self.field(key), where=self.where, hint=hint))

    def unknown(self, key: str, kind: str, got: object, known: Collection[str]) -> None:
        """`key` names something that does not exist."""
        self.problem(key, f"a known {kind}", got, suggest(got, known))

    def says(self, key: str) -> bool:
        """Whether the file says anything at `key`."""
        return key in self.tree

    def table(self, *keys: str) -> Table:
        """The table at `keys`, one inside another; an empty one where the file does not have it."""
        found = self
        for key in keys:
            tree = found.tree.get(key, {})
            found = found.inside(key, tree if isinstance(tree, Mapping) else {}, key)
        return found

    def inside(self, key: str, tree: Mapping[str, Any], name: str = "") -> Table:
        """The table at `key`, its problems among these."""
        return Table(tree, self.where, self.field(key), name, self.root, self.currency, self.problems)


def read_input(
    kind: type[T],
    tree: Mapping[str, Any],
    *,
    where: str = "",
    path: str = "",
    name: str = "",
    currency: str = "",
    also: Callable[[Table], None] | None = None,
) -> T:
    """The input that a settings tree holds. where: the file for messages. name: of the table or file.

    currency: of amounts, where the tree names none. also: looks at the tree for what only a library outside the
    domain can tell, and reports it with the rest. Raises BadInput; where several things are wrong it is a `Problems`
    with each of them.
    """
    table = Table(tree, where, path, name, kind, _currency(tree.get("currency"), currency))
    made = _read(kind, table)
    if also is not None:
        also(table)
    if made is None or table.problems:
        raise problems_of(table.problems)
    return made


def read_made(
    kind: type[S],
    make: Callable[[S, Table], T | None],
    tree: Mapping[str, Any],
    *,
    where: str = "",
    path: str = "",
    name: str = "",
    currency: str = "",
) -> T:
    """What `make` makes of an input, which stands in its file in another form than it is worked with.

    `make` reports what is wrong to the table it is given; then its result is not used. The rest as `read_input`.
    """
    table = Table(tree, where, path, name, kind, _currency(tree.get("currency"), currency))
    made = _read(kind, table)
    result = make(made, table) if made is not None else None
    if result is None or table.problems:
        raise problems_of(table.problems)
    return result


def _currency(said: Any, otherwise: str) -> str:
    """The currency of the amounts of a file; a code that is none is told where it stands."""
    code = said.strip().upper() if isinstance(said, str) else ""
    return code if code in MINOR_UNITS else otherwise or NO_CURRENCY


def _read(kind: type[T], table: Table) -> T | None:
    """The input, or None when anything in it is wrong; all of that stands in `table.problems` then."""
    before = len(table.problems)
    declared = keys_of(kind)
    values: dict[str, Any] = {}
    misspelt = _misspelt(declared, table)
    for one in declared:
        if one.name not in table.tree and one.key.usual is None:
            if one.required:
                hint = f"The file says {misspelt[one.name]}: " if one.name in misspelt else "Add "
                hint += f"write {one.name}" if one.name in misspelt else f"{one.name} to the file"
                table.problem(one.name, one.wanted, "nothing", hint)
            continue
        try:
            value = _value(one, table.tree.get(one.name, one.key.usual), table)
            if one.key.each is not None and value is not None:
                value = tuple(one.key.each(text) for text in value)
            if one.key.rule is not None and value is not None:
                value = one.key.rule(value)
        except BadInput as error:
            table.problems.append(_placed(error, one.name, table))
            continue
        if value is not None:
            values[one.member] = value
    known = {one.name for one in declared}
    for name in table.tree:
        if name not in known and name not in misspelt.values():
            table.problem("", "a known key", name, _nearest(name, known, table))
    given = {Given.NAME: table.name, Given.FILE: table.where, Given.PLACE: table.path}
    values |= {member: given[what] for member, what in members_of(kind).given.items()}
    if len(table.problems) > before:
        return None
    made = kind(**values)
    settled = getattr(made, "settled", None)
    if settled is not None:
        made = settled(table)
    return made if len(table.problems) == before else None


def _misspelt(declared: Sequence[Declared], table: Table) -> dict[str, str]:
    """Required keys that the table lacks -> the key of it that is meant to be them: one mistake, one problem."""
    known = [one.name for one in declared]
    lacking = [one.name for one in declared if one.required and one.name not in table.tree]
    near = {name: difflib.get_close_matches(name, known, n=1, cutoff=0.6) for name in table.tree if name not in known}
    return {found[0]: name for name, found in near.items() if found and found[0] in lacking}


def _placed(error: BadInput, key: str, table: Table) -> BadInput:
    """A problem with the place it was found at, where it does not know it itself; `.name` is one inside the key."""
    if error.where:
        return error
    place = table.field(key) + (error.field if error.field.startswith(".") else "")
    return BadInput(wanted=error.wanted, got=error.got, hint=error.hint, field=place, where=table.where)


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
        case Kind.WHOLE | Kind.NUMBER | Kind.HOURS | Kind.AMOUNT:
            return _number(one.kind, one.key, value, table, wrong)
        case Kind.DAY:
            return _day(value, table.field(one.name), table.where, wrong)
        case Kind.TIME:
            if not isinstance(value, str):
                raise wrong()
            return clock_time(value, field=table.field(one.name), where=table.where)
        case Kind.TEXTS:
            return _texts(one, value, table, wrong)
        case Kind.DAYS:
            if not isinstance(value, list | tuple):
                raise wrong()
            return tuple(_day(day, table.field(one.name), table.where, wrong) for day in value)
        case Kind.VALUES:
            return _values(one, value, table, wrong)
        case Kind.OTHER:
            return value
    return _tables(one, value, table, wrong)


def _day(value: Any, place: str, where: str, wrong: Callable[..., BadInput]) -> date:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise wrong(got=value, hint=day_meant(value) if isinstance(value, str) else "")
    return check_year(value, field=place, where=where)


def _texts(one: Declared, value: Any, table: Table, wrong: Callable[..., BadInput]) -> tuple[str, ...]:
    """A list of texts; a single text counts as a list of one."""
    texts = [value] if isinstance(value, str) else value
    if not isinstance(texts, list | tuple) or any(not isinstance(v, str) or not v.strip() for v in texts):
        raise wrong()
    found = tuple(text.strip() for text in texts)
    for text in found:
        if one.key.choices and text not in one.key.choices:
            wanted = one.key.wanted or f"each one of {', '.join(sorted(one.key.choices))}"
            raise wrong(wanted, text, suggest(text, one.key.choices))
    return found


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


def _number(kind: Kind, key: Key, value: Any, table: Table, wrong: Callable[..., BadInput]) -> Any:
    """A number of its kind and within its limits: an int, a Decimal, minutes, or an amount.

    In quotes it is read as one that is typed, see `domain.typed_numbers`.
    """
    most = 24 if kind is Kind.HOURS and key.most is None else key.most
    if kind is Kind.WHOLE:
        if isinstance(value, bool) or not isinstance(value, int):
            raise wrong()
        number: Decimal | int = value
    else:
        number = _decimal(key, most, value, wrong)
    if key.above is not None and number <= key.above:
        raise wrong(key.wanted or f"more than {key.above}", hint=key.hint)
    if number < key.least or (most is not None and number > most):
        raise wrong()
    if kind is Kind.HOURS:
        minutes = Decimal(number) * 60
        if minutes != minutes.to_integral_value():
            raise wrong("hours that make whole minutes, such as 7.25")
        return int(minutes)
    return Money(number, table.currency) if kind is Kind.AMOUNT else number


def _decimal(key: Key, most: Decimal | int | None, value: Any, wrong: Callable[..., BadInput]) -> Decimal:
    try:
        typed = isinstance(value, str)
        number = number_of(value, field="", least=key.least, most=most) if typed else decimal(value)
    except BadInput as error:
        giant = f"That is: {error.wanted}" if "digits" in error.wanted else ""
        raise wrong(hint=error.hint or giant) from None
    if number and number.adjusted() < SMALLEST_DIGIT:
        raise wrong(f"0 or a number of 1e{SMALLEST_DIGIT} or more")
    return number


def _values(one: Declared, value: Any, table: Table, wrong: Callable[..., BadInput]) -> Mapping[str, Any] | None:
    """Texts, numbers or amounts under names of the writer's choice, or under the words that the key knows."""
    assert one.values is not None
    if not isinstance(value, Mapping):
        raise wrong(f"a table [{table.field(one.name)}]")
    inner, found, before = table.inside(one.name, value), {}, len(table.problems)
    each = Declared("", "", one.values, replace(one.key, choices=(), wanted="", each=None, rule=None), True)
    for name, said in value.items():
        if one.key.choices and name not in one.key.choices:
            wanted = one.key.wanted or f"one of {', '.join(one.key.choices)}"
            inner.problem(name, wanted, name, suggest(name, one.key.choices))
            continue
        try:
            found[name] = _value(replace(each, name=name), said, inner)
        except BadInput as error:
            table.problems.append(error)
    return MappingProxyType(found) if len(table.problems) == before else None


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
