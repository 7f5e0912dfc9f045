"""Cards and briefs that cannot be used: one clear line naming file, field, wanted and got."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.estimate import price

CREW = '[crew.camera]\ntitle = "Camera"\nday_rate = 430\n'
DAY = '[[days]]\nkind = "dry"\n'
FILM = '[[deliverables]]\nkey = "film"\ntitle = "Film"\nkind = "film"\n'
STAGE = '[[stages]]\ntitle = "{}"\npercent = {}\nwhen = {}\n'


def stages(*rows):
    return "".join(STAGE.format(f"Stage {number}", percent, when) for number, (percent, when) in enumerate(rows))


CARDS = {
    "no role": ("", "crew: wanted one role or more, as [crew.NAME] tables, got none"),
    "negative rate": (CREW.replace("430", "-430"), "crew.camera.day_rate: wanted a number of 0 or more, got -430"),
    "rate in words": (CREW.replace("430", '"lots"'), "crew.camera.day_rate: wanted a number of 0 or more, got lots"),
    "rate as yes": (CREW.replace("430", "true"), "crew.camera.day_rate: wanted a number of 0 or more, got True"),
    "not a number": (CREW.replace("430", "nan"), "crew.camera.day_rate: wanted a number of 0 or more, got NaN"),
    "endless": (CREW.replace("430", "inf"), "crew.camera.day_rate: wanted a number of 0 or more, got Infinity"),
    "unknown key": (CREW + "dayrate = 1\n", "crew.camera: wanted a known key, got dayrate. Did you mean day_rate?"),
    "unknown table": (CREW + "[crw]\n", "wanted a known key, got crw. Did you mean crew?"),
    "factor below zero": (
        CREW + "[[overtime]]\nfrom = 0\nfactor = -1.5\n",
        "overtime[1].factor: wanted a number of 0 or more, got -1.5",
    ),
    "percent below zero": (
        CREW + "[day.percent]\nprep = -1\n",
        "day.percent.prep: wanted a number of 0 or more, got -1",
    ),
    "unknown kind of day": (
        CREW + "[day.percent]\ntravle = 50\n",
        "day.percent.travle: wanted a known kind of day, got travle. Did you mean travel?",
    ),
    "bands that overlap": (
        CREW + "[[overtime]]\nfrom = 0\nuntil = 4\nfactor = 1\n[[overtime]]\nfrom = 3\nfactor = 2\n",
        "overtime[2].from: wanted a band that starts where the one before ends (4 h), got 3 h, so the two overlap",
    ),
    "bands with a gap": (
        CREW + "[[overtime]]\nfrom = 0\nuntil = 4\nfactor = 1\n[[overtime]]\nfrom = 4.5\nfactor = 2\n",
        "overtime[2].from: wanted a band that starts where the one before ends (4 h), got 4.5 h, which leaves a gap",
    ),
    "bands from past zero": (
        CREW + "[[overtime]]\nfrom = 1\nfactor = 1\n",
        "overtime[1].from: wanted a band that starts where the one before ends (0 h), got 1 h, which leaves a gap",
    ),
    "a ladder that goes down": (
        CREW + "[[overtime]]\nfrom = 0\nuntil = 4\nfactor = 2\n[[overtime]]\nfrom = 4\nfactor = 1.5\n",
        "overtime[2].factor: wanted 2 or more, as a ladder never goes down, got 1.5",
    ),
    "a ladder that ends": (
        CREW + "[[overtime]]\nfrom = 0\nuntil = 4\nfactor = 2\n",
        "overtime: wanted a last band without an end (no until), got one that ends at 4 h",
    ),
    "a band after the open one": (
        CREW + "[[overtime]]\nfrom = 0\nfactor = 2\n[[overtime]]\nfrom = 4\nfactor = 3\n",
        "overtime[2].from: wanted no band after one without an end, got 4",
    ),
    "a band that ends before it starts": (
        CREW + "[[overtime]]\nfrom = 0\nuntil = 0\nfactor = 2\n",
        "overtime[1].until: wanted an end after 0 h, got 0 h",
    ),
    "rest ladder that goes down": (
        CREW + "[[rest.penalty]]\nfrom = 0\nuntil = 1\nfactor = 2\n[[rest.penalty]]\nfrom = 1\nfactor = 1\n",
        "rest.penalty[2].factor: wanted 2 or more, as a ladder never goes down, got 1",
    ),
    "an odd step": (
        CREW + "[day]\novertime_step_minutes = 25\n",
        "day.overtime_step_minutes: wanted a step that divides the hour (15, 30, 60), got 25",
    ),
    "hours of no minutes": (
        CREW + "[day]\nhours = 7.333\n",
        "day.hours: wanted hours that make whole minutes, such as 7.25, got 7.333",
    ),
    "a half day longer than the day": (
        CREW + "[day]\nhours = 4\nhalf_day_hours = 5\n",
        "day.half_day_hours: wanted no more than the 4 h of a day, got 5",
    ),
    "a day of no hours": (CREW + "[day]\nhours = 0\n", "day.hours: wanted a day of more than 0 hours, got 0"),
    "a time of no clock": (
        CREW + '[night]\nfrom = "25:00"\nuntil = "06:00"\npercent = 50\n',
        'night.from: wanted a time of day such as "08:30", got 25:00',
    ),
    "fixed rate of unknown roles": (
        CREW + '[[several_roles.fixed]]\nroles = ["camera", "editr"]\nday_rate = 1\n',
        "several_roles.fixed[1].roles: wanted a known role, got editr. Known: camera",
    ),
    "no such currency": (CREW, "currency: wanted an ISO 4217 currency code such as GBP or EUR, got GBX"),
    "kit with two rates": (
        CREW + '[kit.a]\ntitle = "A"\nday_rate = 1\ncost_per_day = 1\n',
        "kit.a.day_rate: wanted one of day_rate, percent_of_value or cost_per_day (sub-hired), "
        "got day_rate and cost_per_day",
    ),
    "kit with none": (
        CREW + '[kit.a]\ntitle = "A"\n',
        "kit.a.day_rate: wanted one of day_rate, percent_of_value or cost_per_day (sub-hired), got nothing",
    ),
    "a share of no value": (
        CREW + '[kit.a]\ntitle = "A"\npercent_of_value = { 1 = 3 }\n',
        "kit.a.value: wanted the replacement value that percent_of_value is taken of, got nothing",
    ),
    "a price ladder that goes down": (
        CREW + '[kit.a]\ntitle = "A"\nvalue = 100\npercent_of_value = { 1 = 3, 2 = 2 }\n',
        "kit.a.percent_of_value: wanted percentages that never go down, got 3, 2",
    ),
    "a price ladder with a day missing": (
        CREW + '[kit.a]\ntitle = "A"\nvalue = 100\npercent_of_value = { 1 = 3, 3 = 4 }\n',
        "kit.a.percent_of_value: wanted days 1, 2, 3... (up to 7) with their percentages, got 1, 3",
    ),
    "a bundle inside itself": (
        CREW + '[bundles.a]\ntitle = "A"\nitems = ["a"]\n',
        "bundles.a.items: wanted a bundle that is not inside itself, got a -> a",
    ),
    "a bundle of unknown things": (
        CREW + '[kit.lens]\ntitle = "L"\nday_rate = 1\n[bundles.a]\ntitle = "A"\nitems = ["lnes"]\n',
        "bundles.a.items: wanted a known kit item or bundle, got lnes. Did you mean lens?",
    ),
    "a bundle named as an item": (
        CREW + '[kit.a]\ntitle = "A"\nday_rate = 1\n[bundles.a]\ntitle = "A"\nitems = ["a"]\n',
        "bundles.a.title: wanted a bundle name that no item has, got a",
    ),
    "a service interval without a date": (
        CREW + '[kit.a]\ntitle = "A"\nday_rate = 1\nservice_every_days = 100\n',
        "kit.a.serviced_on: wanted the date of the last service, got nothing",
    ),
    "insurance by value of unknown value": (
        CREW + '[hire]\ninsurance_percent_of_value_per_day = 1\n[kit.a]\ntitle = "A"\nday_rate = 1\n',
        "kit.a.value: wanted the replacement value, as the card insures kit by its value, got nothing",
    ),
    "insurance twice": (
        CREW + "[hire]\ninsurance_percent_of_value_per_day = 1\ninsurance_percent_of_hire = 1\n",
        "hire.insurance_percent_of_hire: wanted insurance by the hire or by the value, got both",
    ),
    "a week of nine days": (CREW + "[hire]\nweek_days = 9\n", "hire.week_days: wanted a number 0..7, got 9"),
    "an unknown word": (
        CREW + '[words]\nadn = "und"\n',
        "words.adn: wanted a known word, got adn. Did you mean and?",
    ),
    "a word that lost its blank": (
        CREW + '[words]\ndiscount = "Nachlass"\n',
        "words.discount: wanted text like 'Discount: {reason}', got Nachlass",
    ),
    "a word with a trick in its blank": (
        CREW + '[words]\ndiscount = "Nachlass {reason.__class__}"\n',
        "words.discount: wanted text like 'Discount: {reason}', got Nachlass {reason.__class__}",
    ),
    "a word with a loose brace": (
        CREW + '[words]\nweather_days = "{count} Tage }"\n',
        "words.weather_days: wanted text like '{count} days', got {count} Tage }",
    ),
    "discount steps that go down": (
        CREW + '[[discount.by_days]]\ndays = 3\npercent = 5\nreason = "a"\n'
        '[[discount.by_days]]\ndays = 2\npercent = 6\nreason = "b"\n',
        "discount.by_days[2].days: wanted more days than the step before (3), for no less, got 2",
    ),
    "a deal that ends before it starts": (
        CREW + '[deals.a]\ntitle = "A"\nclient = "c"\ndays = 1\ncovers = ["camera"]\n'
        "starts = 2027-05-02\nends = 2027-05-01\n",
        "deals.a.ends: wanted a day on or after starts (2027-05-02), got 2027-05-01",
    ),
    "mileage of another currency": (
        CREW + '[mileage]\ncountry = "GB"\n',
        "mileage.country: wanted a country whose rates are in EUR, got rates in GBP",
    ),
}  # fmt: skip

BRIEFS = {
    "key with blanks": (
        "",
        "key: wanted lower-case letters, digits and hyphens, such as follow-the-kelp, got Follow it. Write follow-it",
    ),
    "stages short of the whole": (
        stages((50, '"acceptance"'), (49.9, '"delivery"')),
        "stages: wanted stages that add up to 100 %, got 99.9 %",
    ),
    "stages over the whole": (
        stages((50, '"acceptance"'), (50.01, '"delivery"')),
        "stages: wanted stages that add up to 100 %, got 100.01 %",
    ),
    "a stage of nothing": (stages((0, '"acceptance"')), "stages[1].percent: wanted more than 0, got 0"),
    "a stage of no moment": (
        stages((100, '"delivry"')),
        "stages[1].when: wanted acceptance, first_shoot_day, delivery or a date such as 2027-05-03, got delivry. "
        "Did you mean delivery?",
    ),
    "stages backwards": (
        stages((50, "2027-05-02"), (50, "2027-05-01")),
        "stages[2].when: wanted a date on or after the stage before it (2027-05-02), got 2027-05-01",
    ),
    "days backwards": (
        DAY + "date = 2027-05-11\n" + DAY + "date = 2027-05-10\n",
        "days[2].date: wanted a date on or after the day before it in the file (2027-05-11), got 2027-05-10",
    ),
    "a date in quotes": (
        DAY + 'date = "2027-05-11"\n', "days[1].date: wanted a date such as 2027-05-03 (no quotes), "
        "got 2027-05-11. A date is written 2027-05-11, without quotes"),
    "asked after the shoot": (
        "asked_on = 2027-05-12\n" + DAY + "date = 2027-05-11\n",
        "asked_on: wanted a date on or before the first shoot day (2027-05-11), got 2027-05-12",
    ),
    "due before the shoot": (
        DAY + "date = 2027-05-11\ncount = 2\n" + FILM + "due_on = 2027-05-11\n",
        "deliverables[1].due_on: wanted a date on or after the last shoot day (2027-05-12), got 2027-05-11",
    ),
    "due twice": (
        FILM + "due_on = 2027-05-11\ndue_days = 3\n",
        "deliverables[1].due_on: wanted either due_days or due_on, got both",
    ),
    "negative rounds": (FILM + "rounds = -1\n", "deliverables[1].rounds: wanted a whole number of 0 or more, got -1"),
    "half a film": (
        FILM + "quantity = 1.5\n",
        "deliverables[1].quantity: wanted a whole number of 1 or more, got 1.5",
    ),
    "two deliverables of one key": (
        FILM + FILM, "deliverables[2].key: wanted a key no other deliverable has, got film"),
    "an unknown kind of day": (
        '[[days]]\nkind = "wter"\n',
        "days[1].kind: wanted one of dry, hold, prep, recce, travel, water, wrap, got wter. Did you mean water?",
    ),
    "no days": (DAY + "count = 0\n", "days[1].count: wanted a whole number 1..366, got 0"),
    "hours and call": (
        DAY + 'hours = 10\ncall = "08:00"\nwrap = "18:00"\n',
        "days[1].hours: wanted either hours, or call and wrap, got both",
    ),
    "a call without a wrap": (
        DAY + 'call = "08:00"\n', "days[1].wrap: wanted both call and wrap, or neither, got nothing"),
    "a call that is no time": (
        DAY + 'call = "8 am"\nwrap = "18:00"\n', 'days[1].call: wanted a time of day such as "08:30", got 8 am'),
    "too many hours": (DAY + "hours = 25\n", "days[1].hours: wanted a number 0..24, got 25"),
    "half a day by the hour": (
        DAY + "half_day = true\nby_hour = true\nhours = 2\n",
        "days[1].by_hour: wanted a half day or a call by the hour, got both",
    ),
    "by the hour without hours": (
        DAY + "by_hour = true\n", "days[1].hours: wanted the hours of a call by the hour, got nothing"),
    "no roles": (
        DAY + 'crew = [{ person = "A", roles = [] }]\n',
        "days[1].crew[1].roles: wanted one role or more, each once, got nothing",
    ),
    "a role twice": (
        DAY + 'crew = [{ roles = ["camera", "camera"] }]\n',
        "days[1].crew[1].roles: wanted one role or more, each once, got camera, camera",
    ),
    "two people of one name": (
        DAY + 'crew = [{ person = "A", people = 2, roles = ["camera"] }]\n',
        "days[1].crew[1].people: wanted no number of people beside a named person, got 2",
    ),
    "none of an item": (DAY + "kit = { camera = 0 }\n", "days[1].kit.camera: wanted a whole number 1..1000, got 0"),
    "negative cost": (
        '[[costs]]\nkind = "ferry"\ncost = -1\n',
        "costs[1].cost: wanted a number of 0 or more, got -1",
    ),
    "no such currency": (
        'currency = "GBX"\n',
        "currency: wanted an ISO 4217 currency code such as GBP or EUR, got GBX",
    ),
    "unknown key": ('titel = "x"\n', "wanted a known key, got titel. Did you mean title?"),
    "licence of an unknown work": (
        FILM + '[licence]\nmedia = "owned_channels"\nterritory = "GB"\nmonths = 12\nworks = ["flim"]\n',
        "licence.works: wanted a known deliverable, got flim. Did you mean film?",
    ),
    "a chance above one": ("[weather]\nchance = 1.2\n", "weather.chance: wanted a number 0..1, got 1.2"),
}  # fmt: skip


def read(kind, head, text, where):
    return kind.read(tomllib.loads(head + text, parse_float=Decimal), where=where)


@pytest.mark.parametrize("name", CARDS)
def test_a_card_that_cannot_be_used_says_why(name):
    text, line = CARDS[name]
    currency = {"no such currency": "GBX", "mileage of another currency": "EUR"}.get(name, "GBP")
    head = f'name = "Test"\ncurrency = "{currency}"\nvalid_from = 2026-01-01\n'
    with pytest.raises(BadInput) as caught:
        read(RateCard, head, text, "card.toml")
    assert str(caught.value) == f"card.toml: {line}"
    assert caught.value.exit_code == 2


@pytest.mark.parametrize("name", BRIEFS)
def test_a_brief_that_cannot_be_used_says_why(name):
    text, line = BRIEFS[name]
    key = "Follow it" if name == "key with blanks" else "follow-the-kelp"
    head = f'key = "{key}"\nclient = "skerrow"\ntitle = "Follow the Kelp"\n'
    with pytest.raises(BadInput) as caught:
        read(Brief, head, text, "brief.toml")
    assert str(caught.value) == f"brief.toml: {line}"


def test_numbers_of_the_file_are_exact(card, brief):
    # 0.1 + 0.2 is exactly 0.3, and 3 x 1.15 is exactly 3.45: no binary float in between.
    rates = card(CREW.replace("430", "1.15") + "[[overtime]]\nfrom = 0\nfactor = 0.1\n")
    estimate = price(rates, brief(DAY + 'count = 3\ncrew = [{ roles = ["camera"] }]\n'))
    assert estimate.net.text == "3.45"
    assert str(rates.crew.overtime.bands[0].factor) == "0.1"


def test_a_window_shorter_than_the_days_needed_is_refused(card, brief):
    short = DAY.replace("dry", "water") + "count = 3\n" + "[weather]\ndays = 2\nchance = 0.6\n"
    with pytest.raises(BadInput, match=r"brief.toml: weather.days: wanted a window of 3 days or more, got 2 days"):
        price(card(CREW), brief(short))


def test_what_the_card_does_not_sell_names_the_brief_or_the_card(card, brief):
    usage = (
        "[usage]\n[usage.base]\nstills = 10\n[usage.media]\nowned_channels = 1\n[usage.territory]\n"
        "each_country = 1\n[usage.term]\n12 = 1\n"
    )
    asked = FILM + '[licence]\nmedia = "owned_channels"\nterritory = "GB"\nmonths = 12\n'
    with pytest.raises(BadInput, match=r"^card.toml: usage.base.film: wanted a base fee for film on the rate card"):
        price(card(CREW + usage), brief(asked))
    with pytest.raises(BadInput, match=r"^brief.toml: licence.media: "):
        price(card(CREW + usage.replace("stills", "film")), brief(asked.replace("owned_channels", "cinema")))
    assert price(card(CREW), brief(asked)).warnings == (
        "the licence has no price of its own: the rate card Test has no [usage]",
    )


def test_a_shoot_before_the_card_begins_is_warned_of(card, brief):
    estimate = price(card(CREW), brief(DAY + 'date = 2025-12-30\ncrew = [{ roles = ["camera"] }]\n'))
    assert estimate.warnings == ("the rate card Test begins on 2026-01-01, the shoot on 2025-12-30",)


def test_every_message_is_one_line(card):
    with pytest.raises(BadInput) as caught:
        card(CREW + '[[several_roles.fixed]]\nroles = ["camera", "a\\nb\\u0007"]\nday_rate = 1\n')
    assert re.fullmatch(r"[^\n\x07]+", str(caught.value))
