"""Kit days: chargeable days, bundles, spares, sub-hire, insurance, pay-back.

Sources of the literal values
* a week is most often billed as 4 days: location-sound handbook ch. 8; pro rata after it: common practice
* hire by a percentage of the price, 20,000 at 3/6/8/9/10/11/12 %: common practice
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money
from bizkit.domain.pricing.kit_days import (
    chargeable_days,
    days_in_a_row,
    deposits,
    kit_lines,
    pay_back,
    price_by_value,
)

CREW = '[crew.camera]\ntitle = "Camera"\nday_rate = 1\n'
CAMERA = '[kit.camera]\ntitle = "Camera"\nday_rate = 100\nvalue = 2450\n'


@pytest.fixture
def lines(card, brief):
    def priced(card_text, days_text):
        rates = card(CREW + card_text)
        return kit_lines(rates.kit, brief(days_text).days, rates.words, where="brief.toml")

    return priced


def day(kit: str, more: str = "", kind: str = "dry") -> str:
    return f'[[days]]\nkind = "{kind}"\nkit = {kit}\n{more}\n'


def found(priced):
    return [(line.item, line.quantity, line.amount.text) for line in priced]


# --- the week rule


@pytest.mark.parametrize(("days", "charged"), [(3, 3), (4, 4), (5, 4), (7, 4), (8, 5), (11, 8), (14, 8), (15, 9)])
def test_a_week_is_four_chargeable_days_and_pro_rata_after(days, charged):
    assert chargeable_days(days_in_a_row(days), Decimal(4)) == charged


def test_a_week_begins_with_the_first_day_used():
    monday = date(2027, 5, 10).toordinal()
    used = {monday + number: Decimal(1) for number in (0, 1, 5, 6, 8, 9)}
    # 10 to 16 May has 4 days; the next week begins on 18 May, the first day used after it
    assert chargeable_days(used, Decimal(3)) == 3 + 2
    assert chargeable_days(used, Decimal(4)) == 4 + 2


def test_a_saturday_and_sunday_count_as_the_card_says():
    friday = date(2027, 5, 14).toordinal()
    weekend = {friday + number: Decimal(1) for number in range(4)}  # Friday to Monday
    assert chargeable_days(weekend, Decimal(7)) == 4
    assert chargeable_days(weekend, Decimal(7), Decimal(1)) == 3
    assert chargeable_days({friday + 1: Decimal(1)}, Decimal(7), Decimal(1)) == 1  # a Saturday alone is a day


@pytest.mark.parametrize(
    ("days", "expected"), [(3, "300.00"), (5, "400.00"), (7, "400.00"), (8, "500.00"), (14, "800.00")]
)
def test_days_in_a_row_are_billed_by_the_week_rule(lines, days, expected):
    for dated in ("", "date = 2027-05-10\n"):
        assert found(lines(CAMERA, day('["camera"]', f"{dated}count = {days}")))[0][2] == expected


def test_the_working_says_what_was_used_and_what_is_charged(lines):
    (line,) = lines(CAMERA, day('["camera"]', "count = 5"))
    assert line.why == (
        "5 days used, 4 days charged (4 in any 7 days): 4 x GBP 100.00 (GBP 100.00 a day) = GBP 400.00"
    )
    assert line.working.rule == "kit.day"
    assert "location-sound handbook" in line.working.source


def test_an_item_may_have_its_own_week(lines):
    assert found(lines(CAMERA + "week_days = 3\n", day('["camera"]', "count = 7"))) == [("Camera", 3, "300.00")]


def test_two_of_an_item_are_charged_each_for_their_own_days(lines):
    days = day("{ camera = 2 }", "count = 5") + day('["camera"]', "count = 1")
    (line,) = lines(CAMERA, days)
    assert (line.quantity, line.amount.text) == (8, "800.00")  # 6 days used = 4 charged, 5 days used = 4 charged
    assert line.why.startswith("6 + 5 days used, 2 x 4 days charged")


def test_days_on_the_road_and_on_hold_count_as_the_card_says(lines):
    days = day('["camera"]', kind="travel") + day('["camera"]', kind="hold") + day('["camera"]', kind="water")
    assert found(lines(CAMERA, days)) == [("Camera", Decimal("1.5"), "150.00")]
    assert found(lines(CAMERA + "[hire.percent]\ntravel = 50\n", days)) == [("Camera", 2, "200.00")]
    assert lines(CAMERA, day('["camera"]', kind="prep")) == []


# --- by the value


@pytest.mark.parametrize(
    ("days", "expected"),
    [(1, "600.00"), (2, "1200.00"), (3, "1600.00"), (5, "2000.00"), (7, "2400.00"), (8, "3000.00")],
)
def test_hire_by_a_percentage_of_the_price(lines, days, expected):
    lens = (
        '[kit.lens]\ntitle = "Lens"\nvalue = 20000\n'
        "percent_of_value = { 1 = 3, 2 = 6, 3 = 8, 4 = 9, 5 = 10, 6 = 11, 7 = 12 }\n"
    )
    (line,) = lines(lens, day('["lens"]', f"count = {days}"))
    assert (line.unit, line.amount.text) == ("hire", expected)


def test_hire_by_value_starts_its_ladder_anew(card):
    item = card(CREW + '[kit.lens]\ntitle = "Lens"\nvalue = 1000\npercent_of_value = { 1 = 5, 2 = 8 }\n').kit.items[
        "lens"
    ]
    assert [price_by_value(item, days).amount for days in (0, 1, 2, 3, 4)] == [0, 50, 80, 130, 160]


# --- bundles, sub-hire, spares, insurance, deposits

BUNDLE = (
    CAMERA
    + '[kit.lens]\ntitle = "Lens"\nday_rate = 50\nvalue = 1000\n'
    + '[bundles.set]\ntitle = "Set"\nitems = ["camera", "lens"]\n'
)


def test_a_bundle_is_hired_as_one(lines):
    assert found(lines(BUNDLE + "day_rate = 120\n", day('["set"]'))) == [("Set", 1, "120.00")]
    assert found(lines(BUNDLE + "less_percent = 10\n", day('["set"]'))) == [("Set", 1, "135.00")]
    assert found(lines(BUNDLE, day('["set"]'))) == [("Set", 1, "150.00")]


def test_a_bundle_may_hold_a_bundle(card):
    kit = card(CREW + '[bundles.big]\ntitle = "Big"\nitems = ["set", "set", "lens"]\n' + BUNDLE).kit
    assert kit.items["big"].day_rate == Money(350, "GBP")
    assert kit.pieces("big", 2) == {"camera": 4, "lens": 6}
    assert kit.value_of("big") == Money(2 * 3450 + 1000, "GBP")


def test_a_bundle_inside_itself_is_refused(card):
    pairs = (("a", "b"), ("b", "c"), ("c", "a"))
    chain = "".join(f'[bundles.{outer}]\ntitle = "{outer}"\nitems = ["{inner}"]\n' for outer, inner in pairs)
    with pytest.raises(BadInput, match="wanted a bundle that is not inside itself, got a -> b -> c -> a"):
        card(CREW + chain)


def test_a_sub_hired_item_costs_its_cost_and_margin(lines):
    crane = '[kit.crane]\ntitle = "Crane"\ncost_per_day = 120\nmargin_percent = 15\n'
    (line,) = lines(crane, day('["crane"]', "count = 2"))
    assert (line.rate, line.amount.text, line.working.rule) == (Money("138", "GBP"), "276.00", "kit.sub_hire")
    assert "sub-hired at GBP 120.00 a day + 15 %" in line.why


def test_a_spare_is_charged_at_its_share(lines):
    days = day('["camera"]', "spares = { camera = 1 }\ncount = 2")
    assert found(lines(CAMERA + "[hire]\nspare_percent = 40\n", days)) == [
        ("Camera", 2, "200.00"),
        ("Camera (spare)", 2, "80.00"),
    ]


def test_insurance_is_a_line_of_its_own(lines):
    days = day('["camera"]', "count = 5")
    assert found(lines(CAMERA + "[hire]\ninsurance_percent_of_hire = 6\n", days))[1] == ("Kit insurance", 1, "24.00")
    # 0.1 % of 2,450 for each of the 5 days out, charged days or not
    assert found(lines(CAMERA + "[hire]\ninsurance_percent_of_value_per_day = 0.1\n", days))[1] == (
        "Kit insurance", 1, "12.25",
    )  # fmt: skip


def test_a_deposit_is_no_part_of_the_price(card, brief, lines):
    text = CAMERA + "deposit = 300\n"
    days = day("{ camera = 2 }", "count = 3")
    assert found(lines(text, days)) == [("Camera", 6, "600.00")]
    assert deposits(card(CREW + text).kit, brief(days).days) == Money(600, "GBP")
    assert deposits(card(CREW + CAMERA).kit, brief(days).days) is None


def test_unknown_kit_suggests_the_nearest(lines):
    with pytest.raises(NotFound, match=r"brief.toml: days\[1\].kit: .* got camrea. Did you mean camera\?"):
        lines(CAMERA, day('["camrea"]'))


# --- pay-back


def test_pay_back_counts_hire_days_to_the_price(card):
    item = card(CREW + CAMERA).kit.items["camera"]
    assert (pay_back(item, Decimal(0)).days_needed, pay_back(item, Decimal(0)).days_left) == (25, 25)  # 2,450 / 100
    assert pay_back(item, Decimal("4.5")).days_left == 20  # 2,000 of 2,450 still to earn
    after = pay_back(item, Decimal(30))
    assert (after.days_left, after.earned) == (0, Money(3000, "GBP"))
    assert after.working.text == "Camera: GBP 2450.00 / GBP 100.00 a day = 25 hire days; 30 hired, 0 to go"


def test_pay_back_needs_a_value(card):
    item = card(CREW + '[kit.camera]\ntitle = "Camera"\nday_rate = 100\n').kit.items["camera"]
    with pytest.raises(BadInput, match=r"kit.camera.value: wanted the replacement value, got nothing"):
        pay_back(item, Decimal(0))
