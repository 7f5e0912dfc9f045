"""A card in one currency and a quote in another."""

from __future__ import annotations

from datetime import date

import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.pricing.estimate import price

CARD = (
    '[crew.camera]\ntitle = "Camera"\nday_rate = 333\n[costs.ferry]\ntitle = "Ferry"\nunit = "crossing"\n'
    "[fees]\nminimum = 1000\n"
)
DAYS = '[[days]]\nkind = "dry"\ncount = 2\ncrew = [{ roles = ["camera"] }]\n'
RATE = '[exchange]\nrate = 1.1537\non = 2027-02-01\nsource = "central bank reference rate, typed by hand"\n'


def test_lines_are_converted_at_the_recorded_rate_and_rounded_once(card, brief):
    estimate = price(card(CARD), brief('currency = "EUR"\n' + RATE + DAYS))
    crew, minimum = estimate.lines
    assert estimate.currency == "EUR"
    assert crew.amount == Money("768.36", "EUR")  # 2 x 333 x 1.1537 = 768.3642
    assert crew.working.rule == "exchange"
    assert crew.working.source == "central bank reference rate, typed by hand"
    assert "at 1.1537 EUR for 1 GBP (2027-02-01" in crew.why
    assert minimum.amount == Money("385.34", "EUR")  # 1,000 x 1.1537 - 768.36
    assert estimate.net == Money("1153.70", "EUR")


def test_amounts_typed_in_the_brief_are_in_its_own_currency(card, brief):
    costs = '[[costs]]\nkind = "ferry"\ncost = 100\n[[costs]]\nkind = "ferry"\ncost = 100\ncurrency = "GBP"\n'
    lines = price(card(CARD), brief('currency = "EUR"\n' + RATE + costs)).lines
    assert [line.amount.text for line in lines[:2]] == ["100.00", "115.37"]


def test_a_currency_without_decimals_is_rounded_to_whole_units(card, brief):
    yen = RATE.replace("1.1537", "191.2345")
    estimate = price(card(CARD), brief('currency = "JPY"\n' + yen + DAYS))
    assert estimate.lines[0].amount == Money("127362", "JPY")  # 666 x 191.2345 = 127362.177


def test_a_quote_in_another_currency_needs_a_rate(card, brief):
    with pytest.raises(
        BadInput, match=r"brief.toml: currency: wanted GBP, the currency of the rate card Test, got EUR"
    ):
        price(card(CARD), brief('currency = "EUR"\n' + DAYS))


def test_a_rate_needs_its_date_and_source(brief):
    source = 'source = "central bank reference rate, typed by hand"\n'
    for line, missing in (("on = 2027-02-01\n", "on"), (source, "source")):
        with pytest.raises(BadInput, match=rf"brief.toml: exchange.{missing}: wanted .* got nothing"):
            brief('currency = "EUR"\n' + RATE.replace(line, ""))
    with pytest.raises(BadInput, match=r"exchange.rate: wanted a rate above 0, got 0"):
        brief('currency = "EUR"\n' + RATE.replace("1.1537", "0"))


def test_a_rate_to_the_same_currency_is_refused(card, brief):
    with pytest.raises(BadInput, match=r"brief.toml: exchange: wanted no .exchange. in a quote in GBP"):
        price(card(CARD), brief(RATE + DAYS))


def test_the_weather_plan_speaks_the_currency_of_the_quote(card, brief):
    weather = "[weather]\ndays = 6\nchance = 0.6\ncost_if_it_fails = 100\n"
    water = DAYS.replace("dry", "water")
    estimate = price(card(CARD), brief('currency = "EUR"\n' + RATE + water + weather))
    assert estimate.weather is not None
    assert estimate.weather.hold_rate == Money("192.09105", "EUR")  # half of 333 x 1.1537
    assert estimate.weather.expected_failing_cost.currency == "EUR"
    assert "EUR 192.09" in " ".join(estimate.weather.sentences)
    assert {line.amount.currency for line in estimate.lines} == {"EUR"}


def test_the_rate_is_recorded_with_its_day(brief):
    exchange = brief('currency = "EUR"\n' + RATE).exchange
    assert exchange is not None
    assert exchange.on == date(2027, 2, 1)
