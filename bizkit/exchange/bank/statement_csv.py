"""A bank's CSV statement, its columns mapped by the studio (`StatementColumns`).

Everything is read before anything is returned: one wrong line refuses the file, naming the line. What is no movement
(balances, totals, what is still pending) is left out, and said.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Final

from bizkit.domain.billing.bank_statement import LeftOut, Statement, numbered
from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, check_kept
from bizkit.domain.plain_text import carried
from bizkit.domain.statement_columns import DATE_FORMATS, StatementColumns
from bizkit.exchange.bank.cell_amount import check_heading, read_amount
from bizkit.exchange.bank.not_booked import Row, reason

#: Largest statement read, in bytes: some 200,000 lines.
MOST_BYTES: Final = 50_000_000

#: No bank writes a movement of before.
_FIRST_YEAR: Final = 1900
_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONEY: Final = ("amount", "paid_in", "paid_out")
_SAID: Final = ("text", "name", "reference")
_COLUMNS: Final = ("date", "amount", "paid_in", "paid_out", "text", "name", "reference", "currency_column", "id")


def read_statement(
    data: bytes,
    columns: StatementColumns,
    currency: str,
    *,
    account: str = "",
    take: Collection[int] = (),
    where: str = "",
) -> Statement:
    """The movements of a statement in file order, and the rows left out.

    currency: of the account, where no column says it. account: what it is known by; movements of another one are
    others. take: lines that are movements though their words say a balance, a total or pending. Raises BadInput
    naming file and line for a heading that is not there, a date or amount that is none, a currency that is not the
    account's, more cells than headings, quotation marks that do not fit, bytes that are not of the encoding, a file
    without any movement in which not every row says why it is none, or a file larger than `MOST_BYTES`.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(wanted=f"a statement of up to {MOST_BYTES:,} bytes", got=f"{len(data):,} bytes", where=where)
    text = decoded(data, columns.encoding, where=where)
    body = "".join(text.splitlines(keepends=True)[columns.skip :])
    if not body.strip():
        raise BadInput(wanted="headings and lines", got="nothing", where=where)
    lines = list(io.StringIO(body, newline=""))
    rows = _rows(lines, columns.skip, where)
    headings = [heading.strip() for heading in rows[0][1]]
    reader = _Reader(
        columns,
        currency,
        [heading.casefold() for heading in headings],
        {key: _column(getattr(columns, key), headings, where) for key in _COLUMNS},
    )
    if not columns.currency_column:
        for index in (reader.places[key] for key in _MONEY):
            if index is not None:
                check_heading(headings[index], currency.upper(), where=where)
    movements: list[BankEntry] = []
    left_out: list[LeftOut] = []
    unexplained: LeftOut | None = None
    taken: set[int] = set()
    paid_out: dict[bool, str] = {}
    for number, row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        place = f"line {number}"
        if reader.swallows(row):
            raise _marks(lines[number - columns.skip - 1], f"{where} {place}".strip())
        why = reader.no_movement(row)
        if why and number in take:
            taken.add(number)
        elif why:
            left_out.append(LeftOut(place, " ".join(" ".join(row).split())[:140], why))
            unexplained = unexplained or (left_out[-1] if why in _UNEXPLAINED else None)
            continue
        entry = reader.movement(row, f"{where} {place}".strip())
        if went := reader.paid_out(row):
            paid_out.setdefault(went < 0, place)
        movements.append(replace(entry, account=account, place=place))
    _check_one_way(paid_out, where)
    if set(take) - taken:
        got = ", ".join(str(one) for one in sorted(set(take) - taken))
        raise BadInput(wanted="a line that was left out", got=got, field="--take", where=where)
    if not movements and unexplained is not None:
        raise BadInput(
            wanted="movements, each with a date and an amount",
            got=f"{unexplained.why}: {unexplained.said}",
            field="date",
            where=f"{where} {unexplained.place}".strip(),
            hint="Or set other columns under [statement]",
        )
    if _only_counts([movement.own_id for movement in movements], len(rows)):
        movements = [replace(movement, own_id="") for movement in movements]
    return Statement(numbered(movements), tuple(left_out))


