"""Grants against one another: sole and sector licences, and what ends soon."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.rights.grants import conflicts, conflicts_with, ending, ends, excludes, granted_scope
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory

NOW = date(2026, 7, 1)


def grant(
    key: str,
    licensee: str,
    *,
    media: str = "cinema",
    where: str = "UK",
    starts: date | None = NOW,
    months: int = 12,
    works: str = "film",
    exclusivity: str = "none",
    sector: str = "",
    business: str = "",
    paid_on: date | None = None,
    ended_after: date | None = None,
) -> Licence:
    request = LicenceRequest(
        frozenset(media.split()),
        Territory.read(where),
        months=months,
        starts=starts,
        on_full_payment=starts is None,
        exclusivity=exclusivity,
        sector=sector,
    )
    return Licence(
        key, licensee, frozenset(works.split()), request, date(2026, 6, 1), business, paid_on, ended_after=ended_after
    )


def keys(*licences: Licence, on: date = NOW) -> list[tuple[str, str]]:
    return sorted((one.first.key, one.second.key) for one in conflicts(licences, on))


def test_two_grants_without_exclusivity_never_conflict():
    assert keys(grant("L-1", "Tourism"), grant("L-2", "Ferries")) == []


def test_a_sole_grant_conflicts_with_any_other_that_meets_it():
    sole = grant("L-1", "Tourism", exclusivity="sole", where="UK and Ireland")
    other = grant("L-2", "Ferries", where="Ireland and France", starts=date(2027, 6, 30), media="cinema print")
    (found,) = conflicts([other, sole], NOW)
    assert found.text == (
        "L-2 (Ferries) against L-1 (Tourism), film: L-1 is a sole licence, "
        "both allow cinema / Ireland / 2027-06-30..2027-06-30"
    )
    assert found.scope == Scope.box({"cinema"}, {"IE"}, Term(date(2027, 6, 30), date(2027, 6, 30)))
    assert found.data()["works"] == ["film"]


@pytest.mark.parametrize(
    "other",
    [
        {"where": "France"},
        {"media": "broadcast"},
        {"starts": date(2027, 7, 1)},
        {"works": "stills"},
        {"ended_after": date(2026, 6, 30)},
    ],
)
def test_a_sole_grant_leaves_alone_what_does_not_meet_it(other):
    assert keys(grant("L-1", "Tourism", exclusivity="sole"), grant("L-2", "Ferries", **other)) == []


def test_a_client_never_conflicts_with_itself():
    assert keys(grant("L-1", "Tourism", exclusivity="sole"), grant("L-2", "Tourism", exclusivity="sole")) == []


def test_a_sector_grant_excludes_its_line_of_business_and_asks_where_it_is_unknown():
    protected = grant("L-1", "Tourism", exclusivity="sector", sector="island tourism", business="island tourism")
    rival = grant("L-2", "Isle Trips", business="Island Tourism")
    bank = grant("L-3", "Bank", business="banking")
    unknown = grant("L-4", "Somebody")
    assert keys(protected, rival, bank, unknown) == [("L-1", "L-2"), ("L-1", "L-4")]
    assert excludes(protected, unknown) == (
        "L-1 is exclusive for island tourism, and the business of Somebody is not recorded"
    )
    assert excludes(rival, protected).startswith("L-1 is exclusive for island tourism, the business of Isle Trips")


def test_a_line_of_business_written_with_a_slip_stands_against_a_sector_grant():
    protected = grant("L-1", "Tourism", exclusivity="sector", sector="tourism", business="tourism")
    assert excludes(protected, grant("L-2", "Isle Trips", business="Turism")) == (
        "L-1 is exclusive for tourism, and the business of Isle Trips is written Turism, which may be the same"
    )
    assert excludes(protected, grant("L-3", "Bank", business="banking")) == ""


def test_a_sole_grant_that_waits_for_payment_counts_as_if_paid_today():
    waiting = grant("L-1", "Tourism", exclusivity="sole", starts=None)
    assert granted_scope(waiting, NOW).end == date(2027, 6, 30)
    assert keys(waiting, grant("L-2", "Ferries")) == [("L-1", "L-2")]
    assert keys(waiting, grant("L-2", "Ferries", starts=date(2027, 7, 1))) == []


def test_what_is_over_is_not_reported():
    pair = grant("L-1", "Tourism", exclusivity="sole"), grant("L-2", "Ferries", months=3)
    assert keys(*pair, on=date(2026, 9, 30)) == [("L-1", "L-2")]
    assert keys(*pair, on=date(2026, 10, 1)) == []


def test_one_conflict_names_all_the_works_it_is_about():
    one = grant("L-1", "Tourism", exclusivity="sole", works="film stills cut")
    (found,) = conflicts([one, grant("L-2", "Ferries", works="stills film")], NOW)
    assert found.works == ("film", "stills")


def test_a_new_grant_is_checked_against_the_others_only():
    old = [grant("L-1", "Tourism", exclusivity="sole"), grant("L-2", "Ferries"), grant("L-3", "Bank", where="France")]
    new = grant("L-9", "Distillery", where="UK and France")
    assert [(one.first.key, one.second.key) for one in conflicts_with(new, old, NOW)] == [("L-1", "L-9")]


grants = st.lists(
    st.builds(
        grant,
        st.uuids().map(str),
        st.sampled_from(["A", "B", "C"]),
        media=st.sampled_from(["cinema", "cinema print_advertising", "broadcast"]),
        where=st.sampled_from(["UK", "UK and Ireland", "France"]),
        starts=st.sampled_from([None, NOW - timedelta(days=200), NOW, NOW + timedelta(days=40)]),
        months=st.sampled_from([1, 6, 12]),
        works=st.sampled_from(["film", "film stills", "stills"]),
        exclusivity=st.sampled_from(["none", "none", "sector", "sole"]),
        sector=st.just("tourism"),
        business=st.sampled_from(["", "tourism", "banking"]),
    ),
    max_size=7,
)


@given(grants)
def test_the_sweep_finds_what_comparing_every_pair_finds(licences):
    pairs = {
        frozenset({one.key, other.key})
        for one, other in combinations(licences, 2)
        if one.works & other.works
        and excludes(one, other)
        and granted_scope(one, NOW).minus(past()).meets(granted_scope(other, NOW))
    }
    assert {frozenset({one.first.key, one.second.key}) for one in conflicts(licences, NOW)} == pairs


def past() -> Scope:
    """Everything before `NOW`."""
    everything = LicenceRequest(frozenset(["cinema", "print_advertising", "broadcast"]), Territory.read("World"))
    return everything.scope(Term(date(1, 1, 1), NOW - timedelta(days=1)))


# --- ends ---


def test_grants_ending_within_90_days_soonest_first():
    licences = [
        grant("L-1", "A", months=3),  # ends 30 September
        grant("L-2", "B", months=1),  # ends 31 July
        grant("L-3", "C", months=12),
        grant("L-4", "D", starts=date(2026, 6, 1), months=1),  # ends 30 June
        grant("L-5", "E", starts=None),  # waits
        grant("L-6", "F", ended_after=date(2026, 7, 10)),
    ]
    assert [one.key for one in ending(licences, NOW, 90)] == ["L-6", "L-2"]
    assert [one.key for one in ending(licences, NOW, 91)] == ["L-6", "L-2", "L-1"]
    assert [one.key for one in ending(licences, date(2026, 6, 30), 0)] == ["L-4"]
    assert list(ends(licences))[:3] == [date(2026, 6, 30), date(2026, 7, 10), date(2026, 7, 31)]
