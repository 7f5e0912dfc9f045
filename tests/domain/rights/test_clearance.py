"""Clearance: what is granted against what is held, by the project's table of check values and beyond."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import RuleBroken
from bizkit.domain.rights.clearance import Clearance, Need, clear, resting_on
from bizkit.domain.rights.holding import Holding, Signer
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory

# The table's "online" is our `owned_channels`.
ONLINE, PAID, BROADCAST = "owned_channels", "paid_social", "broadcast"
FILM = "follow-the-kelp/film"
WANTED = Scope.box({ONLINE, PAID}, {"GB", "IE"}, Term(date(2026, 7, 1), date(2027, 6, 30)))


def box(media: str, where: str, start: date, end: date = OPEN_END) -> Box:
    return Box(frozenset(media.split()), Territory.read(where).codes, Term(start, end))


def signed(kind: str, subject: str, *boxes: Box, **more: object) -> Holding:
    values = {"status": "signed", "signed_on": date(2026, 1, 1), "signers": (Signer(subject),), "document": "5e" * 32}
    key = str(more.pop("key", f"{kind}-{subject}"))
    return Holding(key, kind, subject, subject, Scope(boxes), **{**values, **more})


def check(*holdings: Holding, needs: list[Need] | None = None, works: tuple[str, ...] = (FILM,), **more) -> Clearance:
    if needs is None:
        pairs = dict.fromkeys((holding.kind, holding.subject) for holding in holdings)
        needs = [Need(kind, subject, subject, frozenset(works)) for kind, subject in pairs]
    return clear(WANTED, works, needs, holdings, **more)


# --- rows of check-values.md, "Clearance"; each difference checked with PostgreSQL's datemultirange subtraction ---


def test_talent_with_the_world_and_no_end_is_covered():
    found = check(signed("talent_release", "A", box(f"{ONLINE} {PAID} {BROADCAST}", "World", date(2026, 1, 1))))
    assert found.cleared
    assert found.papers == ()


def test_talent_who_narrows_is_missing_exactly_one_country_of_one_medium_and_all_of_the_other():
    found = check(
        signed(
            "talent_release",
            "B",
            box(ONLINE, "GB, IE", date(2026, 1, 1), date(2026, 12, 31)),
            box(ONLINE, "GB", date(2027, 1, 1)),
        )
    )
    (gap,) = found.gaps
    assert gap.missing == Scope(
        [
            box(ONLINE, "IE", date(2027, 1, 1), date(2027, 6, 30)),
            box(PAID, "GB, IE", date(2026, 7, 1), date(2027, 6, 30)),
        ]
    )
    assert gap.missing.text() == (
        "paid social / Ireland and United Kingdom / 2026-07-01..2027-06-30; "
        "own channels / Ireland / 2027-01-01..2027-06-30"
    )


def test_a_location_that_ends_a_month_early_is_missing_that_month():
    found = check(
        signed("location_permission", "cliff", box(f"{ONLINE} {PAID}", "World", date(2026, 6, 1), date(2027, 5, 31)))
    )
    assert found.gaps[0].missing.boxes == (box(f"{ONLINE} {PAID}", "GB, IE", date(2027, 6, 1), date(2027, 6, 30)),)


def test_two_boxes_that_adjoin_cover_and_a_day_between_them_is_missing():
    def two(first_end: date) -> Clearance:
        first = box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1), first_end)
        return check(signed("recording", "tune", first, box(f"{ONLINE} {PAID}", "World", date(2027, 7, 1))))

    assert two(date(2027, 6, 30)).cleared
    (gap,) = two(date(2027, 6, 29)).gaps
    assert gap.missing.boxes == (box(f"{ONLINE} {PAID}", "GB, IE", date(2027, 6, 30), date(2027, 6, 30)),)

    # The table's row with the join inside the year: ending 06-30 and starting 07-01; ending 06-29 misses 06-30.
    wanted = Scope.box({ONLINE}, {"GB"}, Term(date(2026, 1, 1), date(2026, 12, 31)))
    for last, missing in ((date(2026, 6, 30), ""), (date(2026, 6, 29), "2026-06-30..2026-06-30")):
        paper = signed(
            "recording", "tune", box(ONLINE, "GB", date(2026, 1, 1), last), box(ONLINE, "GB", date(2026, 7, 1))
        )
        need = Need("recording", "tune", "tune", frozenset({FILM}))
        found = clear(wanted, [FILM], [need], [paper])
        assert [one.term.text for gap in found.gaps for one in gap.missing.boxes] == ([missing] if missing else [])


def test_no_release_on_file_holds_nothing():
    found = check(needs=[Need("talent_release", "C", "Morag Sinclair", frozenset({FILM}))])
    (gap,) = found.gaps
    assert gap.missing == WANTED
    assert gap.why == "nothing held: no paper on file"
    assert gap.text() == (
        "talent release: Morag Sinclair (nothing held: no paper on file), missing for follow-the-kelp/film: "
        "own channels, paid social / Ireland and United Kingdom / 2026-07-01..2027-06-30"
    )


# --- each holding by itself ---


def test_holdings_are_never_pooled():
    # Each lacks what the other has: pooled they would cover, and one face would be shown against its release.
    found = check(
        signed("talent_release", "A", box(ONLINE, "World", date(2026, 1, 1))),
        signed("location_permission", "cliff", box(PAID, "World", date(2026, 1, 1))),
    )
    assert [(gap.need.subject, sorted(gap.missing.media)) for gap in found.gaps] == [
        ("A", [PAID]),
        ("cliff", [ONLINE]),
    ]


def test_composition_and_recording_are_two_papers():
    both = box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1))
    needs = [Need(kind, "tune", "Low Tide", frozenset({FILM})) for kind in ("composition", "recording")]
    found = check(signed("composition", "tune", both), needs=needs)
    assert [gap.need.kind for gap in found.gaps] == ["recording"]


def test_two_papers_of_one_person_add_up():
    found = check(
        signed("talent_release", "A", box(ONLINE, "World", date(2026, 1, 1)), key="R-1"),
        signed("talent_release", "A", box(PAID, "World", date(2026, 1, 1)), key="R-2"),
    )
    assert found.cleared


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"status": "draft", "signed_on": None}, "nothing held: not sent yet"),
        ({"status": "sent", "signed_on": None}, "nothing held: sent, not signed"),
        ({"status": "withdrawn", "withdrawn_on": date(2026, 8, 1)}, "nothing held: withdrawn on 2026-08-01"),
    ],
)
def test_only_a_signed_paper_that_stands_holds_anything(more, why):
    (gap,) = check(signed("talent_release", "A", box("all online", "World", date(2026, 1, 1)), **more)).gaps
    assert (gap.why, gap.missing) == (why, WANTED)


def test_an_assignment_needs_signed_writing():
    # CDPA 1988 s.90(3): an assignment of copyright is not effective unless in writing signed by the assignor.
    paper = box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1))
    assert check(signed("crew_assignment", "K", paper)).cleared
    (gap,) = check(signed("crew_assignment", "K", paper, document="")).gaps
    assert gap.why == "nothing held: an assignment needs signed writing on file"


def test_a_paper_limited_to_some_works_leaves_the_others_uncovered():
    paper = signed("talent_release", "A", box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1)), works=frozenset({FILM}))
    (gap,) = check(paper, works=(FILM, "follow-the-kelp/cut", "follow-the-kelp/stills")).gaps
    assert gap.works == ("follow-the-kelp/cut", "follow-the-kelp/stills")
    assert gap.missing == WANTED


def test_a_need_of_a_work_that_is_not_granted_is_not_asked_for():
    needs = [Need("talent_release", "A", "A", frozenset({"follow-the-kelp/cut"}))]
    assert check(needs=needs).cleared


# --- what closes it ---


def test_the_paper_to_get_must_allow_all_that_is_missing_for_all_works():
    narrow = signed("talent_release", "A", box(ONLINE, "World", date(2026, 1, 1)), works=frozenset({FILM}), key="R-1")
    found = check(narrow, works=(FILM, "cut"))
    assert len(found.gaps) == 2
    (paper,) = found.papers
    assert (paper.scope, paper.works, paper.holding) == (WANTED, ("cut", FILM), "")


def test_a_paper_that_is_waiting_to_be_signed_is_asked_for_before_a_new_one():
    enough = box(f"{ONLINE} {PAID}", "Europe", date(2026, 1, 1))
    open_paper = {"status": "draft", "signed_on": None, "signers": ()}
    found = check(
        signed("talent_release", "A", enough, key="R-1", **open_paper),
        signed("talent_release", "A", enough, key="R-2", **{**open_paper, "status": "sent"}),
        signed("location_permission", "cliff", box(ONLINE, "GB", date(2026, 1, 1)), key="L-1", **open_paper),
    )
    assert [paper.holding for paper in found.papers] == ["R-2", ""]
    assert found.papers[0].text() == "have R-2 signed (talent release: A)"
    assert found.papers[1].text().startswith("get a paper signed (location permission: cliff) for: own channels")


def test_one_signer_is_asked_once_for_all_they_can_sign():
    needs = [Need(kind, "tune", "Low Tide", frozenset({FILM}), "Ness Tunes") for kind in ("composition", "recording")]
    found = check(needs=[*needs, Need("talent_release", "A", "A", frozenset({FILM}))])
    assert [len(paper.needs) for paper in found.papers] == [2, 1]


holdings_of_three = st.lists(
    st.tuples(
        st.sampled_from("ABC"),
        st.sampled_from([ONLINE, PAID, f"{ONLINE} {PAID}"]),
        st.sampled_from(["GB", "IE", "GB, IE"]),
        st.sampled_from([date(2026, 1, 1), date(2026, 9, 1)]),
        st.sampled_from([date(2026, 8, 31), date(2027, 6, 30), OPEN_END]),
        st.sampled_from([frozenset(), frozenset({FILM}), frozenset({"cut"})]),
    ).filter(lambda row: row[3] <= row[4]),
    max_size=6,
)


@given(holdings_of_three)
def test_signing_the_papers_asked_for_closes_every_gap_and_none_can_be_spared(rows):
    held = [
        signed("talent_release", who, box(media, where, start, end), works=works, key=f"R-{place}")
        for place, (who, media, where, start, end, works) in enumerate(rows)
    ]
    needs = [Need("talent_release", who, who, frozenset({FILM, "cut"})) for who in "ABC"]
    found = check(*held, needs=needs, works=(FILM, "cut"))
    new = [
        signed("talent_release", paper.needs[0].subject, *paper.scope.boxes, key=f"new-{place}")
        for place, paper in enumerate(found.papers)
    ]
    assert check(*held, *new, needs=needs, works=(FILM, "cut")).cleared
    for spared in new:
        rest = [paper for paper in new if paper is not spared]
        assert not check(*held, *rest, needs=needs, works=(FILM, "cut")).cleared


# --- refusing, warning, withdrawing ---


def test_granting_over_a_gap_is_refused_unless_overridden_with_a_reason_that_is_kept():
    found = check(needs=[Need("talent_release", "C", "Morag", frozenset({FILM}))])
    with pytest.raises(
        RuleBroken, match=r"cannot grant this licence: talent release: Morag .* override with a reason"
    ):
        found.require("grant this licence")
    with pytest.raises(RuleBroken):
        found.require("grant this licence", "  ")
    record = found.require("grant this licence", "she signs on Monday")
    assert record is not None
    assert record["reason"] == "she signs on Monday"
    assert record["gaps"][0]["missing"] == WANTED.data()
    assert check().require("grant this licence") is None


def test_a_crew_assignment_signed_after_the_shoot_is_warned_about_and_still_counts():
    paper = signed("crew_assignment", "K", box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1)))
    found = check(paper, last_shoot_day=date(2025, 12, 20))
    assert found.cleared
    assert found.warnings == (
        "crew assignment: K was signed on 2026-01-01, after the last shoot day 2025-12-20: check that it reaches "
        "back to what was shot before",
    )
    assert check(paper, last_shoot_day=date(2026, 1, 1)).warnings == ()


def test_conditions_of_a_paper_are_shown():
    paper = signed("talent_release", "A", box(f"{ONLINE} {PAID}", "World", date(2026, 1, 1)), conditions=("no crop",))
    assert check(paper).warnings == ("talent release: A has a condition to keep: no crop",)


def test_withdrawn_consent_blocks_new_grants_and_lists_the_live_ones():
    request = LicenceRequest(frozenset({ONLINE}), Territory.read("GB"), months=12, starts=date(2026, 7, 1))
    film = Licence("L-1", "Skerrow Islands Tourism", frozenset({FILM}), request, date(2026, 6, 1))
    assert resting_on([film], date(2026, 8, 1)) == [film]
    assert resting_on([film], date(2026, 6, 10)) == [film]  # granted, not begun
    assert resting_on([film], date(2027, 7, 1)) == []  # over


def test_data_is_ready_for_json():
    data = check(needs=[Need("talent_release", "C", "Morag", frozenset({FILM}))]).data()
    assert data["cleared"] is False
    assert data["gaps"][0]["subject"] == "C"
    assert data["papers"][0]["needs"] == [{"kind": "talent_release", "subject": "C", "name": "Morag"}]
