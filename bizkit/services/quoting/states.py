"""Where each revision of a quote stands: sent, lapsed, replaced, answered, taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.domain.errors import RuleBroken

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import IssuedQuote
    from bizkit.store.offers import QuoteState
    from bizkit.store.quotes import Answer
    from bizkit.store.register import Entry


def quote_row(work: Connection, number: str, revision: int, on: date, *, without: Answer | None = None) -> QuoteRow:
    """One revision as `bizkit quote list` has it; `without` an answer that is being taken back."""
    from bizkit.store.register import quotes

    (quote,) = [one for one in quotes(work, number=number) if one.revision == revision]
    said = [one for one in answers_now(work, number) if one != without]
    return row_of(quote, said, on, newest=revision)


def row_of(quote: Entry, said: list[Answer], on: date, *, newest: int) -> QuoteRow:
    """One revision with its state on the day `on`, given its answers and the newest revision that stands."""
    from bizkit.store.offers import TAKEN_BACK, stands

    state: QuoteState
    answered = [one for one in said if (one.number, one.revision) == (quote.number, quote.revision)]
    if answered:
        state = answered[0].answer
    elif not stands(quote, said):
        state = TAKEN_BACK
    elif quote.revision < newest:
        state = "replaced"
    elif on.isoformat() > quote.valid_until:
        state = "lapsed"
    else:
        state = "sent"
    return {
        "key": quote.key,
        "number": quote.number,
        "revision": quote.revision,
        "state": state,
        "client": quote.client_name,
        "title": quote.title,
        "currency": quote.currency,
        "net": quote.net.text,
        "gross": quote.gross.text,
        "issued_on": quote.issued_on,
        "valid_until": quote.valid_until,
        "answered_on": answered[0].on if answered else "",
    }


def refuse_answered(work: Connection, quote: IssuedQuote, on: date) -> QuoteRow:
    """The row of a quote that is still waiting for its answer. Raises RuleBroken for one that was given it."""
    from bizkit.store.offers import TAKEN_BACK, newest_standing

    newest = newest_standing(work, quote.number)
    row = row_of(quote.entry, answers_now(work, quote.number), on, newest=newest)
    name = f"{row['number']} revision {row['revision']}"
    if row["state"] in ("accepted", "declined", "cancelled"):
        hint = "" if row["state"] == "cancelled" else f"; if that was a mistake: bizkit quote reopen {quote.key}"
        raise RuleBroken(f"{name} was {row['state']} on {row['answered_on']} already{hint}")
    if row["state"] == TAKEN_BACK:
        raise RuleBroken(f"{name} was accepted by mistake and taken back: answer revision {newest}")
    if row["state"] == "replaced":
        raise RuleBroken(f"{name} was replaced by a newer revision: answer that one")
    return row


def answers_now(work: Connection, number: str | None = None) -> list[Answer]:
    """Answers to one quote or all; what was accepted and then called off reads as cancelled."""
    from bizkit.store.jobs import jobs
    from bizkit.store.quotes import answers
    from bizkit.store.spent import called_off_jobs

    off = {row.job: row.notice_on for row in called_off_jobs(work) if row.kind == "cancel"}
    ended = {job.quote_number: off[job.key] for job in jobs(work) if job.key in off}
    return [
        replace(one, answer="cancelled", on=ended[one.number])
        if one.answer == "accepted" and one.number in ended
        else one
        for one in answers(work, number)
    ]


class QuoteRow(TypedDict):
    """A revision of a quote in a list, or a draft, which nobody has answered; state: as in `states`."""

    key: str
    number: str
    revision: int
    state: QuoteState
    client: str
    title: str
    currency: str
    net: str
    gross: str
    issued_on: str
    valid_until: str
    answered_on: NotRequired[str]
