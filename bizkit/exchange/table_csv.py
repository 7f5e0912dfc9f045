"""Tables as CSV that a spreadsheet opens without running anything.

Form: RFC 4180, comma, CRLF, UTF-8 with a byte order mark, since spreadsheets read UTF-8 only with one. A cell that a
spreadsheet would take for a formula gets an apostrophe in front, as the OWASP page on CSV injection advises; a cell
that is a plain number stays one.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

#: Signs that begin a formula in one spreadsheet or another, the wide forms of East Asian fonts included.
_FORMULA: Final = re.compile(r"[\t\r\n]|[\s\x00-\x1f\x7f\u200b\u2060\ufeff]*[=+\-@|%＝＋－＠]")
_NUMBER: Final = re.compile(r"-?\d+(\.\d+)?", re.ASCII)


def safe_cell(value: object) -> str:
    """The text of a cell that no spreadsheet runs.

    >>> safe_cell('=HYPERLINK("https://example.com")'), safe_cell("-12.50"), safe_cell(None)
    ('\\'=HYPERLINK("https://example.com")', '-12.50', '')
    """
    # NUL is the one character that no CSV reader takes.
    text = "" if value is None else str(value).replace("\0", "")
    if _FORMULA.match(text) and not _NUMBER.fullmatch(text):
        return "'" + text
    return text


def table_csv(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The table with its headings. Raises ValueError for a row of another length."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([safe_cell(heading) for heading in headings])
    for row in rows:
        if len(row) != len(headings):
            raise ValueError(f"{len(headings)} headings, but {len(row)} cells: {row!r}")
        writer.writerow([safe_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def records_csv(records: Sequence[Mapping[str, object]], headings: Sequence[str] | None = None) -> bytes:
    """Records with the same keys; their order is that of `headings`, else of the first record."""
    names = list(headings if headings is not None else records[0] if records else ())
    return table_csv(names, [[record.get(name, "") for name in names] for record in records])
