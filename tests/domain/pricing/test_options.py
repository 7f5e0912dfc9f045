"""Options in one offer, two revisions compared, and double booking."""

from __future__ import annotations

from datetime import date

import pytest

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.booking import Booking, bookings, conflicts, owned_kit
from bizkit.domain.pricing.compare import compare
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.offer import offer
from bizkit.domain.pricing.options import choose

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
[kit.crane]
title = "Crane"
cost_per_day = 100
[bundles.air]
title = "Air set"
items = ["drone", "crane"]
[post.edit]
title = "Edit"
day_rate = 300
"""
BASE = (
    '[[days]]\ndate = 2027-05-10\nkind = "water"\ncrew = [{ person = "Rowan Lark", roles = ["camera"] }]\n'
    '[[deliverables]]\nkey = "film"\ntitle = "Film"\nkind = "film"\n'
)
OPTIONS = """
[options.short]
kind = "choice"
title = "A: two edit days"
[[options.short.post]]
work = "edit"
days = 2
[options.long]
kind = "choice"
title = "B: five edit days and a longer cut"
[[options.long.post]]
work = "edit"
days = 5
[[options.long.deliverables]]
key = "long-cut"
title = "Long cut"
kind = "film"
[options.air]
kind = "addon"
title = "From the air"
[[options.air.days]]
date = 2027-05-11
kind = "dry"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
kit = ["drone"]
"""


def test_an_offer_prices_every_option_side_by_side(card, brief):
    offered = offer(card(CARD), brief(BASE + OPTIONS))
    assert offered.base.net == Money("1000.00", "GBP")  # 400 + 2 x 300
    assert [(each.option.key, each.estimate.net.text, each.difference.text) for each in offered.choices] == [
        ("short", "1000.00", "0.00"),
        ("long", "1900.00", "900.00"),
    ]
    assert [(each.option.key, each.estimate.net.text, each.difference.text) for each in offered.addons] == [
        ("air", "1550.00", "550.00")
    ]
    data = offered.data()
    assert data["net"] == "1000.00"
    assert data["addons"][0]["difference"] == "550.00"


def test_a_brief_with_choices_is_priced_with_the_first(card, brief):
    estimate = price(card(CARD), brief(BASE + OPTIONS))
    assert (estimate.net.text, estimate.chosen) == ("1000.00", ("short",))


def test_choosing_takes_one_choice_and_any_add_on(card, brief):
    chosen = choose(brief(BASE + OPTIONS), ["long", "air"])
    assert (chosen.chosen, chosen.options) == (("long", "air"), {})
    assert [each.key for each in chosen.deliverables] == ["film", "long-cut"]
    assert price(card(CARD), chosen).net.text == "2450.00"


def test_a_choice_is_exactly_one(brief):
    asked = brief(BASE + OPTIONS)
    with pytest.raises(BadInput, match=r"brief.toml: options: wanted exactly one of short, long, got none of them"):
        choose(asked, ["air"])
    with pytest.raises(BadInput, match="wanted exactly one of short, long, got short, long"):
        choose(asked, ["short", "long"])
    with pytest.raises(NotFound, match=r"options: wanted a known option, got shrot. Did you mean short\?"):
        choose(asked, ["shrot"])


def test_an_option_cannot_promise_a_deliverable_twice(brief):
    twice = OPTIONS.replace('key = "long-cut"', 'key = "film"')
    with pytest.raises(
        BadInput, match=r"options.long.deliverables: wanted a deliverable key that deliverables does not"
    ):
        brief(BASE + twice)


# --- compared


def test_a_comparison_says_what_changed_and_why(card, brief):
    rates = card(CARD)
    before = price(rates, brief(BASE + '[[post]]\nwork = "edit"\ndays = 2\n'))
    two_days = BASE.replace("2027-05-10", "2027-05-10\ncount = 2")
    with_drone = two_days.replace('["camera"] }]', '["camera"] }]\nkit = ["drone"]')
    after = price(card(CARD.replace("day_rate = 400", "day_rate = 420")), brief(with_drone))
    changes = compare(before, after)
    assert [(each.kind, each.item, each.difference.text) for each in changes] == [
        ("changed", "Rowan Lark: Camera", "440.00"),
        ("added", "Drone", "300.00"),
        ("removed", "Edit", "-600.00"),
    ]
    assert changes[0].why.startswith(
        "quantity 1 -> 2 day; rate 400.00 -> 420.00; amount 400.00 -> 840.00; now 2 water"
    )
    assert total((each.difference for each in changes), "GBP") == after.net - before.net


def test_nothing_changed_is_no_change(card, brief):
    estimate = price(card(CARD), brief(BASE))
    assert compare(estimate, price(card(CARD), brief(BASE))) == ()


def test_two_currencies_are_not_compared(card, brief):
    euro = 'currency = "EUR"\n[exchange]\nrate = 1.2\non = 2027-01-01\nsource = "typed"\n'
    with pytest.raises(RuleBroken, match="GBP and EUR cannot be compared"):
        compare(price(card(CARD), brief(BASE)), price(card(CARD), brief(euro + BASE)))


# --- double booking


def test_a_person_on_two_jobs_the_same_day_is_found_and_named(card, brief):
    kit = card(CARD).kit
    ours = bookings(kit, brief(BASE), "kelp")
    theirs = bookings(kit, brief(BASE), "otters", hold=True)
    (found,) = conflicts([*ours, *theirs], owned_kit(kit))
    assert found.text == "Rowan Lark is booked twice on 2027-05-10: kelp, otters (hold)"
    assert conflicts(ours, owned_kit(kit)) == []


def test_kit_is_short_when_jobs_need_more_than_there_is(card, brief):
    kit = card(CARD).kit
    need = lambda items, job: bookings(  # noqa: E731
        kit, brief(f'[[days]]\ndate = 2027-05-10\ncount = 2\nkind = "dry"\nkit = {items}\n'), job
    )
    one_each = [*need("{ housing = 1 }", "kelp"), *need("{ housing = 1 }", "otters")]
    assert conflicts(one_each, owned_kit(kit)) == []  # there are two
    short = conflicts([*one_each, *need("{ housing = 1 }", "seals")], owned_kit(kit))
    assert [each.text for each in short] == [
        "3 x housing wanted on 2027-05-10, 2 at hand: kelp, otters, seals",
        "3 x housing wanted on 2027-05-11, 2 at hand: kelp, otters, seals",
    ]


def test_bundles_are_taken_apart_and_sub_hired_kit_never_runs_out(card, brief):
    kit = card(CARD).kit
    booked = bookings(kit, brief('[[days]]\ndate = 2027-05-10\nkind = "dry"\nkit = ["air", "crane"]\n'), "kelp")
    assert booked == [Booking("kit", "drone", date(2027, 5, 10), "kelp", 1)]


def test_one_brief_that_needs_more_kit_than_there_is_warns(card, brief):
    asked = brief('[[days]]\ndate = 2027-05-10\nkind = "dry"\nkit = ["air", "drone"]\n')
    assert price(card(CARD), asked).warnings == ("2 x drone wanted on 2027-05-10, 1 at hand: follow-the-kelp",)
