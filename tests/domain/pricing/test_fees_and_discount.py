"""Rush, contingency, minimum fee, discounts with their floor, and days bought ahead."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.pricing.deal import Deal, draw
from bizkit.domain.pricing.estimate import price

CARD = """
[crew.director]
title = "Director"
day_rate = 500
[crew.camera]
title = "Camera"
day_rate = 400
[kit.camera]
title = "Camera"
day_rate = 100
[post.edit]
title = "Edit"
day_rate = 300
[costs.ferry]
title = "Ferry"
unit = "crossing"
cost = 200
"""
SHOOT = '[[days]]\ndate = 2027-05-10\nkind = "dry"\ncrew = [{ roles = ["camera"] }]\nkit = ["camera"]\n'
EDIT = '[[post]]\nwork = "edit"\ndays = 1\n'
FERRY = '[[costs]]\nkind = "ferry"\n'


@pytest.fixture
def estimate(card, brief):
    return lambda card_more, brief_text, **more: price(card(CARD + card_more), brief(brief_text), **more)


def lines_in(estimate, section):
    return [(line.item, line.amount.text) for line in estimate.lines if line.section == section]


def test_a_flat_sum_is_printed_with_its_rounded_amount_as_rate_and_keeps_the_exact_one(estimate):
    found = estimate("", "contingency_percent = 3.33\n" + SHOOT + EDIT + FERRY)
    (line,) = [line for line in found.lines if line.unit == "flat"]
    # 3.33 % of 400 + 100 + 300 + 200 = 33.30
    assert (line.quantity, line.rate.text, line.amount.text) == (1, "33.30", "33.30")
    thirds = estimate("", "contingency_percent = 3.3333\n" + SHOOT)
    (line,) = [line for line in thirds.lines if line.unit == "flat"]
    # 3.3333 % of 500 = 16.6665
    assert (line.rate.text, line.amount.text, str(line.working.amount.amount.normalize())) == (
        "16.67",
        "16.67",
        "16.6665",
    )


# --- rush


def test_a_rush_is_dearer_for_crew_and_post(estimate):
    rush = "[fees]\nrush_percent = 20\nrush_working_days = 5\n"
    found = estimate(rush, "rush = true\n" + SHOOT + EDIT + FERRY)
    assert lines_in(found, "fees") == [("Rush uplift", "140.00")]  # 20 % of 400 + 300
    assert lines_in(estimate(rush, "rush = false\nasked_on = 2027-05-09\n" + SHOOT), "fees") == []


@pytest.mark.parametrize(
    ("asked_on", "rushed"),
    # Monday 10 May 2027: from Monday the 3rd there are five working days, from Tuesday the 4th four
    [("2027-05-03", False), ("2027-05-04", True), ("2027-05-10", True)],
)
def test_a_rush_is_told_by_the_dates(estimate, asked_on, rushed):
    rush = "[fees]\nrush_percent = 20\nrush_working_days = 5\n"
    found = estimate(rush, f"asked_on = {asked_on}\n" + SHOOT)
    assert bool(lines_in(found, "fees")) is rushed


def test_public_holidays_shorten_the_notice(estimate):
    rush = "[fees]\nrush_percent = 20\nrush_working_days = 5\n"
    holiday = lambda day: day.weekday() >= 5 or day == date(2027, 5, 6)  # noqa: E731
    assert lines_in(estimate(rush, "asked_on = 2027-05-03\n" + SHOOT, day_off=holiday), "fees") != []


def test_a_rush_without_an_uplift_on_the_card_is_warned_of(estimate):
    warned = ("the brief is a rush, but the rate card Test has no rush uplift",)
    assert estimate("", "rush = true\n" + SHOOT).warnings == warned


# --- contingency and minimum


def test_a_contingency_is_kept_for_crew_kit_travel_and_post(estimate):
    found = estimate("[fees]\ncontingency_percent = 10\n", SHOOT + EDIT + FERRY)
    assert lines_in(found, "fees") == [("Contingency", "100.00")]
    own = estimate("[fees]\ncontingency_percent = 10\n", "contingency_percent = 2.5\n" + SHOOT)
    assert lines_in(own, "fees") == [("Contingency", "12.50")]


def test_the_minimum_fee_fills_up_what_is_missing(estimate):
    minimum = "[fees]\nminimum = 950\n"
    # crew 400 + kit 100 = 500; the ferry does not count towards it
    assert lines_in(estimate(minimum, SHOOT + FERRY), "fees") == [("Minimum fee", "450.00")]
    assert lines_in(estimate(minimum, SHOOT + EDIT + EDIT), "fees") == []  # 1,100


# --- discounts


def test_a_discount_is_a_line_with_its_reason(estimate):
    found = estimate("", SHOOT + EDIT + FERRY + '[discount]\npercent = 5\nreason = "first job"\n')
    assert lines_in(found, "discount") == [("Discount: first job", "-40.00")]  # of 800, not of the ferry
    assert found.net.text == "960.00"
    fixed = estimate("", SHOOT + '[discount]\namount = 33.33\nreason = "rounding"\non = ["crew"]\n')
    assert lines_in(fixed, "discount") == [("Discount: rounding", "-33.33")]


def test_a_discount_needs_a_reason_and_one_size(brief):
    with pytest.raises(BadInput, match=r"brief.toml: discount.reason: wanted text"):
        brief("[discount]\npercent = 5\n")
    for both in ("percent = 5\namount = 5\n", ""):
        with pytest.raises(BadInput, match=r"brief.toml: discount.percent: wanted either percent or amount"):
            brief(f'[discount]\nreason = "x"\n{both}')
    with pytest.raises(BadInput, match=r"discount.on: wanted a known section, got kitt. Did you mean kit\?"):
        brief('[discount]\npercent = 5\nreason = "x"\non = ["kitt"]\n')


def test_more_than_the_card_allows_is_refused(estimate):
    most = "[discount]\nmost_percent = 10\n"
    ten = SHOOT + '[discount]\npercent = 10\nreason = "x"\n'
    assert lines_in(estimate(most, ten), "discount") == [("Discount: x", "-50.00")]
    with pytest.raises(RuleBroken, match=r"brief.toml: discount: 10.01 % is more than the 10 % the rate card allows"):
        estimate(most, ten.replace("percent = 10", "percent = 10.01"))
    with pytest.raises(RuleBroken, match=r"11 % is more than the 10 %"):
        estimate(most, SHOOT + '[discount]\namount = 55\nreason = "x"\n')


def test_a_discount_larger_than_what_it_is_taken_of_is_refused(estimate):
    with pytest.raises(RuleBroken, match=r"discount.amount: GBP 600.00 is more than the GBP 500.00"):
        estimate("", SHOOT + '[discount]\namount = 600\nreason = "x"\n')


def test_the_card_gives_a_discount_by_days(estimate):
    steps = (
        '[[discount.by_days]]\ndays = 2\npercent = 5\nreason = "two days"\n'
        '[[discount.by_days]]\ndays = 4\npercent = 8\nreason = "four days"\n'
    )
    days = lambda count: SHOOT.replace("date", f"count = {count}\ndate")  # noqa: E731
    assert lines_in(estimate(steps, days(1)), "discount") == []
    assert lines_in(estimate(steps, days(3)), "discount") == [("Discount: two days", "-75.00")]  # 5 % of 3 x 500
    assert lines_in(estimate(steps, days(4)), "discount") == [("Discount: four days", "-160.00")]
    own = '[discount]\npercent = 10\nreason = "friends"\n'
    both = lines_in(estimate(steps, days(4) + own), "discount")
    assert both == [("Discount: four days", "-160.00"), ("Discount: friends", "-200.00")]


def test_a_discount_stops_at_the_minimum_fee(estimate):
    found = estimate("[fees]\nminimum = 470\n", SHOOT + '[discount]\npercent = 10\nreason = "x"\n')
    assert lines_in(found, "discount") == [("Discount: x", "-30.00")]
    assert found.warnings == ("the discount for 'x' stops at the minimum fee: GBP 30.00",)
    none_left = estimate("[fees]\nminimum = 700\n", SHOOT + '[discount]\npercent = 10\nreason = "x"\n')
    assert lines_in(none_left, "discount") == []
    assert none_left.net.text == "700.00"


# --- days bought ahead

DEAL = (
    '[deals.year]\ntitle = "Kelp year"\nclient = "skerrow-islands-tourism"\ndays = 12\n'
    'covers = ["camera"]\nstarts = 2027-01-01\nends = 2027-12-31\n'
)


def test_days_already_bought_are_credited(estimate):
    days = SHOOT.replace("date", "count = 3\ndate")
    found = estimate(DEAL, days + '[deal]\nname = "year"\n')
    assert lines_in(found, "discount") == [("Drawn from Kelp year", "-1200.00")]
    assert found.net.text == "300.00"  # the kit is still charged
    assert "12 days bought, 0 used before, 3 drawn now, 9 left" in found.lines[-1].why
    assert lines_in(estimate(DEAL, days + '[deal]\nname = "year"\nused_before = 10\n'), "discount") == [
        ("Drawn from Kelp year", "-800.00")
    ]
    assert lines_in(estimate(DEAL, days + '[deal]\nname = "year"\ndays = 1\n'), "discount") == [
        ("Drawn from Kelp year", "-400.00")
    ]
    assert lines_in(estimate(DEAL, days + '[deal]\nname = "year"\nused_before = 12\n'), "discount") == []


def test_roles_a_deal_does_not_cover_are_not_credited(estimate):
    both = SHOOT.replace('["camera"] }', '["camera", "director"] }', 1)
    assert lines_in(estimate(DEAL, both + '[deal]\nname = "year"\n'), "discount") == []


def test_a_deal_of_another_client_or_year_is_refused(estimate):
    asked = '[deal]\nname = "year"\n'
    with pytest.raises(
        RuleBroken, match="Kelp year belongs to ferry-line, this brief is for skerrow-islands-tourism"
    ):
        estimate(DEAL.replace("skerrow-islands-tourism", "ferry-line"), SHOOT + asked)
    with pytest.raises(RuleBroken, match="Kelp year runs from 2027-01-01 to 2027-12-31, the job is on 2028-05-10"):
        estimate(DEAL, SHOOT.replace("2027", "2028") + asked)
    with pytest.raises(NotFound, match=r"deal.name: wanted a known deal, got yaer. Did you mean year\?"):
        estimate(DEAL, SHOOT + '[deal]\nname = "yaer"\n')


def test_more_used_than_bought_is_refused():
    deal = Deal("year", "Year", "c", Decimal(5), frozenset({"camera"}), None, None)
    with pytest.raises(BadInput, match=r"deals.year: wanted 0 to 5 days used before, got 6"):
        draw(deal, wanted=Decimal(1), used_before=Decimal(6))
    taken = draw(deal, wanted=Decimal(3), used_before=Decimal("3.5"))
    assert (taken.drawn, taken.left, taken.beyond) == (Decimal("1.5"), 0, Decimal("1.5"))


def test_half_days_left_in_a_deal_stay_in_it(estimate):
    days = SHOOT.replace("date", "count = 3\ndate")
    found = estimate(DEAL, days + '[deal]\nname = "year"\nused_before = 10.5\n')
    assert lines_in(found, "discount") == [("Drawn from Kelp year", "-400.00")]
    assert "1 drawn now, 0.5 left" in found.lines[-1].why
