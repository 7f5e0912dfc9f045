"""Deliverables, their versions and their review rounds: rows in and out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from sqlalchemy import Connection, insert, select, update

from bizkit.store.ahead import job_of, of_job, of_one
from bizkit.store.rows import row_of, rows
from bizkit.store.schema import deliverable, review_round, version

Row = dict[str, Any]
Sent = TypeVar("Sent", "Version", "ReviewRound")


@row_of(version)
@dataclass(frozen=True, slots=True)
class Version:
    """A version of a deliverable as it was sent. bytes, sha256: of its file; None and empty without one."""

    job: str
    deliverable: str
    number: int
    sent_on: str
    sent_to: str
    file: str
    bytes: int | None
    sha256: str
    note: str
    data: dict[str, Any]

    @property
    def contents(self) -> dict[str, str]:
        """Name -> SHA-256 of every file of it, captions included; names of a folder's files by slashes."""
        inside: dict[str, str] = self.data.get("files") or {self.file: self.sha256}
        return {**inside, **self.data.get("captions", {})}


@row_of(review_round)
@dataclass(frozen=True, slots=True)
class ReviewRound:
    """One set of client notes on a version."""

    job: str
    deliverable: str
    number: int
    version: int
    received_on: str
    notes: str
    data: dict[str, Any]


@row_of(deliverable)
@dataclass(frozen=True, slots=True)
class Deliverable:
    """What a job is to deliver, with the versions sent and the rounds of notes, by number.

    due_days: after the event that the quote names; None where a day was named. approved_on: empty until one version
    is. data: its spec, and which version is `final`.
    """

    job: str
    key: str
    position: int
    title: str
    kind: str
    quantity: int
    spec: str
    rounds: int
    due_days: int | None
    due_on: str
    approved_on: str
    data: dict[str, Any]
    versions: tuple[Version, ...] = ()
    review_rounds: tuple[ReviewRound, ...] = ()


def add_deliverable(work: Connection, row: Row) -> None:
    """Write one deliverable."""
    work.execute(insert(deliverable).values(row))


def deliverables(work: Connection, job: str | None = None) -> list[Deliverable]:
    """Deliverables in order, of one job or all, each with its `versions` and `review_rounds`."""
    found = of_one(work, "deliverables", job, lambda: deliverables(work), job_of)
    if found is not None:
        return found
    query = select(deliverable).order_by(deliverable.c.job, deliverable.c.position)
    sent = select(version).order_by(version.c.number)
    rounds = select(review_round).order_by(review_round.c.number)
    query = of_job(work, query, deliverable.c.job, job)
    sent = of_job(work, sent, version.c.job, job)
    rounds = of_job(work, rounds, review_round.c.job, job)
    versions_of, rounds_of = (
        _by_deliverable(rows(work, sent, Version)),
        _by_deliverable(rows(work, rounds, ReviewRound)),
    )
    return [
        replace(
            one,
            versions=tuple(versions_of.get((one.job, one.key), ())),
            review_rounds=tuple(rounds_of.get((one.job, one.key), ())),
        )
        for one in rows(work, query, Deliverable)
    ]


def add_version(work: Connection, row: Mapping[str, object]) -> None:
    """Write one version sent."""
    work.execute(insert(version).values(row))


def add_round(work: Connection, row: Mapping[str, object]) -> None:
    """Write one round of client notes."""
    work.execute(insert(review_round).values(row))


def approve(work: Connection, job: str, key: str, on: str, number: int) -> None:
    """Mark a version of a deliverable as approved: it is the final one."""
    here = (deliverable.c.job == job, deliverable.c.key == key)
    data = work.execute(select(deliverable.c.data).where(*here)).scalar_one()
    changed = {"approved_on": on, "data": {**data, "final": number}}
    work.execute(update(deliverable).where(*here).values(changed))


def take_back_approval(work: Connection, job: str, key: str) -> None:
    """No version of a deliverable is the final one any more."""
    here = (deliverable.c.job == job, deliverable.c.key == key)
    data = work.execute(select(deliverable.c.data).where(*here)).scalar_one()
    data.pop("final", None)
    work.execute(update(deliverable).where(*here).values(approved_on="", data=data))


def _by_deliverable(found: list[Sent]) -> dict[tuple[str, str], list[Sent]]:
    groups: dict[tuple[str, str], list[Sent]] = {}
    for one in found:
        groups.setdefault((one.job, one.deliverable), []).append(one)
    return groups