def _check_one_way(paid_out: Mapping[bool, str], where: str) -> None:
    """Raises BadInput where money paid out stands with a minus in one row and without in another: which came back?

    paid_out: whether with a minus -> the first row of that kind.
    """
    if len(paid_out) > 1:
        raise BadInput(
            wanted="every amount paid out with a minus, or none",
            got=f"with one at {paid_out[True]}, without at {paid_out[False]}",
            field="paid_out",
            where=where,
            hint="Money that came back belongs under paid_in",
        )


def _only_counts(ids: Sequence[str], lines: int) -> bool:
    """Whether a column of ids only numbers the lines of this file: then it says nothing about the movements."""
    if not all(re.fullmatch(r"[0-9]{1,9}", one) for one in ids):
        return False
    numbers = [int(one) for one in ids]
    return max(numbers, default=0) <= lines and sorted(set(numbers)) in (numbers, numbers[::-1])


def decoded(data: bytes, encoding: str = "auto", *, where: str = "") -> str:
    """The file as text. "auto": by its byte order mark, else UTF-8, else UTF-16 by its zeros, else Windows 1252."""
    tries = [encoding] if encoding != "auto" else []
    if encoding == "auto":
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            tries = ["utf-16"]
        elif data.startswith(b"\xef\xbb\xbf"):
            tries = ["utf-8-sig"]
        elif data[:200].count(0) > len(data[:200]) // 4:
            tries = ["utf-16-be" if data[:1] == b"\0" else "utf-16-le"]
        else:
            tries = ["utf-8", "cp1252", "iso-8859-1"]
    for name in tries:
        try:
            return data.decode(name).lstrip("\ufeff")
        except (UnicodeDecodeError, UnicodeError):
            continue
    raise BadInput(
        wanted=f"text in {tries[0]}",
        got="bytes that are not",
        field="encoding",
        where=where,
        hint="Set another encoding",
    )


def _rows(lines: Sequence[str], skipped: int, where: str) -> list[tuple[int, list[str]]]:
    """Rows with the number of their line; the sign between cells is the one that the heading line has most of."""
    delimiter = max(";\t,|", key=lines[0].count)
    if not lines[0].count(delimiter):
        delimiter = ","
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for row in reader:
            rows.append((skipped + begins, row))
            begins = reader.line_num + 1
    except csv.Error as error:
        place = f"{where} line {skipped + begins}".strip()
        # Left open, a mark swallows what follows: up to the end, or to the most that a cell may hold.
        if any(sign in str(error) for sign in ("'\"'", "unexpected end", "field limit")):
            raise _marks(lines[begins - 1], place) from None
        raise BadInput(wanted="lines of cells", got=str(error), where=place) from None
    return rows


def _marks(line: str, where: str) -> BadInput:
    wanted = "quotation marks around whole cells, and one inside a cell written twice"
    return BadInput(wanted=wanted, got=line.strip()[:60], where=where)


def _column(heading: str, headings: Sequence[str], where: str) -> int | None:
    if not heading:
        return None
    folded = [known.casefold() for known in headings]
    if heading.casefold() not in folded:
        raise NotFound("column", heading, headings, field="statement", where=where)
    if folded.count(heading.casefold()) > 1:
        raise BadInput(wanted=f"one column {heading}", got="several", field="statement", where=where)
    return folded.index(heading.casefold())


#: Reasons that no word of the row gives.
_UNEXPLAINED: Final = ("no date", "neither a date nor an amount")


