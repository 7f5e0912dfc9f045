"""A whole brief priced against a whole card."""

from __future__ import annotations

from decimal import Decimal

from bizkit.domain.money import Money, total
from bizkit.domain.pricing.estimate import price


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
