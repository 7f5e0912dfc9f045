"""Reading ahead: what a list asks of job after job is read once, for all of them.

A rule about a job asks the book for the rows of that job, and serves a page about one job and a list of them all.
Within `reading_ahead` each such question is answered out of one reading of all rows, so that a list of a thousand
jobs costs as many queries as a list of ten. Readers of the store begin with `of_one` or `kept`; nobody above them
has to know. Whatever is written in between makes all of it be read anew.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Final, TypeVar

from sqlalchemy import Connection

T = TypeVar("T")

#: Where a connection keeps what was read ahead, by the question.
KEPT: Final = "bizkit_read_ahead"


@contextmanager
def reading_ahead(work: Connection) -> Iterator[None]:
    """Within it, what is asked of one job is read for all. One inside another is part of it."""
    if KEPT in work.info:
        yield
        return
    work.info[KEPT] = {}
    try:
        yield
    finally:
        del work.info[KEPT]


def kept(work: Connection, question: Hashable, read: Callable[[], T]) -> T:
    """What `read` gives; while reading ahead, asked once. The answer is shared: nobody changes it."""
    answers = work.info.get(KEPT)
    if answers is None:
        return read()
    if question not in answers:
        found = read()
        work.info[KEPT][question] = found
        return found
    known: T = answers[question]
    return known


def of_one(
    work: Connection, question: Hashable, one: Hashable, read: Callable[[], Iterable[T]], by: Callable[[T], Hashable]
) -> list[T] | None:
    """While reading ahead, the rows of `read` that belong to `one` by what `by` says; None otherwise, or without one.

    Rows that are dictionaries are the caller's own.
    """
    if one is None or KEPT not in work.info:
        return None
    return [_own(row) for row in kept(work, question, lambda: _grouped(read(), by)).get(one, ())]


def job_of(row: dict[str, Any]) -> str:
    """The key of the job that a row names."""
    return str(row["job"])


def _grouped(rows: Iterable[T], by: Callable[[T], Hashable]) -> dict[Hashable, list[T]]:
    groups: dict[Hashable, list[T]] = {}
    for row in rows:
        groups.setdefault(by(row), []).append(row)
    return groups


def _own(row: T) -> T:
    return dict(row) if isinstance(row, dict) else row  # type: ignore[return-value]
