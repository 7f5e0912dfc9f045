"""Issued documents: numbered without a gap, never changed, each chained to the one before.

A document's SHA-256 is taken over its canonical JSON together with the SHA-256 of the document issued before it,
so changing, removing or reordering any of them shows from there on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeAlias, TypeVar, cast, overload

from sqlalchemy import ColumnElement, Connection, RowMapping, case, func, insert, select

from bizkit.domain.errors import BadInput
from bizkit.store.ahead import of_job, of_one
from bizkit.store.canonical import canonical, member, parsed, sha256
from bizkit.store.register import KINDS, Entry, enter, entry_of, everything
from bizkit.store.schema import issued
from bizkit.store.stamp import Stamp

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile, QuoteOnFile

#: What a document holds, by its kind.
D = TypeVar("D", covariant=True)
Content = TypeVar("Content", bound=Mapping[str, Any])

#: What the first document is chained to.
START = "0" * 64

#: How many numbers one query names at most.
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Issued(Generic[D]):
    """One issued document as the book holds it; `document` is its frozen content."""

    position: int
    kind: str
    series: str
    number: str
    revision: int
    key: str
    issued_on: str
    document: D
    sha256: str

    @property
    def entry(self) -> Entry:
        """What the register says of a quote, invoice or credit note."""
        return entry_of(
            cast("Mapping[str, Any]", self.document), kind=self.kind, position=self.position, key=self.key
        )


IssuedQuote: TypeAlias = "Issued[QuoteOnFile]"
IssuedBill: TypeAlias = "Issued[BillOnFile]"


def count_in_series(work: Connection, series: str) -> int:
    """How many numbers of `series` are used up (revisions of one number count once)."""
    return work.execute(
        select(func.count(func.distinct(issued.c.number))).where(issued.c.series == series)
    ).scalar_one()


def series_in_use(work: Connection) -> set[tuple[str, str]]:
    """Kind and series (`GL-2027-{number:04}`) of everything issued, whatever the settings say today."""
    return {(row.kind, row.series) for row in work.execute(select(issued.c.kind, issued.c.series).distinct())}


def issue(
    work: Connection,
    stamp: Stamp,
    *,
    kind: str,
    series: str,
    number: str,
    key: str,
    document: Content,
    revision: int = 1,
) -> Issued[Content]:
    """Freeze `document` under `number`, which the caller drew in this same transaction.

    `number`, `revision` and `issued_on` (the stamp's day) are set in the document.
    """
    content = {**document, "number": number, "revision": revision, "issued_on": stamp.on.isoformat()}
    last = work.execute(
        select(issued.c.position, issued.c.sha256).order_by(issued.c.position.desc()).limit(1)
    ).one_or_none()
    row: dict[str, Any] = {
        "position": last.position + 1 if last else 1,
        "kind": kind,
        "series": series,
        "number": number,
        "revision": revision,
        "key": key,
        "issued_on": stamp.on.isoformat(),
        "recorded_at": stamp.at,
        "recorded_by": stamp.who,
        "document": canonical(content),
        "previous": last.sha256 if last else START,
    }
    row["sha256"] = link(row)
    work.execute(insert(issued).values(row))
    if kind in KINDS:
        enter(work, entry_of(content, kind=kind, position=row["position"], key=key))
    frozen = cast("Content", content)
    return Issued(row["position"], kind, series, number, revision, key, stamp.on.isoformat(), frozen, row["sha256"])


def link(row: dict[str, Any] | RowMapping) -> str:
    """The SHA-256 that ties one row to its content and to the row before it."""
    names = ("position", "kind", "series", "number", "revision", "key", "issued_on", "recorded_at", "recorded_by")
    head = canonical({**{name: row[name] for name in names}, "document": sha256(row["document"])})
    return sha256(f"{row['previous']}\n{head}")


def is_intact(work: Connection, number: str, revision: int) -> bool:
    """Whether the record of a document is what was issued under that number."""
    query = select(issued).where(issued.c.number == number, issued.c.revision == revision)
    row = work.execute(query).mappings().one_or_none()
    return row is not None and link(row) == row["sha256"]


def altered(work: Connection) -> set[tuple[str, int]]:
    """Number and revision of the documents whose record is not what was issued."""
    rows = work.execute(select(issued)).mappings()
    return {(row["number"], row["revision"]) for row in rows if link(row) != row["sha256"]}


@overload
def latest(work: Connection, *, kind: Literal["quote"], key: str) -> Issued[QuoteOnFile] | None: ...


@overload
def latest(work: Connection, *, kind: str, key: str) -> Issued[Any] | None: ...


def latest(work: Connection, *, kind: str, key: str) -> Issued[Any] | None:
    """The newest document of `kind` under `key`, or None."""
    query = select(issued).where(issued.c.kind == kind, issued.c.key == key)
    row = work.execute(query.order_by(issued.c.position.desc()).limit(1)).mappings().one_or_none()
    return _issued(row) if row else None


def latest_of_series(work: Connection, series: str, *, ahead_counts: bool) -> tuple[str, str] | None:
    """Number and ISO day of the document of `series` with the latest day; None for a series without any.

    The day is its date; unless `ahead_counts`, for one dated ahead the day (UTC) on which it was written down.
    """
    written = func.substr(issued.c.recorded_at, 1, 10)
    day = (
        issued.c.issued_on
        if ahead_counts
        else case((issued.c.issued_on > written, written), else_=issued.c.issued_on)
    )
    query = select(issued.c.number, day).where(issued.c.series == series, issued.c.revision == 1)
    row = work.execute(query.order_by(day.desc(), issued.c.position.desc()).limit(1)).one_or_none()
    return (row[0], row[1]) if row else None


def issued_last(work: Connection, *, kind: str, key: str) -> list[tuple[str, int, str]]:
    """Number, revision and day of the documents of `kind` under `key` that were issued last, in one act."""
    columns = [issued.c[name] for name in ("number", "revision", "issued_on", "recorded_at")]
    mine = select(*columns).where(issued.c.kind == kind, issued.c.key == key).order_by(issued.c.position)
    rows = work.execute(mine).all()
    return [(row.number, row.revision, row.issued_on) for row in rows if row.recorded_at == rows[-1].recorded_at]


def by_number(work: Connection, number: str, revision: int | None = None) -> Issued[Any] | None:
    """The document with `number`; its newest revision unless one is given."""
    query = select(issued).where(issued.c.number == number)
    if revision is not None:
        query = query.where(issued.c.revision == revision)
    row = work.execute(query.order_by(issued.c.revision.desc()).limit(1)).mappings().one_or_none()
    return _issued(row) if row else None


def quote_by_number(work: Connection, number: str, revision: int | None = None) -> Issued[QuoteOnFile] | None:
    """The quote with `number`, its newest revision unless one is given; None where none has it."""
    found = by_number(work, number, revision)
    return found if found is not None and found.kind == "quote" else None


def members_of(work: Connection, number: str, revision: int, *names: str) -> dict[str, Any] | None:
    """Some members of one quote, those it has; None where it is not in the book. The rest of it is not read."""

    def ask(*where: ColumnElement[bool]) -> Iterator[tuple[str, int, dict[str, Any]]]:
        columns = [member(work, issued.c.document, name) for name in names]
        query = select(issued.c.number, issued.c.revision, *columns).where(issued.c.kind == "quote", *where)
        query = of_job(work, query, issued.c.key, None)
        for number, revision, *texts in work.execute(query):
            yield number, revision, {name: parsed(text) for name, text in zip(names, texts, strict=True) if text}

    found = of_one(work, ("members", names), (number, revision), ask, lambda row: row[:2], a_job=False)
    if found is None:
        found = list(ask(issued.c.number == number, issued.c.revision == revision))
    return dict(found[0][2]) if found else None


@overload
def of_kind(work: Connection, *kinds: Literal["quote"], key: str | None = None) -> list[Issued[QuoteOnFile]]: ...


@overload
def of_kind(
    work: Connection, *kinds: Literal["invoice", "credit_note"], key: str | None = None
) -> list[Issued[BillOnFile]]: ...


@overload
def of_kind(work: Connection, *kinds: str, key: str | None = None) -> list[Issued[Any]]: ...


def of_kind(work: Connection, *kinds: str, key: str | None = None) -> list[Issued[Any]]:
    """Every document of these kinds in the order issued, of one job when `key` is given."""
    found = of_one(work, ("issued", kinds), key, lambda: of_kind(work, *kinds), lambda one: one.key)
    if found is not None:
        return found
    query = select(issued).where(issued.c.kind.in_(kinds)).order_by(issued.c.position)
    query = of_job(work, query, issued.c.key, key)
    return [_issued(row) for row in work.execute(query).mappings()]


def quotes_named(work: Connection, names: Collection[tuple[str, int]]) -> dict[tuple[str, int], Issued[QuoteOnFile]]:
    """The quotes of these numbers and revisions."""
    numbers = sorted({number for number, _ in names})
    found: dict[tuple[str, int], Issued[QuoteOnFile]] = {}
    for first in range(0, len(numbers), AT_ONCE):
        query = select(issued).where(issued.c.kind == "quote", issued.c.number.in_(numbers[first : first + AT_ONCE]))
        for row in work.execute(query).mappings():
            if (row["number"], row["revision"]) in names:
                found[row["number"], row["revision"]] = _issued(row)
    return found


def numbered(work: Connection, numbers: Sequence[str]) -> list[Issued[Any]]:
    """The documents of these numbers, which have one revision each, in that order."""
    found = {}
    for first in range(0, len(numbers), AT_ONCE):
        query = select(issued).where(issued.c.number.in_(numbers[first : first + AT_ONCE]))
        found.update({row["number"]: _issued(row) for row in work.execute(query).mappings()})
    return [found[number] for number in numbers if number in found]


def each_document(work: Connection, *kinds: str) -> Iterator[dict[str, Any]]:
    """The documents of these kinds in the order issued, one at a time, so that a long book need not fit in memory."""
    query = select(issued.c.document).where(issued.c.kind.in_(kinds)).order_by(issued.c.position)
    for text in work.execute(query).scalars():
        yield parsed(text)


def every(work: Connection) -> list[Issued[Any]]:
    """Every issued document in the order issued."""
    return [_issued(row) for row in work.execute(select(issued).order_by(issued.c.position)).mappings()]


def faults(work: Connection) -> list[str]:
    """What is wrong in the chain, one line each; empty when every document is as it was issued."""
    found: list[str] = []
    previous, expected = START, 1
    entries, known = everything(work), set()
    for row in work.execute(select(issued).order_by(issued.c.position)).mappings():
        name = f"{row['kind']} {row['number']}" + (f" revision {row['revision']}" if row["revision"] > 1 else "")
        if row["position"] != expected:
            found.append(f"{name}: stands at position {row['position']}, wanted {expected}: a document is missing")
        if row["previous"] != previous:
            found.append(f"{name}: does not follow the document before it")
        if link(row) != row["sha256"]:
            found.append(f"{name}: its content is not what was issued")
        content = parsed(row["document"])
        for own in ("number", "revision", "issued_on"):
            if content.get(own) != row[own]:
                found.append(f"{name}: {own} in the document is {content.get(own)}, in the book {row[own]}")
        known.add(row["position"])
        if row["kind"] in KINDS and entries.get(row["position"]) != _entry(row, content):
            found.append(f"{name}: the register says something else: restore the book from a copy")
        previous, expected = row["sha256"], row["position"] + 1
    found += [
        f"{one.kind.replace('_', ' ')} {one.number}: the register says it was issued, but it is not in the book"
        for position, one in sorted(entries.items())
        if position not in known
    ]
    return found


def _entry(row: RowMapping, content: dict[str, Any]) -> Entry | None:
    """What the register should say; None for a document that is not one any more."""
    try:
        return entry_of(content, kind=row["kind"], position=row["position"], key=row["key"])
    except (BadInput, KeyError, TypeError, AttributeError):
        return None


def _issued(row: RowMapping) -> Issued[Any]:
    return Issued(
        row["position"],
        row["kind"],
        row["series"],
        row["number"],
        row["revision"],
        row["key"],
        row["issued_on"],
        parsed(row["document"]),
        row["sha256"],
    )
