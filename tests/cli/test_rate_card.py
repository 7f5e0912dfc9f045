"""The rate card and the brief at the command line: what the card engine refuses, and quoting in another currency."""

from __future__ import annotations

from decimal import Decimal

import pypdf
import pytest

BRIEF = "follow-the-kelp"
BRIEF_FILE = f"briefs/{BRIEF}.toml"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        # Overlapping overtime bands, a ladder with a gap, a ladder that goes down, a factor below zero
        ("[[overtime]]\nfrom = 3", "[[overtime]]\nfrom = 1.5", "overtime[2].from: wanted a band that starts where"),
        ("[[overtime]]\nfrom = 3", "[[overtime]]\nfrom = 3.5", "which leaves a gap"),
        ("[[overtime]]\nfrom = 3", "[[overtime]]\nfrom = 1.5", "so the two overlap"),
        ("factor = 2\n", "factor = 1\n", "as a ladder never goes down"),
        ("factor = 2\n", "factor = -2\n", "wanted a number of 0 or more, got -2"),
        # A bundle inside itself
        (
            'items = ["camera_body", "lens_set", "tripod"]',
            'items = ["camera_body", "water_set", "land_set"]',
            "items: wanted a bundle that is not inside itself, got land_set -> land_set",
        ),
        # A mileage table with a gap
        (
            'country = "GB"\nvehicle = "car"',
            "periods = [{ starts = 2027-01-01, bands = "
            "[{ over = 0, up_to = 100, rate = 0.45 }, { over = 110, rate = 1 }] }]",
            "mileage.periods[1].bands[2].over: wanted 100, where the band before ends, got 110, a gap",
        ),
        (
            'country = "GB"\nvehicle = "car"',
            "periods = [{ starts = 2027-01-01, ends = 2027-03-31, bands = [{ over = 0, rate = 1 }] }, "
            "{ starts = 2027-05-01, bands = [{ over = 0, rate = 1 }] }]",
            "periods[2].starts: wanted 2027-04-01, the day after the period before ends, got 2027-05-01, a gap",
        ),
        ('country = "GB"\nvehicle = "car"', 'country = "FR"', "mileage.country: wanted a known country with mileage"),
        # The ladder of percents of a kit item's value
        (
            "{ 1 = 3, 2 = 6, 3 = 8,",
            "{ 1 = 3, 2 = 6, 3 = 5,",
            "percent_of_value: wanted percentages that never go down",
        ),
        ("overtime_step_minutes = 30", "overtime_step_minutes = 25", "a step that divides the hour"),
    ],
)
def test_a_card_that_cannot_be_is_refused_in_one_line(bizkit, studio, change, old, new, said):
    change(studio / "rate-card.toml", old, new)
    done = bizkit("rates", "check")
    assert done.code == 2
    assert "rate-card.toml: " in done.err
    assert said in done.err
    assert len(done.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("old", "new", "code", "said"),
    [
        # A window shorter than the days needed, a probability outside 0..1
        ("to = 2027-05-21", "to = 2027-05-12", 2, "weather.days: wanted a window of 4 days or more, got 3 days"),
        ("chance = { 5 = 0.6 }", "chance = { 5 = 1.1 }", 2, "weather.chance.5: wanted a number 0..1, got 1.1"),
        ("chance = { 5 = 0.6 }", "chance = -0.1", 2, "weather.chance: wanted a number 0..1, got -0.1"),
        ("memory = 0.3", "memory = 1", 2, "weather.memory: wanted a number below 1"),
        ("confidence = 0.9", "confidence = 90", 2, "weather.confidence: wanted a number 0..1, got 90"),
        ("chance = { 5 = 0.6 }", "chance = { 6 = 0.6 }", 2, "weather.chance: wanted a chance for month 5"),
        ("percent = 5\nreason", "percent = 40\nreason", 1, "40 % is more than the 20 % the rate card allows"),
        ("distance = 184", "distance = -1", 2, "mileage[1].distance: wanted a number of 0 or more, got -1"),
        ("on = 2027-05-09\n", "on = 1999-05-09\n", 2, "mileage[1].on: wanted a journey on or after"),
        ('kind = "boat"', 'kind = "bota"', 2, "Did you mean boat?"),
    ],
)
def test_a_brief_that_cannot_be_priced_says_why_in_one_line(bizkit, studio, change, old, new, code, said):
    change(studio / BRIEF_FILE, old, new)
    for command in (["price", BRIEF], ["quote", "draft", BRIEF], ["weather", "plan", BRIEF]):
        done = bizkit(*command, "--on", "2027-01-26")
        assert done.code == code, done.err
        assert said in done.err
        assert len(done.err.splitlines()) == 1
    assert bizkit("quote", "list", "--json").data == []


