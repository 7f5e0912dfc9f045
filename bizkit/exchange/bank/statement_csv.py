"""A bank's CSV statement, its columns mapped by the studio (`StatementColumns`).

Everything is read before anything is returned: one wrong line refuses the file, naming the line.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections import Counter
from collections.abc import Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Final

from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money
from bizkit.domain.statement_columns import DATE_FORMATS, StatementColumns

#: Largest statement read, in bytes: some 200,000 lines.
MOST_BYTES: Final = 50_000_000

_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def read_statement(data: bytes, columns: StatementColumns, currency: str, *, where: str = "") -> list[BankEntry]:
    """The entries of a statement in file order. currency: of the account, where no column says it.

    Raises BadInput naming file and line for a heading that is not there, a date or amount that is none, bytes that
    are not of the encoding, or a file larger than `MOST_BYTES`.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(wanted=f"a statement of up to {MOST_BYTES:,} bytes", got=f"{len(data):,} bytes", where=where)
    text = decoded(data, columns.encoding, where=where)
    lines = text.splitlines(keepends=True)[columns.skip :]
    body = "".join(lines)
    if not body.strip():
        raise BadInput(wanted="headings and lines", got="nothing", where=where)
    rows = list(_rows(body, where))
    headings = [heading.strip() for heading in rows[0]]
    places = {key: _column(getattr(columns, key), headings, where) for key in _COLUMNS}
    entries: list[BankEntry] = []
    seen: Counter[str] = Counter()
    for number, row in enumerate(rows[1:], start=columns.skip + 2):
        if not any(cell.strip() for cell in row):
            continue
        entries.append(_entry(row, places, columns, currency, f"{where} line {number}".strip(), seen))
    return entries


_COLUMNS: Final = ("date", "amount", "paid_in", "paid_out", "text", "name", "reference", "currency_column", "id")


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


def _rows(body: str, where: str) -> list[list[str]]:
    """Cells; the sign between them is the one that the heading line has most of."""
    first = body.splitlines()[0]
    delimiter = max(";\t,|", key=first.count)
    if not first.count(delimiter):
        delimiter = ","
    try:
        return list(csv.reader(io.StringIO(body, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise BadInput(wanted="lines of cells", got=str(error), where=where) from None


def _column(heading: str, headings: Sequence[str], where: str) -> int | None:
    if not heading:
        return None
    folded = [known.casefold() for known in headings]
    if heading.casefold() not in folded:
        raise NotFound("column", heading, headings, field="statement", where=where)
    if folded.count(heading.casefold()) > 1:
        raise BadInput(wanted=f"one column {heading}", got="several", field="statement", where=where)
    return folded.index(heading.casefold())


def _entry(
    row: Sequence[str],
    places: dict[str, int | None],
    columns: StatementColumns,
    currency: str,
    where: str,
    seen: Counter[str],
) -> BankEntry:
    def cell(key: str) -> str:
        index = places[key]
        return row[index].strip() if index is not None and index < len(row) else ""

    code = (cell("currency_column") or currency).upper()
    day = read_day(cell("date"), columns.date_format, where=where)
    if columns.amount:
        number = read_amount(cell("amount"), columns.decimal_comma, where=where)
    else:
        came = read_amount(cell("paid_in") or "0", columns.decimal_comma, where=where)
        went = read_amount(cell("paid_out") or "0", columns.decimal_comma, where=where)
        if came and went:
            raise BadInput(wanted="paid in or paid out", got="both", where=where)
        number = abs(came) - abs(went)
    try:
        amount = Money(number, code)
    except BadInput as error:
        raise BadInput(wanted=error.wanted, got=error.got, field=error.field or "amount", where=where) from None
    if amount != amount.rounded():
        raise BadInput(wanted=f"whole minor units of {code}", got=amount, field="amount", where=where)
    facts = "\x1f".join((day.isoformat(), amount.text, code, cell("name"), cell("text"), cell("reference")))
    given = cell("id")
    if given:
        key = f"csv:{given}"
    else:
        # Two equal payments on one day are two: they are told apart by how many of the kind came before in the file.
        seen[facts] += 1
        key = "csv:" + hashlib.sha256(f"{facts}\x1f{seen[facts]}".encode()).hexdigest()[:32]
    return BankEntry(key, day, amount.rounded(), cell("name"), cell("text"), cell("reference"))


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
        return date(year + 2000 if year < 100 else year, month, int(parts["d"]))
    except ValueError:
        raise BadInput(
            wanted=f"a date as {date_format}", got=text, field="date", where=where, hint="Or set another date_format"
        ) from None


def read_amount(text: str, decimal_comma: bool = False, *, where: str = "") -> Decimal:
    """An amount as the bank writes it: grouping, currency signs, brackets or a trailing minus for what went out.

    Raises BadInput for what is no amount, or whose comma could be read both ways.

    >>> read_amount("(1.234,50 €)", decimal_comma=True)
    Decimal('-1234.50')
    """
    bare = re.sub(r"[\s\u00a0\u202f'’£$€¥]|\b[A-Z]{3}\b", "", text.replace("\u2212", "-"))
    negative = False
    if bare.startswith("(") and bare.endswith(")"):
        bare, negative = bare[1:-1], True
    if bare.upper().endswith(("CR", "DR")):
        negative = negative != bare.upper().endswith("DR")
        bare = bare[:-2]
    if bare.endswith("-"):
        bare, negative = bare[:-1], not negative
    if bare[:1] in "+-":
        negative = negative != bare.startswith("-")
        bare = bare[1:]
    point, group = (",", ".") if decimal_comma else (".", ",")
    grouped = rf"\d{{1,3}}(?:{re.escape(group)}\d{{3}})+|\d+"
    if not re.fullmatch(rf"(?:{grouped})(?:{re.escape(point)}\d*)?|{re.escape(point)}\d+", bare, flags=re.ASCII):
        raise BadInput(
            wanted=f"an amount such as 1{group}234{point}50",
            got=text,
            field="amount",
            where=where,
            hint=f"Or set decimal_comma = {'false' if decimal_comma else 'true'}",
        )
    try:
        number = Decimal(bare.replace(group, "").replace(point, "."))
    except InvalidOperation:  # pragma: no cover - the pattern above lets nothing else through
        raise BadInput(wanted="an amount", got=text, field="amount", where=where) from None
    return -number if negative else number
