"""Chances from past days, against numpy and against counts made by hand."""

from __future__ import annotations

import csv
import io
import random
import tomllib
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.pricing.weather_days import WeatherRequest
from bizkit.domain.pricing.weather_observations import ObservationRules, observe

RULES = """
file = "skerrow.csv"
water = {wind_kn = {most = 15}, wave_m = {most = 0.8}, visibility_m = {least = 4}}
dry = {wind_kn = {most = 25}}
"""


def rules(toml: str = RULES) -> ObservationRules:
    return read_input(ObservationRules, tomllib.loads(toml, parse_float=Decimal), where="card.toml", path="past")


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def daily(first: date, winds: list[str]) -> list[dict[str, str]]:
    days = (first + timedelta(days=number) for number in range(len(winds)))
    calm = {"wave_m": "0.3", "visibility_m": "8"}
    return [{"date": day.isoformat(), "wind_kn": wind, **calm} for day, wind in zip(days, winds, strict=True)]


def test_a_day_counts_as_workable_only_inside_every_limit_ends_included() -> None:
    text = """date,wind_kn,wave_m,visibility_m
2026-05-01,15,0.8,4
2026-05-02,15.1,0.2,9
2026-05-03,3,0.81,9
2026-05-04,3,0.2,3.9
"""
    past = observe(rows(text), rules(RULES + "least_days = 4"))
    assert past.chance == {5: Decimal("0.2500")}
    assert past.dry == {5: Decimal("1.0000")}
    assert past.days == {5: 4}
    assert past.pairs == 3


def test_months_are_counted_by_hand() -> None:
    # May: 24 of 31 good. June: 15 of 30 good; of the 15 rough June days, 9 stay under 25 knots.
    may = daily(date(2026, 5, 1), ["10"] * 24 + ["20"] * 7)
    june = daily(date(2026, 6, 1), ["20"] * 9 + ["30"] * 6 + ["10"] * 15)
    past = observe(may + june, rules())
    assert past.chance == {5: Decimal("0.7742"), 6: Decimal("0.5000")}
    # May has seven rough days only, fewer than ten: it takes the share of all rough days, (7 + 9) / 22.
    assert past.dry == {5: Decimal("0.7273"), 6: Decimal("0.6000")}


def test_memory_agrees_with_the_lag_one_correlation_of_numpy() -> None:
    # One month of many years, laid end to end as January of a run of days would be: 31 days a year, 40 years.
    source = random.Random(3)
    good, winds, all_rows, series = True, [], [], []
    for year in range(1980, 2020):
        winds = []
        for _ in range(31):
            good = source.random() < (0.8 if good else 0.3)
            winds.append("10" if good else "20")
        all_rows += daily(date(year, 1, 1), winds)
        series.append([wind == "10" for wind in winds])
    past = observe(all_rows, rules())
    values = numpy.array(series, dtype=float)
    expected = numpy.corrcoef(values[:, :-1].ravel(), values[:, 1:].ravel())[0, 1]
    assert float(past.memory) == pytest.approx(expected, abs=0.01)
    assert float(past.chance[1]) == pytest.approx(values.mean(), abs=5e-5)
    assert past.pairs == 40 * 30


def test_a_season_is_not_taken_for_memory() -> None:
    # Every other July day is good, every fourth January day: no day helps the next one.
    july = daily(date(2026, 7, 1), ["10", "20"] * 15)
    january = daily(date(2026, 1, 1), ["10", "20", "20", "20"] * 7)
    past = observe(july + january, rules(RULES + "least_days = 28"))
    assert past.memory == 0


def test_a_day_with_an_empty_reading_is_left_out() -> None:
    records = daily(date(2026, 5, 1), ["20"] + ["10"] * 19 + [""] + ["10"] + ["20"] * 9)
    past = observe(records, rules())
    assert past.days == {5: 30}
    assert past.chance == {5: Decimal("0.6667")}
    assert past.pairs == 19 + 9


