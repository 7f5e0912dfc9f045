"""Reading ahead: what a list asks of job after job is read once, for all of them.

A rule about a job asks the book for the rows of that job, and serves a page about one job and a list of them all.
Within `reading_ahead` each such question is answered out of one reading of the rows of all jobs, or of those named,
so that a list of a thousand jobs costs as many queries as a list of ten. Readers of the store begin with `of_one` or
`kept` and narrow their query with `of_job`; nobody above them has to know. Whatever is written in between makes all
of it be read anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Final, Protocol, TypeVar

from sqlalchemy import ColumnElement, Connection, Select

T = TypeVar("T")

#: Where a connection keeps what was read ahead.
KEPT: Final = "bizkit_read_ahead"

#: As many jobs as one query names; of more, the rows of all jobs are read.
NAMED: Final = 10_000


@dataclass
class _Ahead:
    """answers: what was read, by the question. jobs: the only ones read for; None for all. narrow: while reading.

    partial: questions whose rows were narrowed to `jobs`; of the others all rows are here.
    """

    jobs: frozenset[str] | None
    answers: dict[Hashable, Any] = field(default_factory=dict)
    narrow: bool = False
    narrowed: bool = False
    partial: set[Hashable] = field(default_factory=set)


@contextmanager
def reading_ahead(work: Connection, jobs: Collection[str] | None = None) -> Iterator[None]:
    """Within it, what is asked of one job is read for all, or for `jobs`. One inside another is part of it."""
    if KEPT in work.info:
        yield
        return
    work.info[KEPT] = _Ahead(frozenset(jobs) if jobs is not None else None)
    try:
        yield
    finally:
        del work.info[KEPT]


def forget(work: Connection) -> None:
    """What was read before is read anew: something was written."""
    if KEPT in work.info:
        work.info[KEPT].answers.clear()


def kept(work: Connection, question: Hashable, read: Callable[[], T]) -> T:
    """What `read` gives; while reading ahead, asked once. The answer is shared: nobody changes it."""
    ahead: _Ahead | None = work.info.get(KEPT)
    if ahead is None:
        return read()
    if question not in ahead.answers:
        ahead.answers[question] = read()
    known: T = ahead.answers[question]
    return known


def of_one(
    work: Connection,
    question: Hashable,
    one: Hashable,
    read: Callable[[], Iterable[T]],
    by: Callable[[T], Hashable],
    *,
    a_job: bool = True,
) -> list[T] | None:
    """While reading ahead, the rows of `read` that belong to `one` by what `by` says; None where they must be asked
    for: otherwise, without `one`, and for what is not of the jobs read for.

    a_job: `one` is the key of a job.
    """
    ahead: _Ahead | None = work.info.get(KEPT)
    if one is None or ahead is None or (a_job and ahead.jobs is not None and one not in ahead.jobs):
        return None
    if question not in ahead.answers:
        ahead.narrow, ahead.narrowed = ahead.jobs is not None and len(ahead.jobs) <= NAMED, False
        try:
            ahead.answers[question] = _grouped(read(), by)
        finally:
            ahead.narrow = False
        if ahead.narrowed:
            ahead.partial.add(question)
    rows = ahead.answers[question].get(one)
    if rows is None and not a_job and question in ahead.partial:
        return None
    return list(rows or ())


def of_job(work: Connection, query: Select[Any], column: ColumnElement[str], job: str | None) -> Select[Any]:
    """The query narrowed to one job; without one, while reading ahead for some, to those."""
    if job is not None:
        return query.where(column == job)
    ahead: _Ahead | None = work.info.get(KEPT)
    if ahead is not None and ahead.narrow and ahead.jobs is not None:
        ahead.narrowed = True
        return query.where(column.in_(ahead.jobs))
    return query


class OfJob(Protocol):
    """A row that names its job."""

    @property
    def job(self) -> str:
        """The key of the job."""


def job_of(row: OfJob) -> str:
    """The key of the job that a row names."""
    return row.job


def _grouped(rows: Iterable[T], by: Callable[[T], Hashable]) -> dict[Hashable, list[T]]:
    groups: dict[Hashable, list[T]] = {}
    for row in rows:
        groups.setdefault(by(row), []).append(row)
    return groups
