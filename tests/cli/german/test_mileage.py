"""Journeys of a studio in a country whose flat rates are not shipped: by the rate card's own table."""

from __future__ import annotations

DRIVE = ["mileage", "add", "92", "--from", "Kiel", "--to", "Husum", "--purpose", "Dreh", "--on", "2027-05-10"]


def test_the_cards_own_table_prices_a_journey(bizkit, german):
    # 92 km at the starter's invented 0.42.
    done = bizkit(*DRIVE, "--json")
    assert done.code == 0, done.err
    assert (done.data["amount"], done.data["currency"], done.data["unit"]) == ("38.64", "EUR", "km")
    (row,) = bizkit("report", "mileage", "--on", "2027-12-31", "--json").data["rows"]
    assert row["amount"] == "38.64"
    cycle = bizkit(*DRIVE, "--vehicle", "cycle")
    assert (cycle.code, "The rate card's [mileage] is for a car" in cycle.err) == (2, True)


def test_without_a_table_the_message_says_where_it_goes(bizkit, german):
    card = german / "rate-card.toml"
    text = card.read_text(encoding="utf-8")
    start = text.index("\n[mileage]")
    card.write_text(text[:start] + text[text.index("\n[usage", start) :], encoding="utf-8")
    done = bizkit(*DRIVE)
    assert (done.code, "Give your own table under [mileage] in rate-card.toml" in done.err) == (2, True)
