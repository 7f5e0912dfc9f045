"""Consent taken back, places that change hands, and children who answer once grown: day by day, by the rule's words.

UK GDPR Article 7(3): taking consent back does not affect what was done before it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.rights.clearance import Need, clear
from bizkit.domain.rights.holding import Holding, Signer
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.taken_back import as_they_stand
from bizkit.domain.rights.term import Term

FIRST, DAYS = date(2028, 1, 1), 24
#: The child in the papers below comes of age in the middle.
BORN = date(2010, 1, 13)
FILM, STILLS = "follow-the-kelp/film", "follow-the-kelp/stills"


def on(day: int) -> date:
    return FIRST + timedelta(days=day)


def wanted(first: int = 0, last: int = DAYS - 1) -> Scope:
    return Scope.box({"paid_social"}, {"GB"}, Term(on(first), on(last)))


@dataclass(frozen=True)
class Paper:
    """By whom, signed when, from when to when; back: when it was taken back, if ever. Filed in the order of a list,
    each taken back at once, unless `late`: then after all were filed."""

    by: str
    signed: int
    first: int
    last: int
    back: int | None
    late: bool

    def allows(self, day: int) -> bool:
        return self.first <= day <= self.last

    def holding(self, key: int, kind: str) -> Holding:
        child = kind == "talent_release"
        guardian = child and self.by != "Finn"
        return Holding(
            str(key), kind, "it", "Finn Sinclair" if child else "Shore sauna",
            Scope.box({"paid_social"}, {"GB"}, Term(on(self.first), on(self.last))),
            status="signed" if self.back is None else "withdrawn", signed_on=on(self.signed), minor=guardian,
            signers=(Signer(self.by, "guardian" if guardian else "self" if child else "owner"),),
            withdrawn_on=None if self.back is None else on(self.back), born_on=BORN if child else None,
        )  # fmt: skip


def filed_after(papers):
    """Whether one of `papers`, by key, came to the book after another was taken back."""

    def tell(paper, withdrawn):
        return int(paper.key) > int(withdrawn.key) and not papers[int(withdrawn.key)].late

    return tell


@st.composite
def paper(draw, people):
    by = draw(st.sampled_from(people))
    if by == "Finn":
        signed = draw(st.integers(12, DAYS - 1))
    else:
        signed = draw(st.integers(0, 11 if "Finn" in people else DAYS - 1))
    first = draw(st.integers(signed, DAYS - 1))
    last = draw(st.integers(first, DAYS + 4))
    back = draw(st.none() | st.integers(signed, DAYS))
    return Paper(by, signed, first, last, back, draw(st.booleans()))


def missing(papers, kind, scope):
    need = Need(kind, "it", "it", frozenset({FILM}))
    stand = as_they_stand([one.holding(key, kind) for key, one in enumerate(papers)], filed_after(papers))
    found = clear(scope, [FILM], [need], stand)
    return [day for day in range(DAYS) if any(gap.missing.allows("paid_social", "GB", on(day)) for gap in found.gaps)]


@given(st.lists(paper(["Morag", "Ewan", "Finn"]), max_size=5))
def test_a_person_day_by_day(papers):
    """A day is held where a paper allows it, nobody who may has taken that back by then, and who is grown and has
    answered by then allows it themselves."""

    def holds(key: int, day: int) -> bool:
        mine = papers[key]
        if not mine.allows(day) or (mine.back is not None and day >= mine.back):
            return False
        for other, one in enumerate(papers):
            if one.back is None or other == key or day < one.back:
                continue
            before = mine.signed < one.back or (mine.signed == one.back and not (key > other and not one.late))
            if before and not (mine.by == "Finn" and one.by != "Finn"):
                return False
        answered = any(one.by == "Finn" and one.signed <= day for one in papers)
        return mine.by == "Finn" or not answered

    lacks = [day for day in range(DAYS) if not any(holds(key, day) for key in range(len(papers)))]
    assert missing(papers, "talent_release", wanted()) == lacks


@given(st.lists(paper(["Hamish", "Isla", "New Owner Ltd"]), max_size=4))
def test_a_place_is_held_where_one_owner_gives_all_of_each_stretch_between_takings_back(papers):
    def days(key: int) -> set[int]:
        mine = papers[key]
        end = DAYS if mine.back is None else mine.back
        for other, one in enumerate(papers):
            if one.back is None or other == key:
                continue
            if one.by == mine.by:
                reached = mine.signed < one.back or (mine.signed == one.back and not (key > other and not one.late))
            else:
                reached = mine.signed < one.back and mine.first < one.back
            end = min(end, one.back) if reached else end
        return {day for day in range(DAYS) if mine.allows(day) and day < end}

    held = {key: days(key) for key in range(len(papers))}
    cuts = sorted({one.back for key, one in enumerate(papers) if one.back is not None and one.first < one.back})
    edges = [0, *(cut for cut in cuts if 0 < cut < DAYS), DAYS]
    for first, after in pairwise(edges):
        stretch = set(range(first, after))
        by = {one.by: set() for one in papers}
        for key, one in enumerate(papers):
            by[one.by] |= held[key]
        lacks = missing(papers, "location_permission", wanted())
        assert (not stretch & set(lacks)) == any(stretch <= theirs for theirs in by.values())


def test_a_child_grown_up_who_answers_about_one_work_leaves_the_other_as_it_was():
    guardian = Paper("Morag", 0, 0, DAYS, None, False).holding(1, "talent_release")
    own = Paper("Finn", 12, 12, 14, None, False).holding(2, "talent_release")
    own = Holding(
        own.key, own.kind, own.subject, own.name, own.scope, frozenset({FILM}), "signed", own.signed_on, own.signers,
        born_on=BORN,
    )  # fmt: skip
    need = Need("talent_release", "it", "Finn Sinclair", frozenset({FILM, STILLS}))
    (gap,) = clear(wanted(), [FILM, STILLS], [need], as_they_stand([guardian, own])).gaps
    assert (gap.works, gap.missing) == ((FILM,), wanted(15))


def test_what_was_assigned_for_a_child_stays_assigned_whatever_they_sign_once_grown():
    guardian = Paper("Morag", 0, 0, DAYS, None, False).holding(1, "talent_release")
    own = Paper("Finn", 12, 12, 14, None, False).holding(2, "talent_release")
    assigned = [replace(one, kind="crew_assignment", document="5e" * 32) for one in (guardian, own)]
    need = Need("crew_assignment", "it", "Finn Sinclair", frozenset({FILM}))
    assert clear(wanted(), [FILM], [need], as_they_stand(assigned)).cleared
