"""A quote about to be sent, worked out before the write turn: others need not wait while it is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BizkitError, RuleBroken
from bizkit.domain.quote import valid_until
from bizkit.domain.quote_changes import changed_since
from bizkit.services.quoting.bookings import clashes_of
from bizkit.services.quoting.drafts import key_of
from bizkit.services.quoting.floor import margins_of_texts
from bizkit.services.rights.clearance import sold_not_held
from bizkit.services.studio.filing import Drawn, paper_pdf
from bizkit.services.studio.numbers import draw
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.domain.pricing.floor import Floor
    from bizkit.services.quoting.floor import Margins
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.quotes import Draft


@dataclass(frozen=True, slots=True)
class Ready:
    """A draft as it would be sent on a day. margin, clashes: for the studio alone. drawn: None without a number."""

    draft: Draft
    margin: Margins | None
    clashes: list[str]
    drawn: Drawn | None


def ready_to_send(folder: StudioFolder, name: str, on: date, floor: Floor | None) -> Ready | None:
    """The draft called `name` as it stands; None without one. What forbids to send it is for the act to say."""
    from bizkit.store.issued import latest
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts

    with folder.book.read_all() as work:
        key = key_of(work, name)
        found = drafts(work, key)
        if not found:
            return None
        draft, before = found[0], latest(work, kind="quote", key=key)
        document = to_send(folder, draft, on, quote_named(work, key))
        margin, clashes = advice(folder, work, draft, document, on, floor)
        try:
            number = numbered(folder, work, before, on)[1]
        except RuleBroken:
            return Ready(draft, margin, clashes, None)
    document |= {"number": number, "revision": before.revision + 1 if before else 1, "issued_on": on.isoformat()}
    try:
        return Ready(draft, margin, clashes, Drawn(document, paper_pdf(folder, document)))
    except BizkitError:
        return Ready(draft, margin, clashes, None)


def to_send(folder: StudioFolder, draft: Draft, on: date, before: IssuedQuote | None) -> QuoteOnFile:
    """The document of a draft as it is sent on a day, but for its number, revision and day. before: the revision that
    the client has."""
    document: QuoteOnFile = {**draft.document}
    number = folder.studio.tax.number_on(on, folder.studio.country)
    document["studio"] = {**document["studio"], "tax_number": number}
    document["valid_until"] = valid_until(on, document["valid_days"]).isoformat()
    if before is not None:
        document["changed"] = changed_since(before.document, document)
    return document


def advice(
    folder: StudioFolder, work: Connection, draft: Draft, document: QuoteOnFile, on: date, floor: Floor | None
) -> tuple[Margins | None, list[str]]:
    """What the studio alone is told: the margin, and what the quote clashes with or sells that is not held."""
    margin = margins_of_texts(folder, floor, draft.brief, draft.brief_file, draft.card, document)
    return margin, clashes_of(folder, work, draft.key, on) + sold_not_held(folder, work, document, on)


def numbered(folder: StudioFolder, work: Connection, before: IssuedQuote | None, on: date) -> tuple[str, str]:
    """Series and number: those of the revision before, else the next. Raises RuleBroken as `numbers.draw`."""
    if before is not None:
        return before.series, before.number
    return draw(work, folder.studio.numbers.quote, on, practice=folder.studio.practice)
