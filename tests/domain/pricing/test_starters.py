"""The cards and briefs that come with the program: both markets, read and priced whole."""

from __future__ import annotations

import tomllib
from decimal import Decimal

import pytest

from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.day_prices import QuotedLine, day_prices
from bizkit.domain.pricing.estimate import price
from bizkit.domain.pricing.floor import FloorTerms
from bizkit.resources import templates

CARDS = {"gbp-uk": "follow-the-kelp", "eur-de": "seegras-im-bodden"}


def read(kind, folder, name):
    path = templates() / folder / f"{name}.toml"
    return kind.read(tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal), where=path.name)


@pytest.mark.parametrize(("card_name", "brief_name"), CARDS.items())
def test_a_starter_prices_its_brief_without_a_warning(card_name, brief_name):
    estimate = price(read(RateCard, "cards", card_name), read(Brief, "briefs", brief_name))
    assert estimate.warnings == ()
    assert estimate.net == Money(sum(line.amount.amount for line in estimate.lines), estimate.currency)
    assert {line.section for line in estimate.lines} >= {"crew", "kit", "travel", "post", "licence", "discount"}


@pytest.mark.parametrize("name", CARDS)
def test_a_starter_card_says_that_its_figures_are_invented(name):
    text = (templates() / "cards" / f"{name}.toml").read_text(encoding="utf-8")
    assert "EVERY FIGURE IN THIS FILE IS INVENTED" in text


@pytest.mark.parametrize("name", CARDS)
def test_a_starter_floor_is_in_its_cards_currency_and_lies_below_its_roles_of_skill(name):
    text = (templates() / "floors" / f"{name}.toml").read_text(encoding="utf-8")
    assert "INVENTED" in text or "ERFUNDEN" in text
    card = read(RateCard, "cards", name)
    floor = read_input(FloorTerms, tomllib.loads(text, parse_float=Decimal), where=name).floor()
    below = {each.role for each in floor.roles_below({key: role.day_rate for key, role in card.crew.roles.items()})}
    assert below == {"assistant", "safety_swimmer"}


def test_every_starter_is_tested():
    assert {path.stem for path in (templates() / "cards").glob("*.toml")} == set(CARDS)
    assert {path.stem for path in (templates() / "briefs").glob("*.toml")} == set(CARDS.values())


def test_the_german_card_prints_german_items():
    estimate = price(read(RateCard, "cards", "eur-de"), read(Brief, "briefs", "seegras-im-bodden"))
    items = [line.item for line in estimate.lines]
    assert "Ailsa Gannet: Regie und Unterwasserkamera (0.75 Überstunden)" in items
    assert "Rowan Lark: Kamera (halber Tag)" in items
    assert "Nutzungsrechte: Seegras im Bodden" in items
    assert "Nachlass: gemeinnütziger Auftraggeber" in items
    # 690 + 25 % = 862.50 a day of 10 h; 10.75 h worked: three quarters of an hour at 1.25 x 86.25, on two days
    assert estimate.lines[2].amount == Money("1886.72", "EUR")


def test_the_estimate_is_ready_for_json(starter_card, kelp_brief):
    import json

    data = price(starter_card, kelp_brief).data()
    assert json.loads(json.dumps(data)) == data
    assert set(data) == {"currency", "lines", "sections", "net", "chosen", "weather", "deposit", "warnings"}
    first = data["lines"][0]
    assert set(first) == {"section", "item", "quantity", "unit", "rate", "amount", "why", "working"}
    assert first["working"]["parts"][0]["rule"] == "crew.rate"
    assert Decimal(data["net"]) == sum(Decimal(line["amount"]) for line in data["lines"])


def test_every_line_says_its_rule_and_why(starter_card, kelp_brief):
    for line in price(starter_card, kelp_brief).lines:
        assert line.working.rule
        assert line.why
        assert line.working.amount is not None
        assert line.working.amount.rounded() == line.amount


def test_each_day_has_its_price_in_the_lines_of_the_quote(starter_card, kelp_brief):
    estimate = price(starter_card, kelp_brief)
    quoted = [QuotedLine.of(line) for line in estimate.lines]
    days = day_prices(starter_card, kelp_brief, quoted, currency="GBP", holiday=lambda day: False)
    assert [f"{day.on} {day.kind}" for day in days] == [
        "2027-05-06 prep", "2027-05-09 travel", "2027-05-10 water", "2027-05-11 dry", "2027-05-12 water",
        "2027-05-13 dry", "2027-05-14 travel",
    ]  # fmt: skip
    sections = estimate.section_totals()
    for section in ("crew", "kit"):
        parts = [part.amount.amount for day in days for part in day.parts if part.section == section]
        assert sum(parts) == sections[section].amount
    # 5 % of crew, kit and post: the days bear the share of crew and kit, to the penny that splitting leaves
    off = sum(part.amount.amount for day in days for part in day.parts if part.section == "discount")
    assert abs(off + (sections["crew"] + sections["kit"]).amount * Decimal("0.05")) < Decimal("0.01")
    alike, also = days[2].price, days[4].price
    assert abs((alike - also).amount) <= Decimal("0.01")  # the two water days are alike
    assert alike > days[5].price  # and cost more than the sauna evening


def test_a_day_of_the_brief_is_found_by_its_date(kelp_brief):
    from datetime import date

    from bizkit.domain.errors import NotFound

    day = kelp_brief.day_on(date(2027, 5, 12))
    assert (day.place, day.count) == ("Kelp trail, Otter Sound", 1)
    with pytest.raises(NotFound, match=r"days: wanted a known day of the brief, got 2027-05-20"):
        kelp_brief.day_on(date(2027, 5, 20))
