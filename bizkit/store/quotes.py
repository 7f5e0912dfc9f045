"""Drafts of quotes, and the answers to quotes sent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import Connection, delete, insert, select

from bizkit.store.schema import answer, draft
from bizkit.store.stamp import Stamp

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import QuoteOnFile


@dataclass(frozen=True, slots=True)
class Draft:
    """A quote being written: the brief and the rate card as they stood, and the document priced from them."""

    key: str
    brief_file: str
    brief: str
    card: str
    document: QuoteOnFile
    drafted_at: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What the client said to one revision."""

    number: str
    revision: int
    answer: Literal["accepted", "declined", "cancelled"]
    on: str
    by: str
    reason: str
    data: dict[str, Any]


def put_draft(
    work: Connection, stamp: Stamp, *, key: str, brief_file: str, brief: str, card: str, document: QuoteOnFile
) -> None:
    """Keep the draft of `key`, in place of the one before."""
    drop_draft(work, key)
    work.execute(
        insert(draft).values(
            key=key,
            brief_file=brief_file,
            brief=brief,
            card=card,
            document=document,
            drafted_at=stamp.at,
            drafted_by=stamp.who,
        )
    )


def drop_draft(work: Connection, key: str) -> None:
    """Forget the draft of `key`, if any."""
    work.execute(delete(draft).where(draft.c.key == key))


def drafts(work: Connection, key: str | None = None) -> list[Draft]:
    """Every draft by key, or the one of `key`."""
    query = select(draft).order_by(draft.c.key)
    if key is not None:
        query = query.where(draft.c.key == key)
    return [
        Draft(
            row["key"],
            row["brief_file"],
            row["brief"],
            row["card"],
            row["document"],
            row["drafted_at"],
        )
        for row in work.execute(query).mappings()
    ]


def put_answer(
    work: Connection,
    stamp: Stamp,
    *,
    number: str,
    revision: int,
    answered: str,
    by: str,
    reason: str,
    data: dict[str, Any] | None = None,
) -> None:
    """Record what the client said. One answer per revision."""
    work.execute(
        insert(answer).values(
            number=number,
            revision=revision,
            answer=answered,
            on=stamp.on.isoformat(),
            by=by,
            reason=reason,
            data=data or {},
        )
    )


def drop_answer(work: Connection, number: str, revision: int) -> None:
    """Forget the answer to one revision, which was recorded by mistake; the history keeps that it was."""
    work.execute(delete(answer).where(answer.c.number == number, answer.c.revision == revision))


def answers(work: Connection, number: str | None = None) -> list[Answer]:
    """Every answer, or those to one quote, by number and revision."""
    query = select(answer).order_by(answer.c.number, answer.c.revision)
    if number is not None:
        query = query.where(answer.c.number == number)
    return [
        Answer(
            row["number"],
            row["revision"],
            row["answer"],
            row["on"],
            row["by"],
            row["reason"],
            row["data"],
        )
        for row in work.execute(query).mappings()
    ]
