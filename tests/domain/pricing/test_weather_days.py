"""Reading the [weather] table of a brief, and everything that can be wrong in it."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.pricing.weather_days import WeatherRequest


def read(toml: str, **card: Decimal) -> WeatherRequest:
    tree = tomllib.loads(toml, parse_float=Decimal)
    return WeatherRequest.read(tree, where="brief.toml", path="weather", **card)


def test_a_chance_is_all_that_has_to_be_said() -> None:
    request = read("chance = 0.6")
    assert (request.starts, request.window_days, request.water_days, request.dry_days) == (None, None, None, None)
    assert request.confidence == Fraction(9, 10)
    assert (request.charge, request.if_it_fails, request.hold_percent) == ("booked", "move", 50)
    first, odds = request.odds(3)
    assert first == Fraction(3, 5)
    assert [(day.after_good, day.after_bad, day.dry) for day in odds] == [(Fraction(3, 5), Fraction(3, 5), 1)] * 3


def test_the_window_counts_its_first_and_its_last_day() -> None:
    request = read("from = 2027-05-10\nto = 2027-05-16\nchance = 0.6")
    assert (request.starts, request.window_days) == (date(2027, 5, 10), 7)
    assert read("days = 9\nchance = 0.6").window_days == 9


def test_each_day_takes_the_chance_of_its_own_month() -> None:
    request = read("from = 2027-05-30\ndays = 4\nchance = {5 = 0.5, 6 = 0.75}\ndry_chance = {5 = 1, 6 = 0.9}")
    first, odds = request.odds(4)
    assert first == Fraction(1, 2)
    assert [day.after_bad for day in odds] == [Fraction(1, 2)] * 2 + [Fraction(3, 4)] * 2
    assert [day.dry for day in odds] == [1, 1, Fraction(9, 10), Fraction(9, 10)]


def test_memory_keeps_the_months_share_in_the_long_run() -> None:
    first, odds = read("chance = 0.6\nmemory = 0.5").odds(1)
    assert (odds[0].after_good, odds[0].after_bad) == (Fraction(8, 10), Fraction(3, 10))
    assert first == odds[0].long_run == Fraction(6, 10)


def test_after_good_and_after_bad_need_no_chance_but_may_repeat_it() -> None:
    assert read("after_good = 0.8\nafter_bad = 0.3").odds(2)[0] == Fraction(6, 10)
    assert read("after_good = 0.8\nafter_bad = 0.3\nchance = 0.6").odds(2)[0] == Fraction(6, 10)


def test_the_cards_hold_percentage_is_used_where_the_brief_has_none() -> None:
    assert read("chance = 0.6", hold_percent=Decimal(75)).hold_percent == 75
    assert read("chance = 0.6\nhold_percent = 40", hold_percent=Decimal(75)).hold_percent == 40


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        ("chance = 1.2", "brief.toml: weather.chance: wanted a number 0..1, got 1.2"),
        ("chance = -0.1", "brief.toml: weather.chance: wanted a number 0..1, got -0.1"),
        ("chance = {5 = 0.6, 6 = 60}", "brief.toml: weather.chance.6: wanted a number 0..1, got 60"),
        ("chance = 'often'", "brief.toml: weather.chance: wanted a number 0..1, got often"),
        ("chance = true", "brief.toml: weather.chance: wanted a number 0..1, got True"),
        (
            "chance = {13 = 0.6}",
            "brief.toml: weather.chance: wanted months as numbers 1..12, such as {5 = 0.6}, got 13",
        ),
        ("chance = {}", "brief.toml: weather.chance: wanted a chance for one month or more, got an empty table"),
        (
            "chance = 0.6000000001",
            "brief.toml: weather.chance: wanted a number 0..1 with at most nine decimals, got 0.6000000001",
        ),
        ("after_good = 0.8", "brief.toml: weather.after_bad: wanted a chance to go with after_good, got nothing"),
        (
            "after_good = 1\nafter_bad = 0",
            "brief.toml: weather.after_good: wanted weather that can change, "
            "got 1 after a good day, 0 after a rough one",
        ),
        (
            "after_good = 0.8\nafter_bad = 0.3\nchance = 0.7",
            "brief.toml: weather.chance: wanted the 0.60 that after_good and after_bad come to in the long run, "
            "got 0.70. Leave chance out",
        ),
        (
            "after_good = 0.8\nafter_bad = 0.3\nmemory = 0.5",
            "brief.toml: weather.memory: wanted memory, or after_good and after_bad, not both, got both",
        ),
        (
            "chance = 0.6\nmemory = 1",
            "brief.toml: weather.memory: wanted a number below 1, got 1. At 1 the weather would never change",
        ),
        ("chance = 0.6\nconfidence = 90", "brief.toml: weather.confidence: wanted a number 0..1, got 90"),
        ("chance = 0.6\nhold_percent = -5", "brief.toml: weather.hold_percent: wanted a number 0..100, got -5"),
        ("chance = 0.6\nwater_days = -1", "brief.toml: weather.water_days: wanted a whole number 0..100, got -1"),
        (
            "chance = 0.6\nfrom = 2027-05-10\nto = 2027-05-09",
            "brief.toml: weather.to: wanted a day on or after 2027-05-10, got 2027-05-09",
        ),
        (
            "chance = 0.6\nto = 2027-05-09",
            "brief.toml: weather.from: wanted the first day of the window to go with its last, got nothing",
        ),
        (
            "chance = 0.6\nfrom = 2027-05-10\nto = 2027-05-12\ndays = 3",
            "brief.toml: weather.days: wanted either to or days, got both",
        ),
        (
            "chance = 0.6\nfrom = 2027-05-10\nto = 2028-05-12",
            "brief.toml: weather.to: wanted a window of 366 days at most, got 369 days",
        ),
        (
            "chance = 0.6\nfrom = 9999-12-30",
            "brief.toml: weather.from: wanted a date before the year 9000, got 9999-12-30",
        ),
        ("chance = 0.6\nchanse = 1", "brief.toml: weather: wanted a known key, got chanse. Did you mean chance?"),
        (
            "chance = 0.6\nif_it_fails = 'moves'",
            "brief.toml: weather.if_it_fails: wanted one of extend, move, stop, got moves. Did you mean move?",
        ),
        (
            "chance = 0.6\nobservations = {file = 'a.csv', water = {wind_kn = {most = 15}}}",
            "brief.toml: weather.observations: wanted either observations or chances typed in, got both",
        ),
    ],
)
def test_what_cannot_be_right_is_refused_in_one_line(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read(toml)
    assert str(error.value) == line


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        (
            "dry_chance = 0.9",
            "brief.toml: weather.chance: wanted the chance of a workable water day, 0..1, got nothing. "
            "Add chance = 0.6",
        ),
        (
            "from = 2027-05-30\ndays = 4\nchance = {5 = 0.6}",
            "brief.toml: weather.chance: wanted a chance for month 6, which the window reaches, got months 5. "
            "Write what is missing into chance = { 5 = 0.6, 6 = ... }",
        ),
        (
            "days = 4\nchance = {5 = 0.6, 6 = 0.7}",
            "brief.toml: weather.chance: wanted one number, got a chance by month. "
            "Give the window as from and to dates",
        ),
        (
            "observations = {file = 'a.csv', water = {wind_kn = {most = 15}}}",
            "brief.toml: weather.observations: wanted the past days to be read before the plan is made, got none",
        ),
    ],
)
def test_a_window_whose_chances_are_not_known_is_refused(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read(toml).odds(4)
    assert str(error.value) == line


KEYS = st.sampled_from(
    [
        *("from", "to", "days", "water_days", "dry_days", "chance", "after_good", "after_bad", "memory"),
        *("dry_chance", "in_a_row", "confidence", "hold_days", "hold_percent", "charge", "if_it_fails"),
        *("cost_if_it_fails", "observations"),
    ]
)
ODD = st.one_of(
    st.integers(),
    st.decimals(),
    st.text(max_size=5),
    st.booleans(),
    st.dates(),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.sampled_from(["1", "5", "12", "x", "file", "water"]), st.decimals() | st.text(max_size=3)),
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(KEYS, ODD))
def test_no_table_whatever_gives_worse_than_bad_input(tree: dict[str, object]) -> None:
    try:
        request = WeatherRequest.read(tree, where="brief.toml", path="weather")
        request.odds(20)
    except BadInput:
        return
    assert 0 <= request.confidence <= 1
