"""Travel, costs, journeys and work in the edit."""

from __future__ import annotations

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.pricing.estimate import price

CARD = """
[crew.camera]
title = "Camera"
day_rate = 1
[costs.ferry]
title = "Ferry"
unit = "crossing"
cost = 178.50
[costs.hotel]
title = "Hotel"
unit = "room night"
cost = 99.95
markup_percent = 10
[costs.flight]
title = "Flight"
unit = "ticket"
markup_percent = 7.5
[post.edit]
title = "Edit"
day_rate = 385
hours = 8
[post.retouch]
title = "Retouch"
day_rate = 300
hour_rate = 44
"""


@pytest.fixture
def lines(card, brief):
    return lambda text, more="": price(card(CARD + more), brief(text)).lines


def found(lines):
    return [(line.section, line.item, line.unit, line.quantity, line.amount.text) for line in lines]


def test_a_cost_is_charged_on_at_cost_or_with_the_markup_of_its_kind(lines):
    priced = lines('[[costs]]\nkind = "ferry"\nquantity = 2\n[[costs]]\nkind = "hotel"\nquantity = 3\n')
    assert found(priced) == [
        ("travel", "Ferry", "crossing", 2, "357.00"),
        ("travel", "Hotel", "room night", 3, "329.84"),  # 3 x 109.945 = 329.835, rounded once
    ]
    assert priced[1].why == "3 x GBP 109.945 (GBP 99.95 + 10 % markup) = GBP 329.835"


def test_the_brief_may_name_its_own_price_and_leave_out_the_markup(lines):
    assert found(lines('[[costs]]\nkind = "hotel"\ntitle = "Harbour inn"\ncost = 80\nat_cost = true\n')) == [
        ("travel", "Harbour inn", "room night", 1, "80.00")
    ]


def test_what_the_client_pays_directly_is_named_and_costs_nothing(lines):
    (line,) = lines('[[costs]]\nkind = "flight"\ncost = 240\nquantity = 2\npaid_by = "client"\n')
    assert (line.item, line.amount.text) == ("Flight (paid by the client directly)", "0.00")
    assert "2 x GBP 240.00 = GBP 480.00, paid by the client" in line.why


def test_a_cost_nobody_knows_is_refused(lines):
    with pytest.raises(BadInput, match=r"brief.toml: costs\[1\].cost: wanted what one ticket costs"):
        lines('[[costs]]\nkind = "flight"\n')
    with pytest.raises(NotFound, match=r"brief.toml: costs\[1\].kind: .* got fery. Did you mean ferry\?"):
        lines('[[costs]]\nkind = "fery"\n')


def test_a_cost_in_a_currency_without_a_rate_is_refused(lines):
    with pytest.raises(BadInput, match=r"costs\[1\].currency: wanted an amount in GBP, got NOK"):
        lines('[[costs]]\nkind = "ferry"\ncost = 900\ncurrency = "NOK"\n')


def test_work_in_the_edit_is_by_the_day_or_by_the_hour(lines):
    text = (
        '[[post]]\nwork = "edit"\ndays = 2.5\ntitle = "campaign film"\n'
        '[[post]]\nwork = "edit"\nhours = 3\n[[post]]\nwork = "retouch"\nhours = 3\n'
    )
    priced = lines(text)
    assert found(priced) == [
        ("post", "Edit: campaign film", "day", 2.5, "962.50"),
        ("post", "Edit", "hour", 3, "144.38"),  # 3 x 385 / 8 = 144.375
        ("post", "Retouch", "hour", 3, "132.00"),
    ]
    assert priced[1].why == "3 hours x GBP 48.125 (GBP 385.00 / 8 h) = GBP 144.375"


def test_an_hour_of_a_day_that_does_not_divide_is_still_exact(lines):
    # 100.01 a day of 7 h: 3.5 h are 50.005, half a penny that rounds up; by a rounded hour it would be 50.00.
    odd = '[post.odd]\ntitle = "Odd"\nday_rate = 100.01\nhours = 7\n'
    (line,) = lines('[[post]]\nwork = "odd"\nhours = 3.5\n', odd)
    assert line.amount.text == "50.01"


def test_work_is_in_days_or_hours(brief, lines):
    for both in ("days = 1\nhours = 2\n", ""):
        with pytest.raises(BadInput, match=r"brief.toml: post\[1\].days: wanted either days or hours"):
            brief(f'[[post]]\nwork = "edit"\n{both}')
    with pytest.raises(NotFound, match=r"post\[1\].work: wanted a known post work, got edti. Did you mean edit\?"):
        lines('[[post]]\nwork = "edti"\ndays = 1\n')


def test_a_journey_is_priced_by_the_mileage_table(lines):
    # gov.uk simplified expenses (read): 45p for the first 10,000 miles of a year, 25p after.
    table = '[mileage]\ncountry = "GB"\n'
    journey = '[[mileage]]\ntitle = "to the ferry"\ndistance = 200\non = 2025-09-01\n'
    assert found(lines(journey, table)) == [("travel", "Mileage: to the ferry", "mile", 200, "90.00")]
    assert [line.amount.text for line in lines(journey + "driven_before = 9900\n", table)] == ["45.00", "25.00"]


def test_a_journey_without_a_table_or_before_it_is_refused(lines):
    journey = "[[mileage]]\ndistance = 200\non = 2001-09-01\n"
    with pytest.raises(BadInput, match=r"brief.toml: mileage\[1\]: wanted a \[mileage\] table on the rate card"):
        lines(journey)
    with pytest.raises(BadInput, match=r"brief.toml: mileage\[1\].on: wanted a journey on or after 2011-04-06"):
        lines(journey, '[mileage]\ncountry = "GB"\n')


def test_a_mileage_table_with_a_gap_is_refused(lines):
    gap = (
        '[mileage]\nunit = "km"\n[[mileage.periods]]\nstarts = 2027-01-01\n'
        "bands = [{ over = 0, up_to = 100, rate = 0.5 }, { over = 200, rate = 0.3 }]\n"
    )
    with pytest.raises(BadInput, match="wanted 100, where the band before ends, got 200, a gap"):
        lines("", gap)
