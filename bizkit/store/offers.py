"""Quotes by number or key, and which revisions of one stand as offers.

A revision that was issued as accepted, with the options taken, stands while its acceptance does. Where that was
recorded by mistake and taken back, the paper stays as it was issued, and the revision it was chosen from is the offer
again.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

from sqlalchemy import Connection

from bizkit.store.issued import IssuedQuote, by_number, latest, of_kind
from bizkit.store.quotes import Answer, answers
from bizkit.store.register import Entry

#: The state of a revision whose acceptance was taken back.
TAKEN_BACK: Final = "taken back"

#: Where a revision of a quote stands on a day; a draft was never sent.
QuoteState = Literal["draft", "sent", "lapsed", "replaced", "taken back", "accepted", "declined", "cancelled"]


def stands(quote: Entry, said: Iterable[Answer]) -> bool:
    """Whether a revision is an offer or an agreement, given the answers there are."""
    if not quote.accepted:
        return True
    return any((one.number, one.revision) == (quote.number, quote.revision) for one in said)


def standing(work: Connection, key: str | None = None) -> list[IssuedQuote]:
    """Every revision that stands, in the order issued, of one key or all."""
    said = answers(work)
    return [one for one in of_kind(work, "quote", key=key) if stands(one.entry, said)]


def newest_standing(work: Connection, number: str) -> int:
    """The newest revision that stands of the quote with this number."""
    found, said = by_number(work, number), answers(work, number)
    while found is not None and not stands(found.entry, said):
        found = by_number(work, number, found.revision - 1)
    assert found is not None  # a choice is always made from a revision before it
    return found.revision


def quote_named(work: Connection, name: str, revision: int | None = None) -> IssuedQuote | None:
    """The quote called by its number or key, its newest standing revision unless one is given; None without one."""
    found = by_number(work, name)
    if found is None:
        found = latest(work, kind="quote", key=name)
    if found is None or found.kind != "quote":
        return None
    return by_number(work, found.number, newest_standing(work, found.number) if revision is None else revision)
