"""Clearance: whether every paper that a work depends on covers what is granted; where not, exactly what is missing.

What is granted is compared with what is held about EACH subject by itself: a face needs its release whatever the
place allows. Papers about one subject of one kind add up; papers about two never do. No paper on file holds nothing.
In time only those of one owner add up: a place is not free for a year because one of two who own it gave the first
half and the other the second (common practice: each owner's leave is needed for the whole of a use). Where consent
was taken back, the days before and the days from then on are looked at each by itself: what was done before stays
covered by who gave it then, and a place may have changed hands.

These are the papers that must cover the LICENCE. Those that must cover the shoot are in `shoot_papers`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import RuleBroken
from bizkit.domain.plain_text import some
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding
from bizkit.domain.rights.licence import OVER, Licence
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.taken_back import answered


@dataclass(frozen=True, slots=True)
class Need:
    """What a work cannot be used without: somebody in it, a place, a tune, somebody who shot it.

    kind: the kind of paper, of `HOLDING_KINDS`. subject: as in `Holding`. name: what to call it. works: ids of the
    works that show or use it. signer: who would sign, where one person signs for several subjects; else empty.
    """

    kind: str
    subject: str
    name: str
    works: frozenset[str]
    signer: str = ""

    @property
    def title(self) -> str:
        """`talent release: Morag Sinclair`."""
        return f"{HOLDING_KINDS[self.kind]}: {self.name}"


@dataclass(frozen=True, slots=True)
class Gap:
    """What is granted of `works` and not held for one need. holdings: keys of the papers looked at."""

    need: Need
    works: tuple[str, ...]
    missing: Scope
    why: str
    holdings: tuple[str, ...]

    def text(self, tree: MediaTree = MEDIA_TREE) -> str:
        """One line: which paper, why, and each missing part."""
        return f"{self.need.title} ({self.why}), missing for {some(self.works)}: {self.missing.text(tree)}"

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "kind": self.need.kind,
            "subject": self.need.subject,
            "name": self.need.name,
            "works": list(self.works),
            "missing": self.missing.data(),
            "why": self.why,
            "holdings": list(self.holdings),
        }


@dataclass(frozen=True, slots=True)
class PaperToGet:
    """One paper whose signature closes gaps. holding: key of the one to have signed; empty for a new paper.

    needs: what it must be about; one person may sign for several. scope: what it must allow at least.
    """

    needs: tuple[Need, ...]
    scope: Scope
    works: tuple[str, ...]
    holding: str = ""

    def text(self, tree: MediaTree = MEDIA_TREE) -> str:
        """One line: what to do."""
        about = ", ".join(need.title for need in self.needs)
        if self.holding:
            return f"have {self.holding} signed ({about})"
        return f"get a paper signed ({about}) for: {self.scope.text(tree)}"

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "needs": [{"kind": need.kind, "subject": need.subject, "name": need.name} for need in self.needs],
            "scope": self.scope.data(),
            "works": list(self.works),
            "holding": self.holding,
        }


@dataclass(frozen=True, slots=True)
class Clearance:
    """The answer: gaps (none: cleared), the shortest list of papers that closes them, and what to look at besides."""

    gaps: tuple[Gap, ...]
    papers: tuple[PaperToGet, ...]
    warnings: tuple[str, ...] = ()

    @property
    def cleared(self) -> bool:
        """Whether everything granted is held."""
        return not self.gaps

    def require(self, doing: str, override: str = "") -> dict[str, Any] | None:
        """Refuse `doing` ("grant this licence") while there is a gap, unless a reason to override is given.

        Returns None when cleared, else what to record for ever: the reason and the gaps. Raises RuleBroken.
        """
        if self.cleared:
            return None
        if not override.strip():
            more = f" and {len(self.gaps) - 1} more" if len(self.gaps) > 1 else ""
            raise RuleBroken(
                f"cannot {doing}: {self.gaps[0].text()}{more}. Get the papers, or override with a reason"
            )
        return {"doing": doing, "reason": override.strip(), "gaps": [gap.data() for gap in self.gaps]}

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "cleared": self.cleared,
            "gaps": [gap.data() for gap in self.gaps],
            "papers": [paper.data() for paper in self.papers],
            "warnings": list(self.warnings),
        }


def clear(
    wanted: Scope,
    works: Iterable[str],
    needs: Iterable[Need],
    holdings: Iterable[Holding],
    *,
    last_shoot_day: date | None = None,
) -> Clearance:
    """Compare what is granted of `works` with what is held for each need of theirs.

    last_shoot_day: to warn of crew assignments signed after it.
    """
    granted = frozenset(works)
    about: dict[tuple[str, str], list[Holding]] = defaultdict(list)
    for holding in holdings:
        about[holding.kind, holding.subject].append(holding)
    gaps: list[Gap] = []
    warnings: list[str] = []
    for need in needs:
        papers = about[need.kind, need.subject]
        concerned = need.works & granted
        if not concerned:
            continue
        gaps += _gaps(wanted, need, concerned, papers)
        warnings += _warnings(papers, concerned, last_shoot_day)
    return Clearance(tuple(gaps), tuple(_papers(gaps, about)), tuple(dict.fromkeys(warnings)))


def _gaps(wanted: Scope, need: Need, concerned: frozenset[str], papers: Sequence[Holding]) -> Iterable[Gap]:
    """Works that the same papers count for are looked at once."""
    together: dict[tuple[int, ...], list[str]] = defaultdict(list)
    if any(holding.works for holding in papers):
        for work in sorted(concerned):
            together[tuple(place for place, holding in enumerate(papers) if holding.is_about(work))].append(work)
    else:
        together[tuple(range(len(papers)))] = sorted(concerned)
    for places, works in together.items():
        counting = answered([papers[place] for place in places], same_works=True)
        owners = by_owner(counting)
        missing = Scope(box for part in stretches(wanted, counting) for box in _missing(part, owners).boxes)
        if missing:
            keys = tuple(holding.key for holding in counting)
            yield Gap(need, tuple(works), missing, _why(counting, wanted), keys)


def stretches(wanted: Scope, papers: Iterable[Holding]) -> list[Scope]:
    """What is wanted, parted at each day on which consent was taken back on a paper that held."""
    found, rest = [], wanted
    for day in sorted({paper.withdrawn_on for paper in papers if paper.withdrawn_on is not None and paper.held}):
        found.append(rest.ending_by(day - ONE_DAY))
        rest = rest.from_day(day)
    return [part for part in (*found, rest) if part]


def by_owner(papers: Iterable[Holding]) -> dict[frozenset[str], list[Box]]:
    """What each owner's papers hold, of those that hold anything."""
    found: dict[frozenset[str], list[Box]] = defaultdict(list)
    for paper in papers:
        if boxes := paper.held.boxes:
            found[paper.owners] += boxes
    return dict(found)


