"""A licence in sentences that a client understands. English; other languages have theirs in the paper templates.

These sentences are printed on the quote, the invoice and the certificate. They are a template to be checked by a
lawyer, like every paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.territory import WORLD

if TYPE_CHECKING:
    from bizkit.domain.rights.licence import Licence
    from bizkit.domain.rights.licence_request import LicenceRequest

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def day_in_words(day: date) -> str:
    """`1 July 2027`."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def listed(names: Sequence[str], last: str = "and") -> str:
    """`a, b and c`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}"


def begins_and_ends(licence: Licence) -> tuple[str, str]:
    """When a grant begins and when it ends, for a table: days where they are known, else what they hang on.

    `("first use, by 2027-09-01", "12 months on, by 2028-08-31")`. Both empty for one over before it took effect.
    """
    term, request = licence.term, licence.request
    if term is not None and not licence.awaits_use:
        return str(term.start), "no end" if term.open else str(term.end)
    if term is None and licence.ended_after is not None:
        return "", ""
    payment = "full payment" if term is None else ""
    counted = request.starts or request.first_use_by
    begins = payment
    if request.first_use_by is not None:
        begins = f"{payment and payment + ' and '}first use, by {request.first_use_by}"
    elif request.starts is not None:
        begins = f"{payment}, from {request.starts}"
    latest = request.end_from(counted) if counted is not None else request.until
    if request.months is None or request.starts is not None:
        return begins, str(latest) if latest is not None else "no end"
    months = "1 month" if request.months == 1 else f"{request.months} months"
    return begins, f"{months} on" + (f", by {latest}" if latest is not None else "")


def licence_sentences(request: LicenceRequest, titles: Sequence[str] = (), tree: MediaTree = MEDIA_TREE) -> list[str]:
    """What the client may do, where, how long, and what is not included.

    titles: what the works are called; the keys of the request (or "all that we deliver") where left out.
    """
    works = listed(titles or request.works) if titles or request.works else "everything we deliver"
    sentences = [f"You may use {works} in these media: {listed(tree.labels(request.media))}."]
    if request.territory.codes == WORLD:
        sentences.append("You may do so everywhere in the world.")
    else:
        sentences.append(f"You may do so for audiences in: {request.territory.phrase}.")
    sentences.append(_when(request))
    if request.clips:
        total = sum(clip.seconds for clip in request.clips)
        count = f"{len(request.clips)} archive clips" if len(request.clips) > 1 else "one archive clip"
        sentences.append(f"It includes {count}, {total} seconds in all, on the same terms.")
    sentences.append(_exclusive(request))
    sentences.append(
        "You may shorten, crop and subtitle the pictures; you may not change what they say."
        if request.edits
        else "You may not edit the pictures without asking us first."
    )
    if request.affiliates:
        sentences.append(f"{listed(request.affiliates)} may use them on the same terms.")
    sentences.append(
        "You may pass this licence on whole, once, if you tell us to whom."
        if request.transfer
        else "You may not pass this licence on or let others use the pictures for their own purposes."
    )
    if request.credit:
        sentences.append(f"Where names are given, credit: {request.credit}.")
    if request.limits:
        sentences.append(f"Not for: {listed(request.limits, 'or')}.")
    sentences.append("Anything else needs a new agreement; ask us and we will name the price.")
    return sentences


def _when(request: LicenceRequest) -> str:
    paid = " This licence takes effect only when our invoices are paid in full." if request.on_full_payment else ""
    length = "without an end"
    if request.months is not None:
        length = "for one month" if request.months == 1 else f"for {request.months} months"
    if request.starts is not None:
        end = request.end_from(request.starts)
        span = f"from {day_in_words(request.starts)}"
        if end is None:
            return f"It runs {span} without an end.{paid}"
        return f"It runs {span} to {day_in_words(end)}, both days included.{paid}"
    until = f" until {day_in_words(request.until)}, that day included" if request.until else f" {length}"
    if request.first_use_by is not None:
        by = day_in_words(request.first_use_by)
        return f"It runs{until}, counted from the day you first use them, at the latest from {by}.{paid}"
    return f"It begins on the day our invoices are paid in full and runs{until}."


def _exclusive(request: LicenceRequest) -> str:
    if request.exclusivity == "sole":
        return "Nobody else gets the same use from us during that time; we may still show the work as our own."
    if request.exclusivity == "sector":
        return f"Nobody else in this line of business gets the same use from us during that time: {request.sector}."
    return "It is not exclusive: we may license the same pictures to others."
