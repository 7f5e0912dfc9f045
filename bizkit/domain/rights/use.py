"""Use: one concrete thing a client does - a medium, a country, a day - and whether a licence allows it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.rights.licence import OVER, Licence
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.plain_words import day_in_words
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import describe


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a use is allowed, and why.

    licence: the one that allows it, or the one nearest to allowing it; None when there is none of the work.
    extension: for a no, what to add to that licence, to be priced as an extension; empty when none would do.
    """

    allowed: bool
    because: str
    licence: Licence | None = None
    extension: Scope = Scope()  # noqa: RUF009 - a frozen value

    @property
    def text(self) -> str:
        """`yes, because ...` or `no, because ...`."""
        return f"{'yes' if self.allowed else 'no'}, because {self.because}"


def may(
    licences: Iterable[Licence], work: str, medium: str, country: str, on: date, tree: MediaTree = MEDIA_TREE
) -> Answer:
    """Whether any of a client's `licences` allows `medium` in `country` on that day, of `work`.

    medium: a leaf of the tree. country: an ISO 3166-1 code.
    """
    granted = [licence for licence in licences if work in licence.works]
    if not granted:
        return Answer(False, f"no licence of {work} is granted")
    for licence in granted:
        if licence.scope.allows(medium, country, on) and not licence.stopped(on):
            return Answer(True, allows(licence, [medium], [country], tree), licence)
    licence = min(granted, key=lambda licence: _distance(licence, medium, country, on))
    return Answer(
        False, why_not(licence, [medium], [country], on, tree), licence, _extension(licence, medium, country, on)
    )


def allows(licence: Licence, media: Collection[str], countries: Collection[str], tree: MediaTree = MEDIA_TREE) -> str:
    """What a licence allows of what is asked, and until when: `LC-1 allows paid social in Ireland until ...`."""
    return (
        f"{licence.key} allows {', '.join(tree.labels(media))} in {describe(frozenset(countries))} {_until(licence)}"
    )


def _until(licence: Licence) -> str:
    end = licence.scope.end
    if licence.awaits_use and licence.request.months is not None and end is not None:
        return f"until {day_in_words(end)} at the latest, as its term counts from the first use"
    return "without an end" if end in (None, OPEN_END) else f"until {day_in_words(end)}"


def _distance(licence: Licence, medium: str, country: str, on: date) -> tuple[int, int, str]:
    """How far a licence is from allowing a use: how many things are wrong, then days out of its term."""
    term = licence.term
    wrong = (medium not in licence.request.media) + (country not in licence.request.territory.codes)
    if term is None:
        return wrong + 1, 0, licence.key
    days = max((term.start - on).days, (on - term.end).days, 0)
    return wrong + (days > 0), days, licence.key


def why_not(
    licence: Licence, media: Collection[str], countries: Collection[str], on: date, tree: MediaTree = MEDIA_TREE
) -> str:
    """Why a licence does not allow media in countries on a day, all that stands against it."""
    request, term = licence.request, licence.term
    reasons = []
    if others := [one for one in media if one not in request.media]:
        reasons.append(f"it is for {', '.join(tree.labels(request.media))}, not for {', '.join(tree.labels(others))}")
    if beyond := [one for one in countries if one not in request.territory.codes]:
        reasons.append(f"it is for {request.territory.phrase}, without {describe(frozenset(beyond))}")
    state, rest = licence.state(on), licence.rest(on)
    if state == "at rest" and rest is not None:
        if not reasons:
            return f"{licence.key}: {rest.text}"
        reasons.append(rest.text)
    elif state == "waiting":
        again = licence.reopened(on)
        reasons.append(
            f"since {day_in_words(again)} the invoices are not paid in full any more"
            if again
            else "it takes effect only when the invoices are paid in full"
        )
    elif state == "cancelled" and term is None:
        reasons.append(f"{licence.ended_because} before it took effect")
    elif state in ("ended early", "cancelled"):
        why = f" ({licence.ended_because})" if licence.ended_because else ""
        reasons.append(f"it was ended after {day_in_words(licence.ended_after or on)}{why}")
    elif state == "ended":
        reasons.append(f"it ended with {day_in_words(term.end)}" if term else "it ended before it took effect")
    elif state == "coming" and term is not None:
        reasons.append(f"it begins only on {day_in_words(term.start)}")
    return f"{licence.key} does not allow it: {'; '.join(reasons)}"


def _extension(licence: Licence, medium: str, country: str, on: date) -> Scope:
    """What to add for this use to be allowed, until the licence ends, or for its length again once it has.

    Nothing while it waits for payment of money taken back, or when it ended before its time: that is for people to
    settle first. Nothing either for what it allows as soon as it rests no more.
    """
    term = licence.term
    if term is None or licence.state(on) in OVER[1:] or licence.reopened(on) is not None:
        return Scope()
    if licence.scope.allows(medium, country, on):
        return Scope()
    if on <= term.end:
        added = Term(on, term.end)
    else:
        again = licence.renewal(term.end).term(paid_on=term.end)
        added = again if again is not None and on in again else Term(term.end + ONE_DAY, on)
    return Scope.box([medium], [country], added)