def test_one_person_is_never_paid_two_whole_days_on_one_date(bizkit, studio, change):
    change(studio / BRIEF_FILE, "date = 2027-05-11", "date = 2027-05-10")
    done = bizkit("price", BRIEF)
    assert (done.code, "wanted one whole day a person and date" in done.err) == (2, True)
    assert "Put all roles in one entry" in done.err


def test_a_deposit_for_kit_is_told_and_is_no_part_of_the_price(bizkit, studio, change):
    before = bizkit("price", BRIEF, "--json").data
    change(studio / BRIEF_FILE, 'kit = ["land_set", "sound_kit"]', 'kit = ["land_set", "sound_kit", "boom_crane"]')
    done = bizkit("price", BRIEF, "--json").data
    assert (before["deposit"], done["deposit"]) == ("", "400.00")
    assert sum(Decimal(one["amount"]) for one in done["lines"]) == Decimal(done["net"])
    assert "Deposit for kit, given back: GBP 400.00" in bizkit("price", BRIEF).out
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    sent = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(sent["file"]).pages).split())
    assert "A deposit of £400.00 is taken for the kit and given back" in text


# --- another currency

EXCHANGE = '\n[exchange]\nrate = 1.17\non = 2027-01-25\nsource = "studio bank, mid rate"\n'


@pytest.fixture
def in_euro(studio, change):
    change(studio / BRIEF_FILE, 'currency = "GBP"', 'currency = "EUR"')
    path = studio / BRIEF_FILE
    path.write_text(path.read_text(encoding="utf-8") + EXCHANGE, encoding="utf-8")
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    text = client.read_text(encoding="utf-8")
    client.write_text("\n".join(line for line in text.splitlines() if not line.startswith("currency")), "utf-8")
    return path


def test_a_card_in_pounds_quotes_in_euro_at_a_typed_rate(bizkit, studio, in_euro):
    done = bizkit("price", BRIEF, "--json", "--on", "2027-01-26").data
    assert done["currency"] == "EUR"
    assert done["exchange"] == {
        "rate": "1.17", "from": "GBP", "on": "2027-01-25", "source": "studio bank, mid rate",
    }  # fmt: skip
    line = next(one for one in done["lines"] if one["item"].startswith("Boat"))
    # 2 x (540.00 + 10 %) = 1,188.00 pounds at 1.17 = 1,389.96
    assert line["amount"] == "1389.96"
    assert "at 1.17 EUR for 1 GBP (2027-01-25, studio bank, mid rate)" in line["why"]
    assert line["working"]["source"] == "studio bank, mid rate"
    assert sum(Decimal(one["amount"]) for one in done["lines"]) == Decimal(done["net"])
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    sent = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(sent["file"]).pages).split())
    assert "Priced in GBP and converted at 1.17 EUR for 1 GBP (25 January 2027, studio bank, mid rate)." in text


def test_days_and_fees_of_a_job_in_another_currency_follow_its_rate(bizkit, studio, in_euro):
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, BRIEF, "--on", "2027-01-26")
    # Rowan's 13 hours of work on a 10-hour day were planned as 12: one more hour
    done = bizkit(
        "day", "log", BRIEF, "2027-05-11", "--call", "06:00", "--wrap", "20:00", "--on", "2027-05-12", "--json"
    ).data
    assert done["currency"] == "EUR"
    assert all("EUR for 1 GBP" in line["why"] for line in done["lines"])
    fee = bizkit("quote", "cancel", BRIEF, "--preview", "--on", "2027-05-05", "--json").data
    assert fee["currency"] == "EUR"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("rate = 1.17", "rate = 0", "exchange.rate: wanted a rate above 0"),
        ('source = "studio bank, mid rate"', "", "exchange.source: wanted text"),
        ("on = 2027-01-25\n", "", "exchange.on: wanted a date"),
        ('currency = "EUR"', 'currency = "GBP"', "wanted no [exchange] in a quote in GBP"),
    ],
)
def test_a_rate_that_is_not_whole_is_refused(bizkit, in_euro, change, old, new, said):
    text = in_euro.read_text(encoding="utf-8")
    at = text.rindex(old)
    in_euro.write_text(text[:at] + new + text[at + len(old) :], encoding="utf-8")
    done = bizkit("price", BRIEF)
    assert (done.code, said in done.err) == (2, True), done.err


def test_a_client_billed_in_one_currency_is_not_quoted_in_another(bizkit, in_euro, studio):
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    client.write_text('currency = "GBP"\n' + client.read_text(encoding="utf-8"), encoding="utf-8")
    done = bizkit("price", BRIEF)
    assert (done.code, "wanted GBP, the client's currency, got EUR" in done.err) == (2, True), done.err