def _missing(wanted: Scope, held: Mapping[frozenset[str], Sequence[Box]]) -> Scope:
    """What no owner gives for the whole time: by the papers of the one who gives most of it."""
    left = wanted
    for boxes in held.values():
        missing = left.minus_boxes(boxes)
        left = Scope(
            Box(box.media & part.media, box.countries & part.countries, box.term)
            for box in left.boxes
            for part in missing.boxes
            if box.term.meet(part.term)
        )
    return min((left.minus_boxes(boxes) for boxes in held.values()), key=_size, default=left)


def _size(scope: Scope) -> int:
    return sum(
        len(box.media) * len(box.countries) * ((box.term.end - box.term.start).days + 1) for box in scope.boxes
    )


def _why(papers: Sequence[Holding], wanted: Scope) -> str:
    if not papers:
        return "nothing held: no paper on file"
    if not wanted.minus_boxes(box for holding in papers for box in holding.held.boxes):
        return "given by several owners one after the other, and by none of them for the whole time"
    reasons = list(dict.fromkeys(holding.why_nothing for holding in papers if holding.why_nothing))
    if all(holding.why_nothing for holding in papers):
        until_then = any(holding.held.meets(wanted) for holding in papers)
        return f"{'held no longer' if until_then else 'nothing held'}: {', '.join(reasons)}"
    return "does not reach far enough"


def _papers(gaps: Sequence[Gap], about: dict[tuple[str, str], list[Holding]]) -> Iterable[PaperToGet]:
    """One paper for each person to ask; a draft or sent one rather than a new one, where it would do.

    No shorter list exists: gaps of two people need two signatures.
    """
    by_signer: dict[tuple[str, str], list[Gap]] = defaultdict(list)
    for gap in gaps:
        need = gap.need
        by_signer[("", need.signer) if need.signer else (need.kind, need.subject)].append(gap)
    for group in by_signer.values():
        needs = tuple(dict.fromkeys(gap.need for gap in group))
        missing = Scope(box for gap in group for box in gap.missing.boxes)
        works = tuple(sorted({work for gap in group for work in gap.works}))
        waiting = [
            holding
            for holding in about[needs[0].kind, needs[0].subject]
            if len(needs) == 1 and holding.status in {"draft", "sent"}
            if holding.scope.covers(missing) and all(holding.is_about(work) for work in works)
        ]
        waiting.sort(key=lambda holding: holding.status != "sent")
        yield PaperToGet(needs, missing, works, waiting[0].key if waiting else "")


def _warnings(papers: Sequence[Holding], concerned: frozenset[str], last_shoot_day: date | None) -> Iterable[str]:
    for holding in papers:
        if holding.why_nothing or not any(holding.is_about(work) for work in concerned):
            continue
        late = last_shoot_day is not None and holding.signed_on is not None and holding.signed_on > last_shoot_day
        if holding.kind == "crew_assignment" and late:
            yield (
                f"{holding.title} was signed on {holding.signed_on}, after the last shoot day {last_shoot_day}: "
                "check that it reaches back to what was shot before"
            )
        for condition in holding.conditions:
            yield f"{holding.title} has a condition to keep: {condition}"
        for condition in holding.client_conditions:
            yield f"{holding.title} has a condition that the client keeps to as well: {condition}"


def resting_on(licences: Iterable[Licence], on: date) -> list[Licence]:
    """Those not yet over, among the grants of works that a paper is needed for: for a person to decide about.

    Withdrawn consent refuses new grants by itself (`Holding.held` ends before it); what is live is not ended by us.
    """
    return [licence for licence in licences if licence.state(on) not in OVER]
