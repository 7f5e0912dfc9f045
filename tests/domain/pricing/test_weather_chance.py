"""The exact chances against scipy, against every possible weather played one by one, and against computed values."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from bizkit.domain.pricing.weather_chance import DayOdds, Outlook, mean_days, outlook

SIXTY = Fraction(3, 5)
NINETY = Fraction(9, 10)


def steady(day: DayOdds, days: int, water: int, dry: int = 0, *, in_a_row: bool = False) -> Outlook:
    first = day.long_run
    assert first is not None
    return outlook([day] * days, first, water, dry, in_a_row=in_a_row)


# The three rows "Weather days" of the reference values: scipy.stats.nbinom and an exact programme, computed.


def test_three_days_at_sixty_percent_need_seven_days_to_be_ninety_percent_sure() -> None:
    view = steady(DayOdds.independent(SIXTY), 60, 3)
    assert view.days_for(NINETY) == 7
    assert view.chance(7) == Fraction("0.903744")
    assert view.chance(6) == Fraction("0.8208")
    assert mean_days(DayOdds.independent(SIXTY), SIXTY, 3, 0) == 5


def test_weather_that_persists_needs_ten_days_for_the_same() -> None:
    day = DayOdds(Fraction(8, 10), Fraction(3, 10))
    assert day.long_run == SIXTY
    view = steady(day, 60, 3)
    assert view.days_for(NINETY) == 10
    assert float(view.chance(10)) == pytest.approx(0.902681, abs=5e-7)


def test_three_days_in_a_row_need_eighteen_days() -> None:
    view = steady(DayOdds.independent(SIXTY), 60, 3, in_a_row=True)
    assert view.days_for(NINETY) == 18
    assert float(view.chance(18)) == pytest.approx(0.903967, abs=5e-7)
    mean = mean_days(DayOdds.independent(SIXTY), SIXTY, 3, 0, in_a_row=True)
    assert mean is not None
    assert float(mean) == pytest.approx(9.0741, abs=5e-5)


@pytest.mark.parametrize("needed", [1, 2, 5, 9])
@pytest.mark.parametrize("chance", ["0.05", "0.37", "0.6", "0.99"])
def test_independent_days_follow_the_negative_binomial_of_scipy(needed: int, chance: str) -> None:
    share = Fraction(chance)
    view = steady(DayOdds.independent(share), 60, needed)
    for days in range(needed, 61):
        assert float(view.chance(days)) == pytest.approx(nbinom.cdf(days - needed, needed, float(share)), abs=1e-12)
    mean = mean_days(DayOdds.independent(share), share, needed, 0)
    assert mean is not None
    assert float(mean) == pytest.approx(needed + nbinom.mean(needed, float(share)), rel=1e-12)


def enumerate_weather(
    odds: list[DayOdds], first: Fraction, water: int, dry: int, in_a_row: bool
) -> tuple[Fraction, Fraction, Fraction]:
    """Chance of finishing, expected idle and lost days, by playing every possible weather, one by one."""
    finished = idle = lost = Fraction(0)
    for story in product(("good", "dry", "idle"), repeat=len(odds)):
        likelihood, before = Fraction(1), ""
        for number, (kind, day) in enumerate(zip(story, odds, strict=True)):
            good = first if number == 0 else day.after_good if before == "good" else day.after_bad
            likelihood *= {"good": good, "dry": (1 - good) * day.dry, "idle": (1 - good) * (1 - day.dry)}[kind]
            before = kind
        shot_water = shot_dry = waited = wasted = 0
        for kind in story:
            if shot_water >= water and shot_dry >= dry:
                break
            if kind == "good" and shot_water < water:
                shot_water += 1
                continue
            if in_a_row and shot_water < water:
                wasted += shot_water
                shot_water = 0
            if kind != "idle" and shot_dry < dry:
                shot_dry += 1
            else:
                waited += 1
        finished += likelihood * (shot_water >= water and shot_dry >= dry)
        idle += likelihood * waited
        lost += likelihood * wasted
    return finished, idle, lost


CHANCES = st.fractions(min_value=0, max_value=1, max_denominator=12)
ODDS = st.builds(DayOdds, CHANCES, CHANCES, CHANCES)


@settings(max_examples=60, deadline=None)
@given(st.lists(ODDS, min_size=1, max_size=6), CHANCES, st.integers(0, 3), st.integers(0, 3), st.booleans())
def test_every_possible_weather_played_one_by_one_gives_the_same(
    odds: list[DayOdds], first: Fraction, water: int, dry: int, in_a_row: bool
) -> None:
    view = outlook(odds, first, water, dry, in_a_row=in_a_row)
    expected = enumerate_weather(odds, first, water, dry, in_a_row)
    days = len(odds)
    assert (view.chance(days), view.idle_days(days), view.lost_days(days)) == expected


def test_dry_scenes_on_rough_days_cost_no_extra_days() -> None:
    # Worked by hand, two days, one water and one dry: good+any or rough+good finish; 1 - 0.4 x 0.4 = 0.84.
    day = DayOdds.independent(SIXTY)
    assert steady(day, 2, 1, 1).chance(2) == Fraction("0.84")
    # Where a rough day serves nothing, both days must be good: 0.36.
    assert steady(DayOdds.independent(SIXTY, Fraction(0)), 2, 1, 1).chance(2) == Fraction("0.36")


def test_the_chance_of_each_day_may_differ_across_the_window() -> None:
    # Worked by hand: one good day of two, 0.5 then 0.8: 1 - 0.5 x 0.2 = 0.9.
    odds = [DayOdds.independent(Fraction(1, 2)), DayOdds.independent(Fraction(4, 5))]
    assert outlook(odds, Fraction(1, 2), 1, 0).chance(2) == NINETY
    assert outlook(odds, Fraction(1, 2), 1, 0).days_for(NINETY) == 2


def test_the_confidence_is_compared_exactly() -> None:
    odds = [DayOdds.independent(NINETY)]
    assert outlook(odds, NINETY, 1, 0).days_for(NINETY) == 1
    assert outlook(odds, NINETY, 1, 0).days_for(Fraction("0.9000000001")) is None


@settings(max_examples=40, deadline=None)
@given(CHANCES, CHANCES, CHANCES, st.integers(0, 4), st.integers(0, 3), st.booleans())
def test_more_days_never_hurt_and_more_work_never_helps(
    good: Fraction, bad: Fraction, dry: Fraction, water: int, scenes: int, in_a_row: bool
) -> None:
    odds = [DayOdds(good, bad, dry)] * 14
    view = outlook(odds, bad, water, scenes, in_a_row=in_a_row)
    chances = [view.chance(days) for days in range(15)]
    assert chances == sorted(chances)
    assert all(0 <= chance <= 1 for chance in chances)
    assert outlook(odds, bad, water + 1, scenes, in_a_row=in_a_row).chance(14) <= chances[-1]
    assert outlook(odds, bad, water, scenes + 1, in_a_row=in_a_row).chance(14) <= chances[-1]
    assert outlook(odds, bad, water, scenes, in_a_row=True).chance(14) <= outlook(odds, bad, water, scenes).chance(14)


@settings(max_examples=40, deadline=None)
@given(CHANCES, CHANCES, st.integers(1, 4), st.integers(0, 2))
def test_better_weather_never_hurts(chance: Fraction, other: Fraction, water: int, dry: int) -> None:
    worse, better = sorted((chance, other))
    views = [outlook([DayOdds.independent(share)] * 10, share, water, dry) for share in (worse, better)]
    assert views[0].chance(10) <= views[1].chance(10)


@settings(max_examples=40, deadline=None)
@given(ODDS, CHANCES, st.integers(0, 3), st.integers(0, 2), st.booleans())
def test_days_used_are_days_shot_and_days_waited(
    day: DayOdds, first: Fraction, water: int, dry: int, in_a_row: bool
) -> None:
    view = outlook([day] * 40, first, water, dry, in_a_row=in_a_row)
    spare = view.days_used(40) - view.idle_days(40) - view.lost_days(40)
    if view.chance(40) == 1:
        assert spare == water + dry
    else:
        assert spare <= water + dry


@pytest.mark.parametrize("in_a_row", [False, True])
@pytest.mark.parametrize(("water", "dry"), [(3, 0), (2, 2), (0, 2), (1, 3)])
@pytest.mark.parametrize("scenes", ["0", "0.7", "1"])
def test_the_mean_is_where_the_days_used_settle_in_a_long_window(
    in_a_row: bool, water: int, dry: int, scenes: str
) -> None:
    day = DayOdds(Fraction(8, 10), Fraction(4, 10), Fraction(scenes))
    first = Fraction(1, 2)
    mean = mean_days(day, first, water, dry, in_a_row=in_a_row)
    assert mean is not None
    long = outlook([day] * 200, first, water, dry, in_a_row=in_a_row)
    assert float(long.days_used(200)) == pytest.approx(float(mean), rel=1e-6)


@pytest.mark.parametrize(
    ("day", "first", "water", "dry", "in_a_row", "expected"),
    [
        (DayOdds(Fraction(1), Fraction(0)), Fraction(1), 3, 2, False, Fraction(5)),
        (DayOdds(Fraction(1, 2), Fraction(0)), Fraction(1), 2, 0, False, None),
        (DayOdds(Fraction(0), Fraction(1)), Fraction(1), 2, 0, True, None),
        (DayOdds(Fraction(0), Fraction(0)), Fraction(0), 0, 3, False, Fraction(3)),
        (DayOdds(Fraction(1, 2), Fraction(1, 2)), Fraction(1, 2), 0, 0, False, Fraction(0)),
    ],
    ids=["always good", "rough for ever", "never two in a row", "dry scenes in rough weather", "nothing to shoot"],
)
def test_the_mean_of_weather_at_its_limits(
    day: DayOdds, first: Fraction, water: int, dry: int, in_a_row: bool, expected: Fraction | None
) -> None:
    assert mean_days(day, first, water, dry, in_a_row=in_a_row) == expected
