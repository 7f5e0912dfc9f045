"""Clearing of works for who may use them, each by the papers of the job that made it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.rights.clearance import Clearance, Gap, Need, PaperToGet, by_owner, clear
from bizkit.domain.rights.holding import Holding, Licensee, for_client, without_erased
from bizkit.domain.rights.scope import Scope
from bizkit.services.rights.ages import coming_of_age
from bizkit.services.rights.origins import with_inside
from bizkit.services.rights.works import Work
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def clear_works(
    folder: StudioFolder,
    work: Connection,
    wanted: Scope,
    works: Sequence[Work],
    to: Licensee,
    granted_on: date,
    on: date,
) -> tuple[Clearance, list[str], list[str]]:
    """Clearance of some works for who may use them, each by the papers of the job that made it; what nobody has said
    about them; who comes of age, and who is noted as still to sign.

    granted_on: papers of somebody who was erased by that day are kept as evidence and carry nothing new.
    """
    from bizkit.services.job.jobs import last_shoot_day
    from bizkit.services.rights.holdings import held
    from bizkit.services.rights.needs import needs_of
    from bizkit.services.rights.persons import people_of
    from bizkit.store.jobs import jobs, shoot_days

    inside = with_inside(work, works)
    works = inside.works
    sources = {row.key: row for key in dict.fromkeys(one.job for one in works) for row in jobs(work, key)}
    gaps: list[Gap] = []
    papers: list[PaperToGet] = []
    warnings: list[str] = []
    questions: list[str] = []
    looks: list[str] = []
    erased = people_of(work).erased
    for key, row in sources.items():
        mine = [one for one in works if one.job == key]
        needs, asked = needs_of(folder, work, row, mine)
        last = last_shoot_day(shoot_days(work, key))
        papers_held = without_erased(for_client(held(work, [key]), to), erased, granted_on)
        found = clear(wanted, [one.id for one in mine], needs, papers_held, last_shoot_day=last)
        gaps += found.gaps
        papers += found.papers
        warnings += found.warnings
        looks += _of_age_within(wanted, mine, needs, papers_held, on)
        looks += _still_to_sign(needs, papers_held, found)
        looks += _owners_who_give_less(wanted, mine, needs, papers_held, found)
        questions += asked
    gaps = [replace(gap, works=_by_clip(gap.works, inside.came)) for gap in gaps]
    clearance = Clearance(tuple(gaps), tuple(papers), tuple(dict.fromkeys(warnings)))
    return clearance, list(dict.fromkeys(questions)), list(dict.fromkeys(looks))


def _by_clip(works: tuple[str, ...], came: Mapping[str, str]) -> tuple[str, ...]:
    """Works a gap is in; for what came with a clip, the clip."""
    return tuple(f"{came[one]} (from {one})" if one in came else one for one in works)


def _of_age_within(
    wanted: Scope, works: Sequence[Work], needs: Sequence[Need], papers: Sequence[Holding], on: date
) -> Iterator[str]:
    """Who comes of age before the licence ends, and of whom nobody can tell, among those in the works."""
    needed = {(need.kind, need.subject) for need in needs}
    for paper in papers:
        if (paper.kind, paper.subject) in needed and any(paper.is_about(one.id) for one in works):
            day = paper.of_age_on
            within = day is None or (wanted.end is not None and day <= wanted.end)
            if within and not (day and _confirmed(wanted, works, paper, papers, day)):
                yield from coming_of_age(paper, on)


def _confirmed(wanted: Scope, works: Sequence[Work], paper: Holding, papers: Sequence[Holding], of_age: date) -> bool:
    """Whether they signed themselves once they were of age, for all that is wanted from that day on."""
    shown = [one.id for one in works if paper.is_about(one.id)]
    for own in papers:
        if (own.kind, own.subject) != (paper.kind, paper.subject) or own.why_nothing or own.signed_on is None:
            continue
        left = wanted.minus(own.scope).end
        covers = left is None or left < own.signed_on
        if own.signed_on >= of_age and covers and all(map(own.is_about, shown)):
            return True
    return False


def _owners_who_give_less(
    wanted: Scope, works: Sequence[Work], needs: Sequence[Need], papers: Sequence[Holding], found: Clearance
) -> Iterator[str]:
    """Owners who signed for some of what another of them gives whole: where both own it, both are needed."""
    missing = {(gap.need.kind, gap.need.subject) for gap in found.gaps}
    for need in needs:
        about = [one for one in papers if (one.kind, one.subject) == (need.kind, need.subject)]
        about = [one for one in about if any(one.is_about(each.id) for each in works)]
        owners = by_owner(about)
        if (need.kind, need.subject) in missing or len(owners) < 2:
            continue
        for owner, boxes in owners.items():
            theirs = [one for one in about if one.owners == owner]
            if all(one.why_nothing for one in theirs):
                continue  # taken back: nobody needs it any more where others hold it
            since = wanted.from_day(_owners_since(about, theirs))
            less = since.minus_boxes(boxes)
            if less and Scope(boxes).meets(since):
                keys = ", ".join(one.key for one in theirs)
                who = " and ".join(dict.fromkeys(signer.name for one in theirs for signer in one.signers))
                yield (
                    f"{need.title} is held by somebody else's paper, and paper {keys}, signed by {who}, gives less: "
                    f"if both own it, have it signed for {less.text()} too"
                )


def _owners_since(about: Sequence[Holding], theirs: Sequence[Holding]) -> date:
    """From when on somebody may own it: the last day on which another took consent back before their own papers."""
    begins = min((one.signed_on for one in theirs if one.signed_on), default=date.min)
    starts = min((one.scope.start for one in theirs if one.scope.start), default=date.min)
    days = (one.withdrawn_on for one in about if one.withdrawn_on and one not in theirs)
    return max((day for day in days if day <= max(begins, starts)), default=date.min)


def _still_to_sign(needs: Sequence[Need], papers: Sequence[Holding], found: Clearance) -> Iterator[str]:
    """Papers noted but not signed about what others cover: of a second owner, perhaps, who must sign too."""
    missing = {(gap.need.kind, gap.need.subject) for gap in found.gaps}
    for need in needs:
        for paper in papers:
            about = (paper.kind, paper.subject)
            waits = paper.status in ("draft", "sent") and about == (need.kind, need.subject)
            if waits and about not in missing:
                yield (
                    f"{need.title} is held, and paper {paper.key} about it is noted as still to be signed: have it "
                    "signed if the other does not give it alone, else take it out with bizkit holding drop"
                )
