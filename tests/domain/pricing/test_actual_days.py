"""Days as they fall by now, what kit was really used for, and who waits for the weather."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import RuleBroken
from bizkit.domain.pricing.actual_days import day_list, on_dates
from bizkit.domain.pricing.booking import weather_holds
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.kit_care import care_warnings
from bizkit.domain.pricing.kit_use import hire_days, with_dives

CARD = """
[crew.camera]
title = "Camera"
day_rate = 400
[kit.drone]
title = "Drone"
day_rate = 150
[kit.housing]
title = "Housing"
day_rate = 165
owned = 2
in_water = true
service_every_dives = 20
serviced_on = 2027-05-10
dives_since_service = 4
[kit.crane]
title = "Crane"
cost_per_day = 100
[bundles.water]
title = "Water set"
items = ["housing", "drone"]
"""
DAYS = """
[[days]]
date = 2027-05-10
count = 2
kind = "water"
dives = 6
kit = ["water", "crane"]
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
[[days]]
date = 2027-05-12
kind = "dry"
kit = { housing = 2 }
"""
MAY = [date(2027, 5, day) for day in range(32)[1:]]


def test_a_run_of_like_days_is_taken_apart_and_each_can_move(brief):
    ours = brief(DAYS)
    assert [day.date for day in day_list(ours)] == [MAY[9], MAY[10], MAY[11]]
    moved = on_dates(ours, [MAY[13], MAY[10], None])
    assert [(day.date, day.kind, day.count) for day in moved.days] == [
        (MAY[13], "water", 1),
        (MAY[10], "water", 1),
        (None, "dry", 1),
    ]
    assert moved.last_shoot_date == MAY[13]


def test_dates_of_another_quote_do_not_fit(brief):
    with pytest.raises(RuleBroken, match="has 3 days and 2 dates"):
        on_dates(brief(DAYS), [None, None])


def test_hire_days_count_bundles_by_their_pieces_and_each_unit_by_itself(card, brief):
    used = hire_days(card(CARD).kit, brief(DAYS).days)
    # drone: 2 days in the set; housing: unit one on three days, unit two on one; crane: two days
    assert used == {"drone": Decimal(2), "housing": Decimal(4), "crane": Decimal(2)}


def test_a_week_of_hire_days_counts_as_four(card, brief):
    # location-sound handbook ch. 8: a week most often billed as 4 days
    week = '[[days]]\ndate = 2027-05-10\ncount = 7\nkind = "dry"\nkit = ["drone"]\n'
    assert hire_days(card(CARD).kit, brief(week).days) == {"drone": Decimal(4)}


def test_kit_that_is_gone_from_the_card_is_left_out(card, brief):
    assert hire_days(card(CARD).kit, brief('[[days]]\nkind = "dry"\nkit = ["zeppelin"]\n').days) == {}


def test_dives_after_the_last_service_bring_the_next_one_nearer(card, brief):
    terms = card(CARD).kit
    dived = with_dives(terms, day_list(brief(DAYS)))
    # 4 before the book + 6 on the 11th; the 10th is the day of service itself, the 12th is dry
    assert dived.items["housing"].dives_since_service == 10
    plan = '[[days]]\ndate = 2027-06-01\nkind = "water"\ndives = 11\nkit = ["housing"]\n'
    assert care_warnings(terms, brief(plan).days) == []
    assert care_warnings(dived, brief(plan).days) == [
        "Housing is due for service after 20 dives: 10 so far + 11 planned = 21"
    ]


WINDOW = "[weather]\nfrom = 2027-05-10\nto = 2027-05-20\nchance = 0.6\nhold_days = 3\n"


def test_weather_days_hold_the_people_and_kit_of_the_shoot(card, brief):
    ours = brief(DAYS + WINDOW)
    plan = price(card(CARD), ours).weather
    holds = weather_holds(card(CARD).kit, ours, plan, "kelp")
    # three days needed and three held: the window's first six days less the three shoot days
    assert {hold.date for hold in holds} == {MAY[12], MAY[13], MAY[14]}
    assert {(hold.resource, hold.quantity) for hold in holds} == {("Rowan Lark", 1), ("drone", 1), ("housing", 2)}
    assert all(hold.hold for hold in holds)


def test_without_a_window_of_dates_nothing_is_held(card, brief):
    ours = brief(DAYS + "[weather]\ndays = 9\nchance = 0.6\n")
    assert weather_holds(card(CARD).kit, ours, price(card(CARD), ours).weather, "kelp") == []
    assert weather_holds(card(CARD).kit, brief(DAYS), None, "kelp") == []
