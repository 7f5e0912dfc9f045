"""The weather plan: days, price, wording, chart, and the costs that only the studio sees."""

from __future__ import annotations

import json
import tomllib
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.weather_days import WeatherRequest
from bizkit.domain.pricing.weather_plan import WeatherPlan, weather_plan
from bizkit.domain.pricing.weather_words import WEATHER_WORDS


def plan(toml: str, water: int = 3, dry: int = 0, day: str = "1250") -> WeatherPlan:
    tree = tomllib.loads(toml, parse_float=Decimal)
    request = WeatherRequest.read(tree, where="brief.toml", path="weather")
    return weather_plan(request, water_days=water, dry_days=dry, hold_day_cost=Money(day, "GBP"))


def test_three_days_at_sixty_percent_are_quoted_with_four_hold_days() -> None:
    # 7 days for 90 % (scipy.stats.nbinom, computed); 4 hold days x half of 1,250.00 = 2,500.00.
    quoted = plan("chance = 0.6")
    assert (quoted.booked_days, quoted.hold_days, quoted.reached) == (7, 4, True)
    assert quoted.line is not None
    assert (quoted.line.section, quoted.line.unit, quoted.line.quantity) == ("weather", "day", 4)
    assert quoted.line.amount == Money("2500.00", "GBP")
    assert quoted.line.rate == Money("625.00", "GBP")
    assert quoted.line.why == (
        "4 hold days x GBP 625.00 (50% of a full day, GBP 1250.00); 7 days kept free for 3 needed, 90% sure"
    )
    assert quoted.sentences == (
        "The shoot needs 3 water days. We keep 7 days free, 4 of them hold days.",
        "The chance of finishing within those days is 90%.",
        "Each hold day is charged at GBP 625.00 (50% of a full day), used or not, "
        "because no other work is taken for it.",
        "If the weather still fails: the days still missing move to a new window that suits both of us, "
        "priced from the same rate card.",
    )


def test_the_chart_is_the_distribution_of_scipy_rounded_down() -> None:
    quoted = plan("chance = 0.6")
    assert [days for days, _ in quoted.chart] == [3, 4, 5, 6, 7, 8, 9]
    for days, chance in quoted.chart:
        exact = nbinom.cdf(days - 3, 3, 0.6)
        assert -1e-12 <= exact - float(chance) < 1e-4
    assert quoted.data()["chart"][3:5] == [
        {"days": 6, "chance": "0.8208", "chosen": False},
        {"days": 7, "chance": "0.9037", "chosen": True},
    ]
    json.dumps(quoted.studio_data())


def test_expected_holds_and_failure_are_those_of_scipy() -> None:
    quoted = plan("chance = 0.6\ncost_if_it_fails = 4000")
    # Days waited within 7 = sum over days of P(not finished) less the water days shot.
    used = sum(1 - nbinom.cdf(days - 3, 3, 0.6) for days in range(7))
    shot = used * 0.6  # every day used is good with 0.6, whatever came before (Wald)
    assert float(quoted.expected_hold_days) == pytest.approx(used - shot, abs=5e-5)
    assert float(quoted.expected_hold_cost.amount) == pytest.approx((used - shot) * 625, abs=5e-3)
    # 1 - 0.903744 = 0.096256; of 4,000.00: 385.02 (385.024). The chance itself is rounded up.
    assert quoted.chance_of_failing == Decimal("0.0963")
    assert quoted.expected_failing_cost == Money("385.02", "GBP")


def test_a_window_that_is_not_sure_enough_is_used_whole_and_says_so() -> None:
    quoted = plan("chance = 0.6\nfrom = 2027-05-10\nto = 2027-05-15\nif_it_fails = 'stop'")
    assert (quoted.booked_days, quoted.hold_days, quoted.reached) == (6, 3, False)
    assert quoted.sentences[0] == (
        "The shoot needs 3 water days. We keep 6 days free from 10 May 2027 to 15 May 2027, 3 of them hold days."
    )
    assert "is 82%, less than the 90% we aim for." in quoted.sentences[1]
    assert quoted.sentences[-1].endswith("shoot days that did not take place are not charged.")


def test_hold_days_that_are_agreed_give_the_confidence_instead() -> None:
    quoted = plan("chance = 0.6\nhold_days = 3")
    assert (quoted.booked_days, quoted.hold_days) == (6, 3)
    assert quoted.chance_of_failing == Decimal("0.1792")  # 1 - 0.8208


@pytest.mark.parametrize(
    ("charge", "quantity", "amount"),
    [("booked", "4", "2500.00"), ("expected", "1.92", "1200.00"), ("used", None, None)],
)
def test_hold_days_are_charged_as_the_brief_says(charge: str, quantity: str | None, amount: str | None) -> None:
    # Expected: 1.9222 hold days on average (see above), two decimals, x 625.00.
    quoted = plan(f"chance = 0.6\ncharge = '{charge}'")
    line = quoted.line
    assert (str(line.quantity), line.amount.text) == (quantity, amount) if line else quantity is None
    assert sum("charged at" in text or "fixed price" in text for text in quoted.sentences) == 1


