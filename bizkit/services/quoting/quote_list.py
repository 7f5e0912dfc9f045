"""Quotes looked up: every draft and revision with its state, and the one of a name."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.services.quoting.states import answers_now, row_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.quoting.states import QuoteRow
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.quotes import Answer


def open_offers(work: Connection, on: date) -> list[QuoteRow]:
    """The quotes that wait for an answer, lapsed ones too, each by its newest revision."""
    from bizkit.store.register import quotes

    newest = {quote.number: quote for quote in quotes(work, waiting_only=True)}
    in_order = sorted(newest.values(), key=lambda quote: quote.position)
    return [row_of(quote, [], on, newest=quote.revision) for quote in in_order]


def list_quotes(folder: StudioFolder, on: date) -> list[QuoteRow]:
    """Every draft and every revision sent, with its state as of `on`."""
    from bizkit.store.offers import stands
    from bizkit.store.quotes import drafts
    from bizkit.store.register import quotes

    with folder.book.read() as work:
        waiting = drafts(work)
        sent = quotes(work)
        said: dict[str, list[Answer]] = {}
        for one in answers_now(work):
            said.setdefault(one.number, []).append(one)
    newest = {quote.number: quote.revision for quote in sent}
    offered = {quote.number: quote.revision for quote in sent if stands(quote, said.get(quote.number, ()))}
    number_of = {quote.key: quote.number for quote in sent}
    rows = [row_of(quote, said.get(quote.number, []), on, newest=offered[quote.number]) for quote in sent]
    rows += [
        {
            "key": draft.key,
            "number": number_of.get(draft.key, ""),
            "revision": newest.get(number_of.get(draft.key, ""), 0) + 1,
            "state": "draft",
            "client": draft.document["client"]["name"],
            "title": draft.document["title"],
            "currency": draft.document["currency"],
            "net": draft.document["net"],
            "gross": draft.document["gross"],
            "issued_on": "",
            "valid_until": "",
        }
        for draft in waiting
    ]
    return rows


def find_quote(work: Connection, name: str, revision: int | None = None) -> IssuedQuote:
    """The quote called by its number or its key; its newest revision unless one is given. Raises NotFound."""
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts
    from bizkit.store.register import quotes

    found = quote_named(work, name, revision)
    if found is None:
        if drafts(work, name):
            raise RuleBroken(f"{name} is a draft: send it first with bizkit quote send {name}")
        known = {name for one in quotes(work) for name in (one.number, one.key)}
        raise NotFound("quote (number or key)", name, known)
    return found
