"""What ends the consent of one paper by another: taken back, or answered by the child once grown up.

What was done before stays covered: UK GDPR Article 7(3). That taking back reaches every paper of the kind is the
careful reading (common practice).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from bizkit.domain.names import same_name
from bizkit.domain.rights.holding import Holding
from bizkit.domain.rights.personal_data import PERSON_KINDS

#: Kinds of paper by which somebody consents to be shown, and does not give away what they made.
CONSENTS: Final = tuple(kind for kind, (basis, _) in PERSON_KINDS.items() if basis == "consent")

#: Whether the first paper was put on file after consent was taken back on the second.
FiledAfter = Callable[[Holding, Holding], bool]


def never(_paper: Holding, _withdrawn: Holding) -> bool:
    """Where nobody knows in what order papers were filed."""
    return False


def as_they_stand(holdings: Iterable[Holding], filed_after: FiledAfter = never) -> list[Holding]:
    """The papers of one job as far as consent still stands.

    Who takes consent back on one paper, or one of two guardians, or of several owners, takes it back on all older
    ones of that kind about the same subject and works: only what was given after it holds, and on the same day what
    was filed after it. It does not reach what a grown person signed where a guardian takes back what they gave for
    the child, nor what somebody else signed on or for the days from then on: a thing or place that changed hands.

    Once of age they answer for themselves: what they sign replaces, from that day on, what a guardian gave for them.
    """
    every = list(holdings)
    back = [one for one in every if one.withdrawn_on is not None]
    return answered([_overtaken(one, back, filed_after) for one in every])


def answered(papers: Sequence[Holding], *, same_works: bool = False) -> list[Holding]:
    """The papers, those signed for a child ending where the grown child signed about all the same works.

    Of consents only: what was assigned for a child stays assigned. same_works: all of them count for the works in
    question, whatever else they are about.
    """
    own = sorted(
        (one for one in papers if _signed_grown(one) and one.kind in CONSENTS),
        key=lambda one: one.signed_on or date.max,
    )
    return [_answered(one, own, same_works) if own and one.young else one for one in papers]


def _signed_grown(paper: Holding) -> bool:
    """Whether somebody of age signed, or had signed, about themselves."""
    signed = paper.signed_on is not None and not paper.fault
    return paper.kind in PERSON_KINDS and signed and not paper.young


def _answered(paper: Holding, own: Sequence[Holding], same_works: bool) -> Holding:
    for one in own:
        same = (one.kind, one.subject) == (paper.kind, paper.subject)
        whole = same_works or not one.works or (bool(paper.works) and paper.works <= one.works)
        later = one.signed_on is not None and paper.signed_on is not None and one.signed_on >= paper.signed_on
        if same and whole and later and one.signed_on is not None:
            why = f"of age since, they answered for themselves on {one.signed_on}, on paper {one.key}"
            return _ending(paper, one.signed_on, one.key, why)
    return paper


def _overtaken(paper: Holding, back: Sequence[Holding], filed_after: FiledAfter) -> Holding:
    for one in sorted(back, key=lambda one: one.withdrawn_on or date.min):
        if one.withdrawn_on is not None and _reaches(one, paper, filed_after):
            said, on = f"{one.withdrawn_on}, on paper {one.key}", one.withdrawn_on
            if paper.owners.isdisjoint(one.owners):
                who = " and ".join(signer.name for signer in one.signers)
                return _ending(paper, on, one.key, f"{who} took consent back on {said}, and nobody gave it since")
            return _ending(paper, on, one.key, f"consent was taken back on {said}, and not given since")
    return paper


def _ending(paper: Holding, on: date, by: str, why: str) -> Holding:
    """The paper ending before a day, unless it ends before an earlier one already."""
    if paper.overtaken_on is not None and paper.overtaken_on <= on:
        return paper
    return replace(paper, overtaken_on=on, overtaken_by=by, overtaken_why=why)


def _reaches(withdrawn: Holding, paper: Holding, filed_after: FiledAfter) -> bool:
    """Whether taking consent back on one paper takes it back on another too."""
    day, signed = withdrawn.withdrawn_on, paper.signed_on
    if withdrawn.key == paper.key or day is None or signed is None or signed > day:
        return False
    same = (withdrawn.kind, withdrawn.subject) == (paper.kind, paper.subject)
    shares = not withdrawn.works or not paper.works or not withdrawn.works.isdisjoint(paper.works)
    if not (same and shares):
        return False
    if paper.kind in PERSON_KINDS:
        if withdrawn.young and _signed_grown(paper):
            return False
    elif _others(withdrawn, paper):
        begins = paper.scope.start
        if signed == day or (begins is not None and begins >= day):
            return False
    return signed < day or not filed_after(paper, withdrawn)


def _others(withdrawn: Holding, paper: Holding) -> bool:
    """Whether nobody signed both."""
    first, second = ({same_name(signer.name) for signer in one.signers} for one in (withdrawn, paper))
    return first.isdisjoint(second)
