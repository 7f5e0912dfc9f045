"""Accepting one of several options: the next revision of the quote, frozen with what was taken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from bizkit.domain.errors import RuleBroken
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.stamp import Stamp


def freeze_choice(
    work: Connection, stamp: Stamp, folder: StudioFolder, quote: IssuedQuote, options: Sequence[str], *, by: str
) -> tuple[IssuedQuote, FiledPaper]:
    """Issue the next revision of a quote with these options taken, in the caller's transaction.

    Priced from the brief and the rate card that were sent, with the tax of the day they were sent. Returns the
    revision and its paper; the caller writes the file after the commit. Raises NotFound for an unknown
    option, BadInput unless exactly one of the choices is among them.
    """
    from bizkit.services.quoting.pricing import price_again
    from bizkit.services.studio.filing import file_paper
    from bizkit.store.basis import Basis, basis_of, put_basis
    from bizkit.store.events import record
    from bizkit.store.issued import issue, latest

    basis = basis_of(work, quote.number, quote.revision)
    if basis is None:
        raise RuleBroken(
            f"{quote.number} was sent before briefs were kept with quotes: send a new revision, then accept that"
        )
    priced = price_again(folder, quote, basis.brief, basis.brief_file, basis.card, options)
    document: QuoteOnFile = {
        **priced.document,
        "valid_days": cast("int", quote.document.get("valid_days")),  # None of an older one
        "accepted": {"on": stamp.on.isoformat(), "by": by, "of_revision": quote.revision},
        "option_titles": [one["title"] for one in quote.document["options"] if one["key"] in options],
    }
    before = latest(work, kind="quote", key=quote.key)
    taken = issue(
        work,
        stamp,
        kind="quote",
        series=quote.series,
        number=quote.number,
        key=quote.key,
        document=document,
        revision=before.revision + 1 if before else 1,
    )
    put_basis(
        work,
        Basis(
            taken.number,
            taken.revision,
            taken.key,
            basis.brief_file,
            basis.brief,
            basis.card,
            tuple(document["chosen"]),
        ),
    )
    paper = file_paper(work, stamp, folder, taken.document)
    record(work, stamp, "chose", quote.key, number=taken.number, revision=taken.revision, options=document["chosen"])
    return taken, paper
