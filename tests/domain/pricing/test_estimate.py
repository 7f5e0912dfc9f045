"""A whole brief priced against a whole card."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.dates import weekend
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.weather_observations import Observations


def test_the_demo_brief_is_priced_and_its_lines_add_up(starter_card, kelp_brief):
    estimate = price(starter_card, kelp_brief)
    assert estimate.net == total((line.amount for line in estimate.lines), "GBP")
    assert list(estimate.section_totals()) == ["crew", "kit", "travel", "post", "licence", "fees", "discount"]
    by_item = {line.item: line for line in estimate.lines}
    # 560 for the dearer role + 20 % of it for the second, two water days
    water = by_item["Ailsa Gannet: Director and Underwater camera"]
    assert (water.quantity, water.rate, water.amount) == (2, Money("672", "GBP"), Money("1344.00", "GBP"))
    # 590 for camera and drone pilot in one person; 13 h on set less 1 h meal = 2 h overtime at 1.5 x 59
    cliff = by_item["Rowan Lark: Camera and Drone pilot (2 h overtime)"]
    assert cliff.amount == Money("767.00", "GBP")
    assert by_item["Stills selection and finish"].amount == Money("440.00", "GBP")
    assert by_item["Contingency"].quantity == Decimal(1)


CREW = '[crew.camera]\ntitle = "Camera"\nday_rate = 400\n'
MAY_DAY = '[[days]]\ndate = 2027-05-03\nkind = "dry"\ncrew = [{ roles = ["camera"] }]\n'  # a Monday


def test_a_day_off_in_the_week_is_a_holiday_unless_told_apart(card, brief):
    rates = card(CREW + "[uplift]\nholiday_percent = 100\n")
    off = lambda day: weekend(day) or day == date(2027, 5, 3)  # noqa: E731
    assert price(rates, brief(MAY_DAY)).net.text == "400.00"
    assert price(rates, brief(MAY_DAY), day_off=off).net.text == "800.00"
    assert price(rates, brief(MAY_DAY), day_off=off, holiday=lambda day: False).net.text == "400.00"


def test_a_hold_day_of_the_plan_costs_what_the_card_says_unless_the_brief_does(card, brief):
    rates = card(CREW + "[day.percent]\nhold = 40\n")
    plan = "[weather]\ndays = 6\nchance = 0.6\n{}"
    water = MAY_DAY.replace("dry", "water").replace("date = 2027-05-03\n", "")
    assert price(rates, brief(water + plan.format(""))).weather.hold_rate == Money("160", "GBP")
    assert price(rates, brief(water + plan.format("hold_percent = 75\n"))).weather.hold_rate == Money("300", "GBP")


def test_hold_days_of_the_brief_and_of_the_plan_together_are_warned_of(card, brief):
    water = MAY_DAY.replace("dry", "water")
    held = water + '[[days]]\nkind = "hold"\ncrew = [{ roles = ["camera"] }]\n[weather]\ndays = 6\nchance = 0.6\n'
    estimate = price(card(CREW), brief(held))
    assert [line.quantity for line in estimate.lines if line.section == "weather"] == [1, 2]
    assert estimate.warnings == ("the brief has 1 hold day of its own beside the weather plan's 2: both are priced",)


def test_the_chances_of_past_days_price_the_weather(card, brief):
    asked = brief(
        MAY_DAY.replace("dry", "water")
        + '[weather]\nfrom = 2027-05-03\ndays = 9\n[weather.observations]\nfile = "kelp.csv"\n'
        + "water = { wind_kn = { most = 15 } }\n"
    )
    with pytest.raises(BadInput, match=r"brief.toml: weather.observations: wanted the past days to be read"):
        price(card(CREW), asked)
    past = Observations(chance={5: Decimal("0.6")}, dry={}, memory=Decimal(0), days={5: 62}, pairs=60)
    estimate = price(card(CREW), asked.observed(past))
    assert estimate.weather is not None
    assert estimate.weather.booked_days == 3  # 1 - .4^3 = .936, 1 - .4^2 = .84
    assert brief(MAY_DAY).observed(past) == brief(MAY_DAY)


def test_a_rough_window_is_warned_of(card, brief):
    estimate = price(card(CREW), brief(MAY_DAY.replace("dry", "water") + "[weather]\ndays = 2\nchance = 0.5\n"))
    assert estimate.warnings == ("the weather window does not reach the confidence asked for: see the weather plan",)


def test_an_empty_brief_costs_nothing(card, brief):
    estimate = price(card(CREW + "[fees]\nminimum = 500\n"), brief(""))
    assert (estimate.lines, estimate.net) == ((), Money("0.00", "GBP"))


def test_an_addon_weather_plan_replaces_the_one_of_the_brief(card, brief):
    option = (
        '[options.b]\nkind = "choice"\ntitle = "B"\n[options.b.weather]\ndays = 6\nchance = 0.6\nhold_percent = 0\n'
    )
    asked = brief(MAY_DAY.replace("dry", "water") + "[weather]\ndays = 6\nchance = 0.6\n" + option)
    assert price(card(CREW), asked).weather.hold_rate.amount == 0
