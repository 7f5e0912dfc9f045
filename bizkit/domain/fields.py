"""Reading a settings tree (a parsed TOML file) with errors that name file and field.

A `Fields` is one table of the file. Each reader takes a key, checks the kind, and remembers that the key was
used; `done()` then refuses keys nobody asked for, suggesting the nearest known one, so that a typing mistake is
never silently ignored. Numbers must have been parsed as exact decimals (`tomllib.loads(..., parse_float=Decimal)`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, overload

from bizkit.domain.dates import check_year
from bizkit.domain.errors import BadInput, NotFound, suggest
from bizkit.domain.money import Money, decimal
from bizkit.domain.typed_numbers import number_of

#: Place of the first digit of the smallest number but 0: no rate or factor of the trade needs more.
SMALLEST_DIGIT = -12

_MISSING: Any = object()


class Fields:
    """One table of a settings file: where it stands, and its keys read with checks."""

    def __init__(self, tree: Mapping[str, Any], *, where: str, path: str = "") -> None:
        self._tree = tree
        self.where = where
        self.path = path
        self._used: set[str] = set()

    def field(self, key: str) -> str:
        """The dotted name of `key` for messages: `crew.editor.day_rate`."""
        return f"{self.path}.{key}" if self.path else key

    def wrong(self, key: str, wanted: str, got: object, hint: str = "") -> BadInput:
        """The error to raise for `key`."""
        return BadInput(wanted=wanted, got=got, field=self.field(key), where=self.where, hint=hint)

    def unknown(self, key: str, kind: str, got: object, known: Collection[str], hint: str = "") -> NotFound:
        """The error to raise when `key` names something that does not exist."""
        return NotFound(kind, got, known, field=self.field(key), where=self.where, hint=hint)

    def __contains__(self, key: str) -> bool:
        return key in self._tree

    def names(self) -> list[str]:
        """Keys in file order."""
        return list(self._tree)

    def _get(self, key: str, default: Any, wanted: str) -> Any:
        self._used.add(key)
        if key in self._tree:
            return self._tree[key]
        if default is _MISSING:
            raise self.wrong(key, wanted, "nothing", hint=f"Add {key} to the file")
        return default

    def text(self, key: str, default: str = _MISSING, *, blank: bool = False) -> str:
        """Text, trimmed; not empty unless `blank`."""
        value = self._get(key, default, "text")
        if not isinstance(value, str):
            raise self.wrong(key, "text in quotes", value)
        if not value.strip() and not blank and value is not default:
            raise self.wrong(key, "text that is not empty", "empty text")
        return value.strip()

    @overload
    def choice(self, key: str, known: Collection[str], default: str = ...) -> str: ...
    @overload
    def choice(self, key: str, known: Collection[str], default: None) -> str | None: ...
    def choice(self, key: str, known: Collection[str], default: str | None = _MISSING) -> str | None:
        """One of the `known` words."""
        value = self._get(key, default, f"one of {', '.join(sorted(known))}")
        if value is None:
            return None
        if not isinstance(value, str) or value not in known:
            raise self.wrong(key, f"one of {', '.join(sorted(known))}", value, hint=suggest(value, known))
        return value

    def flag(self, key: str, default: bool = _MISSING) -> bool:
        """true or false."""
        value = self._get(key, default, "true or false")
        if not isinstance(value, bool):
            raise self.wrong(key, "true or false", value)
        return value

    @overload
    def whole(self, key: str, default: int = ..., *, least: int = ..., most: int | None = ...) -> int: ...
    @overload
    def whole(self, key: str, default: None, *, least: int = ..., most: int | None = ...) -> int | None: ...
    def whole(
        self, key: str, default: int | None = _MISSING, *, least: int = 0, most: int | None = None
    ) -> int | None:
        """A whole number from `least` to `most`, both included."""
        wanted = f"a whole number of {least} or more" if most is None else f"a whole number {least}..{most}"
        value = self._get(key, default, wanted)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.wrong(key, wanted, value)
        if value < least or (most is not None and value > most):
            raise self.wrong(key, wanted, value)
        return value

    def number(
        self,
        key: str,
        default: Decimal | int | str = _MISSING,
        *,
        least: Decimal | int = 0,
        most: Decimal | int | None = None,
    ) -> Decimal:
        """An exact number from `least` to `most`, both included. 0.1 in the file is exactly one tenth.

        In quotes it is read as one that is typed, see `domain.typed_numbers`.
        """
        wanted = f"a number of {least} or more" if most is None else f"a number {least}..{most}"
        value = self._get(key, default, wanted)
        try:
            typed = isinstance(value, str) and key in self._tree
            number = number_of(value, field=key, least=least, most=most) if typed else decimal(value)
        except BadInput as error:
            giant = f"That is: {error.wanted}" if "digits" in error.wanted else ""
            raise self.wrong(key, wanted, value, error.hint or giant) from None
        if number and number.adjusted() < SMALLEST_DIGIT:
            raise self.wrong(key, f"0 or a number of 1e{SMALLEST_DIGIT} or more", value)
        if number < least or (most is not None and number > most):
            raise self.wrong(key, wanted, value)
        return number

    def money(self, key: str, currency: str, default: Decimal | int | str = _MISSING) -> Money:
        """An amount of zero or more in `currency`."""
        return Money(self.number(key, default), currency)

    @overload
    def day(self, key: str, default: date = ...) -> date: ...
    @overload
    def day(self, key: str, default: None) -> date | None: ...
    def day(self, key: str, default: date | None = _MISSING) -> date | None:
        """A date, written 2027-05-03 without quotes."""
        wanted = "a date such as 2027-05-03 (no quotes)"
        value = self._get(key, default, wanted)
        if value is None:
            return None
        if isinstance(value, datetime) or not isinstance(value, date):
            raise self.wrong(key, wanted, value)
        return check_year(value, field=self.field(key), where=self.where)

    def texts(self, key: str, default: Collection[str] = _MISSING) -> tuple[str, ...]:
        """A list of texts; a single text counts as a list of one."""
        value = self._get(key, default, "a list of texts")
        if isinstance(value, str):
            value = [value]
        if not isinstance(value, list | tuple) or any(not isinstance(v, str) or not v.strip() for v in value):
            raise self.wrong(key, "a list of texts", value)
        return tuple(v.strip() for v in value)

    def days(self, key: str, default: Collection[date] = _MISSING) -> tuple[date, ...]:
        """A list of dates."""
        value = self._get(key, default, "a list of dates")
        if not isinstance(value, list | tuple) or any(
            isinstance(v, datetime) or not isinstance(v, date) for v in value
        ):
            raise self.wrong(key, "a list of dates such as [2027-05-03]", value)
        return tuple(check_year(day, field=self.field(key), where=self.where) for day in value)

    def table(self, key: str, *, optional: bool = False) -> Fields:
        """The table `[key]`; an empty one when `optional` and absent."""
        value = self._get(key, {} if optional else _MISSING, f"a table [{self.field(key)}]")
        if not isinstance(value, Mapping):
            raise self.wrong(key, f"a table [{self.field(key)}]", value)
        return Fields(value, where=self.where, path=self.field(key))

    def tables(self, key: str) -> Iterator[tuple[str, Fields]]:
        """Each named table under `[key.NAME]`, in file order; none when absent."""
        parent = self.table(key, optional=True)
        for name in parent.names():
            yield name, parent.table(name)

    def rows(self, key: str) -> list[Fields]:
        """Each `[[key]]` table, in file order; none when absent. Named `key[1]`, `key[2]`... in messages."""
        value = self._get(key, [], f"tables [[{self.field(key)}]]")
        if not isinstance(value, list) or any(not isinstance(row, Mapping) for row in value):
            raise self.wrong(key, f"tables [[{self.field(key)}]]", value)
        return [
            Fields(row, where=self.where, path=f"{self.field(key)}[{number}]")
            for number, row in enumerate(value, start=1)
        ]

    def done(self) -> None:
        """Refuse keys that nobody asked for. Call after the last read of this table."""
        for key in self._tree:
            if key not in self._used:
                raise BadInput(
                    wanted="a known key",
                    got=key,
                    field=self.path,
                    where=self.where,
                    hint=suggest(key, self._used),
                )
