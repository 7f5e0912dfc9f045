"""What a job takes out of the studio, and whether the price is above the floor. Literal values worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.floor import FloorTerms
from bizkit.domain.pricing.job_cost import job_cost

CARD = """
[crew.camera]
title = "Camera"
day_rate = 400
[crew.safety_swimmer]
title = "Safety swimmer"
day_rate = 250
[kit.camera]
title = "Camera"
day_rate = 100
[kit.crane]
title = "Crane"
cost_per_day = 80
margin_percent = 25
[post.edit]
title = "Edit"
day_rate = 300
hours = 8
[costs.boat]
title = "Boat"
unit = "day"
cost = 500
markup_percent = 10
"""
JOB = """
[[days]]
kind = "water"
count = 2
crew = [{ person = "Rowan Lark", roles = ["camera"] }, { roles = ["safety_swimmer"], people = 2 }]
kit = ["camera", "crane"]
[[days]]
kind = "dry"
half_day = true
crew = [{ person = "Rowan Lark", roles = ["camera"] }, { person = "Ailsa Gannet", roles = ["camera"] }]
[[days]]
kind = "travel"
hours = 3
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
[[post]]
work = "edit"
days = 2
[[post]]
work = "edit"
hours = 4
[[costs]]
kind = "boat"
quantity = 2
[[costs]]
kind = "boat"
cost = 90
paid_by = "client"
"""
PEOPLE = ("Rowan Lark", "Ailsa Gannet")


@pytest.fixture
def cost(card, brief):
    def of(text, people=PEOPLE, card_text=CARD):
        rates, asked = card(card_text), brief(text)
        return job_cost(rates, asked, price(rates, asked), people)

    return of


def test_own_days_are_those_of_the_studios_people(cost):
    # 2 water + 2 x half + half travel + 2.5 in the edit
    assert cost(JOB).own_days == Decimal("6.0")
    assert cost(JOB, ["Rowan Lark"]).own_days == Decimal("5.5")


def test_direct_costs_are_what_others_are_paid_before_markup(cost):
    # 2 days x 2 swimmers x 250 + 2 x 80 for the crane + 2 x 500 for the boat
    assert cost(JOB).direct_costs == Money("2160.00", "GBP")
    # Ailsa's half day at 60 % of 400 is paid out when she is no part of the studio
    assert cost(JOB, ["Rowan Lark"]).direct_costs == Money("2400.00", "GBP")


def test_costs_are_in_the_currency_of_the_quote(cost):
    euro = 'currency = "EUR"\n[exchange]\nrate = 1.2\non = 2027-01-01\nsource = "typed"\n'
    typed = JOB.replace('cost = 90\npaid_by = "client"', "cost = 90")
    assert cost(euro + typed).direct_costs == Money("2682.00", "EUR")  # 2,160 x 1.2 + 90 typed in euro


def test_weather_holds_people_and_costs_on_average(cost):
    # One good day is needed, at .5 a day, within three: 1 idle day at .25, 2 at .125, 3 (it fails) at .125 = .875.
    weather = (
        "[weather]\ndays = 3\nwater_days = 1\ndry_days = 0\nchance = 0.5\nconfidence = 0.87\n"
        'charge = "used"\ncost_if_it_fails = 800\n'
    )
    found = cost(JOB + weather)
    assert found.held_days == 2 * Decimal("0.875")  # two people of the studio are kept free
    # two swimmers at 50 % of 250, for .875 of a day = 218.75; and .125 of the 800 that a failed window costs
    assert found.weather_costs == Money("318.75", "GBP")
    # a hold day is charged at half of 400 + 2 x 250 + 100 + 100
    assert found.weather_income == Money("481.25", "GBP")
    assert cost(JOB + weather.replace('"used"', '"booked"')).weather_income == Money("0.00", "GBP")


def test_the_floor_weighs_the_price_against_it(card, brief):
    rates, asked = card(CARD), brief(JOB)
    estimate = price(rates, asked)
    found = job_cost(rates, asked, estimate, PEOPLE)
    terms = {"income": 30000, "tax_percent": 25, "pension_percent": 0, "billable_days": 100}
    floor = read_input(FloorTerms, terms, where="floor", currency="GBP").floor()
    margin = floor.margin(estimate.net, found.direct_costs, found.own_days)
    # 30,000 / .75 / 100 days = 400 a day; 6 days of it and the direct costs come off the net
    assert margin.amount == estimate.net - Money("2160.00", "GBP") - Money("2400.00", "GBP")
    assert not margin.below_floor
