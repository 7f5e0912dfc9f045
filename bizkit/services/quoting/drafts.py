"""Drafts: found by key or number, thrown away, and kept from taking the place of another job's quote."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import RuleBroken
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.quotes import Draft


def refuse_other_job(document: QuoteOnFile, file: str, sent: IssuedQuote | None, draft: Draft | None) -> None:
    """Refuse a brief that has the key of another job's quote: a copied file whose key was forgotten.

    Another job is another client, or another title on other dates throughout. In place of a draft from another file
    another title is enough: nothing of it was sent that would show what it is. Raises RuleBroken.
    """
    if sent is not None:
        differs = _differences(sent.document, document)
        if "client" in differs or {"title", "dates"} <= set(differs):
            raise RuleBroken(_told(document, file, f"{sent.number} revision {sent.revision}", sent.document, differs))
    if draft is not None and _file(draft.brief_file) != _file(file):
        differs = _differences(draft.document, document)
        if differs:
            raise RuleBroken(_told(document, file, f"a draft from {draft.brief_file}", draft.document, differs))


def _differences(old: QuoteOnFile, new: QuoteOnFile) -> list[str]:
    """Which of client, title and dates are others; dates where no day is the same, or only one of them has any."""
    found = ["client"] if old["client"]["key"] != new["client"]["key"] else []
    if old["title"] != new["title"]:
        found.append("title")
    before, after = ({day["date"] for day in one["days"] if day["date"]} for one in (old, new))
    if (before or after) and not before & after:
        found.append("dates")
    return found


def _told(document: QuoteOnFile, file: str, whose: str, old: QuoteOnFile, differs: list[str]) -> str:
    key = document["job"]
    parts = {
        "client": f"for {old['client']['name']}, not {document['client']['name']}",
        "title": f"called {old['title']}, not {document['title']}",
        "dates": "on other dates",
    }
    return (
        f"{key} is the key of {whose}, {', '.join(parts[one] for one in differs)}: give {file} a key of its own, or "
        f"copy a brief with bizkit brief copy {Path(file).stem} NEW-KEY; where it is the same job all the same, say "
        "why with --as-revision REASON"
    )


def _file(name: str) -> str:
    """A brief's file by its name alone: drafts of earlier bizkits kept no folder."""
    return Path(name).name


def refuse_job(work: Connection, key: str) -> None:
    """Refuse to send the draft of a key whose quote became a job while it waited. Raises RuleBroken."""
    from bizkit.store.jobs import jobs

    if jobs(work, key):
        raise RuleBroken(
            f"{key} is a job already: what was agreed stands; throw the draft away with bizkit quote discard {key}, "
            "and give the brief a new key to quote for more work"
        )


def key_of(work: Connection, name: str) -> str:
    """The key of a quote called by its key or its number; `name` itself where no quote is called so."""
    from bizkit.store.offers import quote_named

    quote = quote_named(work, name)
    return quote.key if quote else name


def discard_draft(folder: StudioFolder, name: str, on: date, *, reason: str = "") -> Discarded:
    """Throw the draft of a key or number away; what was sent stays. Raises RuleBroken when there is none."""
    from bizkit.store.events import record
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts, drop_draft

    stamp = folder.draft_stamp(on)
    with folder.book.work() as work:
        key = key_of(work, name)
        found = drafts(work, key)
        if not found:
            known = ", ".join(one.key for one in drafts(work)) or "none"
            raise RuleBroken(f"{name}: no draft to throw away; drafts: {known}")
        sent = quote_named(work, key)
        drop_draft(work, key)
        record(work, stamp, "discarded draft", key, title=found[0].document["title"], reason=reason.strip())
    return {
        "key": key,
        "title": found[0].document["title"],
        "number": sent.number if sent else "",
        "revision": sent.revision if sent else 0,
        "reason": reason.strip(),
    }


def check_language(folder: StudioFolder, document: QuoteOnFile, again: str) -> None:
    """Refuse to send a draft in a language that no papers are in (any more). again: the command that drafts it.

    Raises RuleBroken.
    """
    from bizkit.services.studio.languages import languages

    known = languages(folder.path)
    if document["language"] not in known:
        raise RuleBroken(
            f"{document['job']} was drafted in the language {document['language']}, and there are papers in "
            f"{', '.join(sorted(known))}: put language right in studio.toml or the client's file, then draft it "
            f"again with {again}"
        )


def refuse_undrawable(folder: StudioFolder, document: QuoteOnFile) -> None:
    """Refuse a draft with letters that the quote's paper could not draw. Raises BadInput naming the field."""
    from bizkit.domain.documents.outgoing import outgoing
    from bizkit.services.studio.filing import refuse_letters

    refuse_letters(folder, outgoing(document))


class Discarded(TypedDict):
    """A draft that was thrown away."""

    key: str
    title: str
    number: str
    revision: int
    reason: str