def test_sure_weather_needs_no_hold_day_and_no_line() -> None:
    quoted = plan("chance = 1")
    assert (quoted.booked_days, quoted.hold_days, quoted.line) == (3, 0, None)
    assert quoted.sentences == (
        "The shoot needs 3 water days. We keep 3 days free, none of them a hold day.",
        "The chance of finishing within those days is 100%.",
    )


def test_dry_scenes_fill_rough_days() -> None:
    with_scenes, without = plan("chance = 0.6", 3, 2), plan("chance = 0.6", 3, 0)
    # Two of the four days that three water days wait for are put to use.
    assert with_scenes.booked_days == without.booked_days == 7
    assert with_scenes.hold_days == 2
    assert "Dry scenes are shot on days that are too rough for the water." in with_scenes.sentences


def test_a_brief_that_says_its_own_days_outranks_the_shoot_days() -> None:
    assert plan("chance = 0.6\nwater_days = 1\ndry_days = 0", 3, 2).water_days == 1


def test_days_in_a_row_charge_the_lost_days_in_full_on_average() -> None:
    # Worked by hand, two days of two in a row at a half: GG done; GB loses one day and waits one; B. waits.
    # Idle: GB 1, BG 1, BB 2 = 1.0; lost: GB 1 = 0.25. Cost 1.0 x 500 + 0.25 x 1000 = 750.
    quoted = plan("chance = 0.5\nin_a_row = true\ndays = 2", 2, 0, "1000")
    assert (quoted.expected_hold_days, quoted.expected_lost_days) == (Decimal("1.0000"), Decimal("0.2500"))
    assert quoted.expected_hold_cost == Money("750.00", "GBP")
    # Hold days booked are in the quote already; the lost quarter of a day comes on top.
    assert quoted.expected_extra_income == Money("250.00", "GBP")
    assert "a run broken by weather starts again" in quoted.sentences[1]


def test_the_studios_own_words_are_used_for_a_failed_window() -> None:
    quoted = plan("chance = 0.6\nif_it_fails_words = 'we talk on the phone the same evening.'")
    assert quoted.sentences[-1] == "If the weather still fails: we talk on the phone the same evening."


def test_the_sentences_follow_the_language_of_the_quote() -> None:
    german = dict(WEATHER_WORDS)
    german["weather_keep"] = "Gebraucht werden {needed}. Frei gehalten werden {days}{when}, {hold}."
    german["weather_water_days"], german["weather_days"] = "{count} Wassertage", "{count} Tage"
    german["weather_hold"] = "davon {count} Reservetage"
    request = WeatherRequest.read({"chance": Decimal("0.6")}, where="b.toml", path="weather")
    quoted = weather_plan(request, water_days=3, dry_days=0, hold_day_cost=Money("1", "EUR"), words=german)
    assert quoted.sentences[0] == ("Gebraucht werden 3 Wassertage. Frei gehalten werden 7 Tage, davon 4 Reservetage.")


@pytest.mark.parametrize(
    ("toml", "water", "dry", "line"),
    [
        (
            "chance = 0.6\ndays = 4",
            3,
            2,
            "brief.toml: weather.days: wanted a window of 5 days or more, got 4 days. "
            "3 water and 2 dry days do not fit",
        ),
        (
            "chance = 0.6\ndays = 6\nhold_days = 4",
            3,
            0,
            "brief.toml: weather.hold_days: wanted 3 or fewer, which is what the window leaves, got 4",
        ),
        (
            "chance = 0.6",
            0,
            0,
            "brief.toml: weather.water_days: wanted a shoot with one water day or dry day at least, got none",
        ),
    ],
)
def test_plans_that_cannot_be_are_refused_in_one_line(toml: str, water: int, dry: int, line: str) -> None:
    with pytest.raises(BadInput) as error:
        plan(toml, water, dry)
    assert str(error.value) == line


def test_weather_that_never_comes_is_refused_with_a_way_out() -> None:
    with pytest.raises(RuleBroken, match="name a window, ask for less, or lower the confidence"):
        plan("chance = 0.001")


@settings(max_examples=30, deadline=None)
@given(
    st.integers(5, 95),
    st.integers(1, 4),
    st.integers(0, 3),
    st.sampled_from(["booked", "expected", "used"]),
    st.booleans(),
    st.integers(0, 9),
)
def test_every_plan_adds_up(chance: int, water: int, dry: int, charge: str, in_a_row: bool, memory: int) -> None:
    quoted = plan(
        f"chance = {chance / 100:.2f}\nmemory = 0.{memory}\ncharge = '{charge}'\n"
        f"in_a_row = {str(in_a_row).lower()}\ndays = 30",
        water,
        dry,
    )
    assert water + dry <= quoted.booked_days <= 30
    assert quoted.reached or quoted.booked_days == 30
    assert 0 <= quoted.expected_hold_days <= quoted.booked_days
    assert 0 <= quoted.chance_of_failing <= 1
    chances = [float(value) for _, value in quoted.chart]
    assert chances == sorted(chances)
    if quoted.line is not None:
        assert quoted.line.amount == (quoted.line.rate * quoted.line.quantity).rounded()
        assert quoted.line.working.amount is not None
        assert quoted.line.working.amount.rounded() == quoted.line.amount
