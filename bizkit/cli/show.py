"""Printing: plain aligned text for people, JSON for programs. And the options every command shares."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

if TYPE_CHECKING:
    from bizkit.services.shooting.late_receipts import ReceiptFiled
    from bizkit.services.studio.studio_folder import StudioFolder

T = TypeVar("T")

StudioOption = Annotated[
    Path | None, typer.Option("--studio", help="The studio folder. Without it: BIZKIT_STUDIO, else here or above.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON; amounts are strings.")]
OnOption = Annotated[
    str | None, typer.Option("--on", metavar="YYYY-MM-DD", help="The day it counts for. Without it: today.")
]
OwedAgainOption = Annotated[
    bool, typer.Option("--owed-again", help="More goes back than was overpaid: the rest is owed again.")
]
ReasonOption = Annotated[str, typer.Option("--reason", help="Why; kept in the book. A date after today needs it.")]


def studio_folder(studio: Path | None, reason: str = "", *, near: Path | None = None) -> StudioFolder:
    """The studio the command works in; `reason` as given with --reason. Raises BadInput when there is none.

    near: a file of a studio that is named, which lies in the one that is meant where none is here.
    """
    from bizkit.services.studio.studio_folder import StudioFolder

    folder = StudioFolder.find(studio, near)
    folder.reason = reason
    return folder


def day(text: str | None) -> date:
    """The day given with --on, or today. Raises BadInput."""
    if text is None:
        return date.today()
    from bizkit.domain.dates import iso_date

    return iso_date(text, field="--on")


def day_of(folder: StudioFolder, text: str | None, *facts: date | None) -> date:
    """The same for a command that is told other days too, on which what it writes down was.

    In a practice studio, where any date is taken, it counts without --on for the last of them where that is to come.
    """
    told = [fact for fact in facts if fact is not None]
    on = day(text)
    return max(on, *told) if told and text is None and folder.studio.practice else on


def same_paper(about: Sequence[str]) -> Iterable[str]:
    """The line that says that a receipt was filed before, so that nothing is counted twice unseen."""
    if about:
        yield f"  The same paper is the receipt of {' and '.join(about)}: if it is one purchase, take one back"


def receipt_filed(data: ReceiptFiled) -> Iterable[str]:
    """What is said of a receipt that was filed later."""
    yield f"Receipt of {data['kind']} {data['number']}: {data['what']}"
    yield f"  Filed: {data['file']}"
    yield from same_paper(data["same_paper"])


def typed_twice(data: Mapping[str, Any], what: str, undo: str = "") -> Iterable[str]:
    """The line that tells of records that say just what the new one says. what: of which kind they are."""
    if same := data["same"]:
        way = f"take it back: {undo}" if undo else "record it once more below zero"
        before = " and ".join(str(one) for one in same)
        yield f"  Look: {what} {before} of this day says just the same; if it was typed twice, {way}"


def said_twice(data: Mapping[str, Any], invoice: str, received: str) -> Iterable[str]:
    """The line that tells of sums that say just the same. received: of the new one on `invoice`; below zero back."""
    if Decimal(received) > 0:
        yield from typed_twice(data, "payment", f"bizkit payment refund {invoice} {received} --owed-again")
    else:
        yield from typed_twice(data, "payment", f"bizkit invoice paid {invoice} {received.removeprefix('-')}")


def tax_without_paper(data: Mapping[str, Any], way: str) -> Iterable[str]:
    """The line that tells of tax that is reclaimed with no receipt on file."""
    if Decimal(data["reclaimed"]) > 0 and not data["receipt"]:
        yield f"  Look: no receipt is on file for the tax that is reclaimed; once you have it, {way}"


def show(data: T, as_json: bool, text: Callable[[T], Iterable[str]]) -> None:
    """Print `data` as JSON, or as the lines that `text` makes of it."""
    if as_json:
        print(as_json_text(data))
        return
    for line in text(data):
        print(_printable(line))


def as_json_text(data: Any) -> str:
    """`data` as JSON; letters that the output cannot carry are written as JSON writes them (`\\u00eb`)."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        return json.dumps(data, indent=2)
    return text


def say(line: str) -> None:
    """Print one line of text."""
    print(_printable(line))


def amount(text: str, currency: str) -> str:
    """`GBP 1,234.50` from the plain amount.

    >>> amount("-1234.5", "GBP")
    'GBP -1,234.5'
    """
    whole, dot, part = text.partition(".")
    sign = "-" if whole.startswith("-") else ""
    digits = whole.lstrip("-")
    grouped = f"{int(digits):,}" if digits.isdecimal() else digits
    return f"{currency} {sign}{grouped}{dot}{part}"


def short(number: str) -> str:
    """A number for reading: two places at most.

    >>> short("16.1156"), short("24.75"), short("3")
    ('16.12', '24.75', '3')
    """
    from decimal import Decimal

    exact = Decimal(number)
    return number if exact == round(exact, 2) else f"{round(exact, 2):f}".rstrip("0").rstrip(".")


def table(rows: Sequence[Sequence[str]], *, right: Iterable[int] = (), indent: int = 0) -> list[str]:
    """Rows as aligned columns two spaces apart; `right` names the columns set flush right."""
    if not rows:
        return []
    flush = set(right)
    widths = [max(width(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = []
        for i, cell in enumerate(row):
            gap = " " * (widths[i] - width(cell))
            cells.append(gap + cell if i in flush else cell + gap)
        lines.append((" " * indent + "  ".join(cells)).rstrip())
    return lines


def width(text: str) -> int:
    """Columns that `text` takes on a terminal.

    >>> width("a\\u0301b"), width("海")
    (2, 2)
    """
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(ch) else 2 if unicodedata.east_asian_width(ch) in "WF" else 1 for ch in text
    )


def shorten(text: str, columns: int) -> str:
    """`text` cut to `columns` with an ellipsis."""
    return text if len(text) <= columns else text[: columns - 1].rstrip() + "…"


def _printable(line: str) -> str:
    """Without control characters, spaces of every width as plain ones, and in what the terminal can draw."""
    if line.isascii() and line.isprintable():
        return line
    line = "".join(" " if unicodedata.category(ch) == "Zs" else ch for ch in line)
    safe = "".join(ch if ch.isprintable() or ch == "\t" else "�" for ch in line)
    encoding = sys.stdout.encoding or "utf-8"
    return safe.encode(encoding, "replace").decode(encoding)
