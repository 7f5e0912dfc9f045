"""A wider or another licence of works that exist: what it adds and what it costs.

`rights use` asks here what a use costs that is not allowed yet, `rights offer` drafts it: both by the same request,
so that a price that was told and the draft of it are one.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import BadInput, BizkitError, RuleBroken
from bizkit.domain.money import total
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory, describe
from bizkit.services.rights.licence_terms import typed_request
from bizkit.services.rights.works import Work, charged
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import Line, LineData


@dataclass(frozen=True, slots=True)
class Extension:
    """What a client would be licensed. request: as it stands on the quote. added: what they do not hold of all the
    works yet. lines: what that costs, before tax."""

    request: LicenceRequest
    added: Scope
    lines: tuple[Line, ...]


def extension_of(
    folder: StudioFolder, asked: LicenceRequest, works: Sequence[Work], grants: Sequence[Licence], on: date
) -> Extension:
    """What `asked` comes to for a client who holds `grants`: the price of the wider less the price of the held.

    Where they hold a licence of all `works`, it goes on in all that is not asked for. Raises BadInput for a term that
    is over or what the card does not sell, RuleBroken when they hold all of it already.
    """
    from bizkit.domain.pricing.usage_fee import extension_lines, usage_lines

    rates = folder.card.usage
    if rates is None:
        raise BadInput(wanted="prices of licences", got="none", field="usage", where=folder.card.where)
    ids = {one.id for one in works}
    holding = [one for one in grants if ids <= one.works and one.scope]
    request = _going_on(holding[-1].request, asked) if holding else asked
    term = request.widest_term(on)
    if term is None:
        raise BadInput(wanted="a term that is not over", got=request.until, field="--until")
    held = Scope(box for one in holding for box in one.scope.boxes)
    added = request.scope(term).minus(held)
    clips = tuple(clip for one in grants for clip in one.request.clips if ids & one.works)
    if holding:
        nearest = max(holding, key=lambda one: one.granted_on)
        before = replace(nearest.request, works=(), clips=clips, buy_out=any(one.request.buy_out for one in holding))
        exclusivity = request.exclusivity
        lines = extension_lines(rates, held, added, before, charged(works), exclusivity=exclusivity)
        if not added and not lines:
            raise RuleBroken("the client holds all of that already")
    else:
        lines = usage_lines(rates, replace(request, works=(), clips=clips), charged(works))
    if not lines:
        raise RuleBroken("the rate card asks nothing more for it")
    return Extension(request, added, tuple(lines))


def price_of(
    folder: StudioFolder, job: str, boxes: Sequence[Box], works: Sequence[Work], grants: Sequence[Licence], on: date,
    *, all_works: bool,
) -> ExtensionOffered:  # fmt: skip
    """What a client is to add to do what `boxes` say with `works`, its price, and the one command that drafts it.

    It is one box that holds all of them, as a quote licenses one. all_works: whether these are all that the command
    would take. `why_not` says why the card names no price.
    """
    tree = folder.studio.media
    start, end = min(box.term.start for box in boxes), max(box.term.end for box in boxes)
    box = Box(
        frozenset().union(*(one.media for one in boxes)),
        frozenset().union(*(one.countries for one in boxes)),
        Term(start, end),
    )
    named = [] if all_works else [one.key if one.job == job else one.id for one in works]
    options = _options(box, tree)
    added = Scope([box])
    currency = ""
    try:
        currency = folder.card.currency  # of today: a card that cannot be read stops no answer about rights
        asked = typed_request(
            media=options["--media"], where=options["--where"], starts=start.isoformat(),
            until="" if box.term.open else end.isoformat(), open_end=box.term.open, tree=tree,
        )  # fmt: skip
        found = extension_of(folder, asked, works, grants, on)
    except BizkitError as error:
        return {
            "currency": currency, "net": "", "lines": [], "offer": "", "text": added.text(tree),
            "scope": added.data(), "why_not": str(error),
        }  # fmt: skip
    words = ["bizkit", "rights", "offer", job]
    for option, values in ({**options, "--work": named}).items():
        words += [word for value in values for word in (option, value)]
    words += ["--from", start.isoformat()]
    words += ["--open-end"] if box.term.open else ["--until", end.isoformat()]
    net = total((line.amount for line in found.lines), folder.card.currency)
    return {
        "currency": currency,
        "text": found.added.text(tree),
        "scope": found.added.data(),
        "net": net.text,
        "lines": [line.data() for line in found.lines],
        "why_not": "",
        "offer": shlex.join(words),
    }


def _options(box: Box, tree: MediaTree) -> dict[str, list[str]]:
    """The media and countries of a box as they are typed, as short as they can be read back."""
    phrase = describe(box.countries)
    try:
        readable = Territory.read(phrase).codes == box.countries
    except BadInput:
        readable = False
    return {"--media": tree.whole(box.media), "--where": [phrase] if readable else sorted(box.countries)}


def _going_on(held: LicenceRequest, asked: LicenceRequest) -> LicenceRequest:
    """What is asked for, in all else as the licence held."""
    exclusive = asked if asked.exclusivity != "none" else held
    return replace(
        held,
        media=asked.media,
        territory=asked.territory,
        months=asked.months,
        until=asked.until,
        starts=asked.starts,
        first_use_by=asked.first_use_by,
        on_full_payment=asked.on_full_payment,
        works=(),
        clips=(),
        buy_out=False,
        exclusivity=exclusive.exclusivity,
        sector=exclusive.sector,
    )


class ExtensionOffered(TypedDict):
    """What to add to a licence, net by today's card. why_not: why it has no price; offer: the command that drafts."""

    currency: str
    net: str
    lines: list[LineData]
    offer: str
    text: str
    scope: list[dict[str, Any]]
    why_not: str