def test_a_request_takes_its_chances_from_the_observed_days() -> None:
    toml = """
from = 2026-05-20
to = 2026-05-31
[observations]
file = "skerrow.csv"
water = {wind_kn = {most = 15}}
"""
    request = WeatherRequest.read(tomllib.loads(toml, parse_float=Decimal), where="b.toml", path="weather")
    assert request.observations is not None
    past = observe(daily(date(2026, 5, 1), ["10"] * 24 + ["20"] * 7), request.observations)
    ready = request.observed(past)
    first, odds = ready.odds(12)
    assert first == Fraction("0.7742")
    memory = Fraction(past.memory)
    assert memory > 0
    assert odds[5].after_good == first + memory * (1 - first)
    with pytest.raises(BadInput) as error:
        ready.odds(13)
    assert str(error.value) == (
        "b.toml: weather.observations: wanted 30 days observed in month 6, which the window reaches, got 0 days"
    )


@pytest.mark.parametrize(
    ("records", "line"),
    [
        (
            daily(date(2026, 5, 1), ["10"] * 12),
            "skerrow.csv: wanted 30 observed days or more in a month, got 12 usable days (12 in month 5)",
        ),
        ([], "skerrow.csv: wanted 30 observed days or more in a month, got 0 usable days"),
        (
            [row for year in range(1990, 2020) for row in daily(date(year, 5, 1), ["10"])],
            "skerrow.csv: wanted 15 days or more whose day before was observed too, got 0",
        ),
        (
            daily(date(2026, 5, 1), ["10"] * 15) + daily(date(2027, 5, 1), ["20"] * 16),
            "skerrow.csv: wanted days among which the weather changes, got unbroken spells only",
        ),
        (
            daily(date(2026, 5, 1), ["10"]) * 2,
            "skerrow.csv, line 3: date: wanted each day once, got 2026-05-01 again",
        ),
        (
            daily(date(2026, 5, 1), ["10,5"]),
            "skerrow.csv, line 2: wind_kn: wanted a number with a point, or nothing, got 10,5",
        ),
        (
            daily(date(2026, 5, 1), ["nan"]),
            "skerrow.csv, line 2: wind_kn: wanted a number with a point, or nothing, got nan",
        ),
        (
            [{"date": "1/5/2026", "wind_kn": "10", "wave_m": "1", "visibility_m": "9"}],
            "skerrow.csv, line 2: date: wanted a date as YYYY-MM-DD, got 1/5/2026",
        ),
        (
            [{"date": "2026-05-01", "wind_kt": "10", "wave_m": "1", "visibility_m": "9"}],
            "skerrow.csv, line 2: wanted a known column, got wind_kn. Did you mean wind_kt?",
        ),
    ],
    ids=["too few", "none", "no pairs", "no change", "twice", "comma", "nan", "date", "column"],
)
def test_days_that_cannot_be_used_are_refused_in_one_line(records: list[dict[str, str]], line: str) -> None:
    with pytest.raises(BadInput) as error:
        observe(records, rules())
    assert str(error.value) == line


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        (
            "file = 'a.csv'",
            "card.toml: past.water: wanted one limit or more such as {wind_kn = {most = 15}}, got none",
        ),
        (
            "file = 'a.csv'\nwater = {wind_kn = {}}",
            "card.toml: past.water.wind_kn: wanted least or most, got neither",
        ),
        (
            "file = 'a.csv'\nwater = {wind_kn = {least = 9, most = 4}}",
            "card.toml: past.water.wind_kn: wanted least no greater than most, got 9 and 4",
        ),
    ],
)
def test_limits_that_cannot_be_right_are_refused(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        rules(toml)
    assert str(error.value) == line


CELLS = st.text(max_size=6) | st.sampled_from(["2026-05-01", "2026-05-02", "0001-01-01", "10", "1e9999", "-0"])


@settings(max_examples=100, deadline=None)
@given(st.lists(st.dictionaries(st.sampled_from(["date", "wind_kn", "wave_m", "visibility_m"]), CELLS), max_size=6))
def test_no_rows_whatever_give_worse_than_bad_input(records: list[dict[str, str]]) -> None:
    try:
        past = observe(records, rules(RULES + "least_days = 2"))
    except BadInput:
        return
    assert all(0 <= chance <= 1 for chance in past.chance.values())