@dataclass(frozen=True, slots=True)
class _Reader:
    """What stands where in the lines of one file. headings: in lower case."""

    columns: StatementColumns
    currency: str
    headings: Sequence[str]
    places: dict[str, int | None]

    def cell(self, row: Sequence[str], key: str) -> str:
        """What stands in a column, empty where there is none."""
        index = self.places[key]
        return carried(row[index]).strip() if index is not None and index < len(row) else ""

    def swallows(self, row: Sequence[str]) -> bool:
        """Whether a quotation mark that was meant as text took the next line into a cell."""
        begun = (line for cell in row if "\n" in cell for line in cell.splitlines()[1:] if re.search("[;\t,|]", line))
        return any(_reads(partial(read_day, line.strip(), self.columns.date_format)) for line in begun)

    def no_movement(self, row: Sequence[str]) -> str:
        """Why a line is no movement, empty where it is one (or is meant to be)."""
        day = self.cell(row, "date")
        dated = _reads(partial(read_day, day, self.columns.date_format))
        said = [self.cell(row, key) for key in _SAID]
        mapped = [place for key in _SAID if (place := self.places[key]) is not None]
        why = reason(Row([cell.strip() for cell in row], self.headings, dated, day, said, mapped))
        if why:
            return why
        money = [self.cell(row, key) for key in _MONEY]
        if dated:
            return "" if self.columns.amount or any(money) else "no amount"
        if not re.search(r"\d", day):
            return "no date"
        comma = self.columns.decimal_comma
        if not any(cell and _reads(partial(read_amount, cell, comma)) for cell in money):
            return "neither a date nor an amount"
        return ""

    def paid_out(self, row: Sequence[str]) -> Decimal:
        """What stands in the column of what is paid out, zero where there is none."""
        return read_amount(self.cell(row, "paid_out") or "0", self.columns.decimal_comma)

    def movement(self, row: Sequence[str], where: str) -> BankEntry:
        """The movement of a line."""
        if any(cell.strip() for cell in row[len(self.headings) :]):
            raise BadInput(
                wanted=f"{len(self.headings)} cells, as many as headings",
                got=len(row),
                where=where,
                hint="An amount or a text with a separator in it belongs between quotation marks",
            )
        comma = self.columns.decimal_comma
        code = (self.cell(row, "currency_column") or self.currency).upper()
        day = read_day(self.cell(row, "date"), self.columns.date_format, where=where)
        if self.columns.amount:
            number = read_amount(self.cell(row, "amount"), comma, currency=code, where=where)
        else:
            came = read_amount(self.cell(row, "paid_in") or "0", comma, currency=code, where=where)
            went = read_amount(self.cell(row, "paid_out") or "0", comma, currency=code, where=where)
            if came and went:
                raise BadInput(wanted="paid in or paid out", got="both", where=where)
            # Below zero, what was paid in goes back. What is paid out stands with a minus or without one.
            number = came - abs(went)
        try:
            amount = Money(number, code)
        except BadInput as error:
            raise BadInput(wanted=error.wanted, got=error.got, field=error.field or "amount", where=where) from None
        amount = check_kept(amount, where=where)
        name, text, reference = (self.cell(row, key) for key in ("name", "text", "reference"))
        return BankEntry("", day, amount, name, text, reference, own_id=self.cell(row, "id"))


def _reads(read: Callable[[], object]) -> bool:
    try:
        read()
    except BadInput:
        return False
    return True


def read_day(text: str, date_format: str, *, where: str = "") -> date:
    """A date as the bank writes it. Two-digit years are of this century. Raises BadInput.

    >>> read_day("10/05/27", "dd/mm/yyyy")
    datetime.date(2027, 5, 10)
    """
    found = re.match(DATE_FORMATS[date_format] + r"(?![0-9])", text)
    try:
        if found is None:
            raise ValueError
        parts = found.groupdict()
        month = _MONTHS.index(parts["b"].lower()) + 1 if parts.get("b") else int(parts["m"])
        year = int(parts["y"])
        year += 2000 if len(parts["y"]) == 2 else 0
        if year < _FIRST_YEAR:
            raise ValueError
        return date(year, month, int(parts["d"]))
    except ValueError:
        raise BadInput(
            wanted=f"a date as {date_format}", got=text, field="date", where=where, hint="Or set another date_format"
        ) from None
