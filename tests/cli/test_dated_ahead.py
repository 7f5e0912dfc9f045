"""A date after today for anything numbered, signed, received, paid, granted or sent needs --reason, kept with it."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, date, datetime, timedelta

import pytest

#: Every command that takes --on. An act writes down what happened on that day; a reading, a draft or a form does not.
ACTS = {
    "quote send", "quote accept", "quote decline", "quote cancel", "quote postpone", "quote reopen",
    "job client", "job order", "day log", "day move", "cost add", "cost reverse", "cost receipt",
    "charge add", "charge waive",
    "deliverable send", "deliverable notes", "deliverable answer", "deliverable agree", "deliverable approve",
    "deliverable reopen",
    "deliverable check", "handover make", "archive add", "archive remove", "schedule save", "schedule move", "shots",
    "invoice issue", "invoice deposit", "invoice proforma", "invoice credit", "invoice paid", "invoice settle",
    "payment add", "payment refund", "payment transfer", "payment receipt",
    "bank import", "bank book", "bank aside", "bank reopen",
    "late charge", "late pause", "late remind", "statement", "overhead add", "overhead tax",
    "overhead receipt", "mileage add",
    "evidence add", "send", "rights link", "rights grant", "rights certificate", "rights end", "rights first-use",
    "release add", "release sign", "permission add", "holding add", "holding correct", "holding withdraw",
    "holding drop", "holding sign", "person set", "person erase", "papers lost",
}  # fmt: skip
READINGS = {
    "price", "weather plan", "kit bookings", "kit clashes", "kit payback", "kit service", "quote draft", "quote list",
    "quote show", "job list", "job show", "deliverable list", "deliverable show", "archive list", "schedule show",
    "calendar", "invoice list", "invoice show", "late list", "report debtors", "report cash", "report margin",
    "report days", "report income", "report tax", "report quarter", "report mileage", "report bundle",
    "rights check", "rights use", "rights explain", "rights list", "rights ending", "rights renew", "rights offer",
    "rights export", "rights sidecar", "release list", "permission list", "holding list", "person list",
    "person export", "papers form", "release form", "permission form", "status", "brief copy", "quote discard",
}  # fmt: skip


def option(parameter):
    """`--reason`; the name of an argument."""
    return next((one for one in parameter.opts if one.startswith("--")), parameter.name)


TODAY = datetime.now(UTC).date()
SOON = TODAY + timedelta(days=20)
MEANT = "is after today: if it is meant, say why with --reason"


@pytest.fixture
def real_studio(studio, make_real):
    """A studio for real business, with nothing in it yet."""
    make_real(studio)
    return studio


def test_every_command_with_a_day_is_an_act_or_a_reading(commands):
    with_day = {name for name, command in commands.items() if "--on" in map(option, command.params)}
    assert with_day == ACTS | READINGS
    assert not ACTS & READINGS


def test_every_act_takes_a_reason(commands):
    assert [name for name in sorted(ACTS) if "--reason" not in map(option, commands[name].params)] == []


#: What to type for what a command must be told, by its name in the command.
WORDS = {
    "job": "follow-the-kelp", "key": "follow-the-kelp", "quote": "Q-2027-0001", "deliverable": "campaign-film",
    "invoice": "GL-2027-0001", "name": "Q-2027-0001", "licence": "LC-2027-0001", "person": "Finn Sinclair",
    "client": "skerrow-islands-tourism", "charge": "1", "entry": "1", "movement": "1", "payment": "1", "paper": "1",
    "cost": "1", "step": "answer-1", "date": "2026-01-31", "sum_": "12.50", "kind": "boat", "what": "a thing",
    "call": "08:00", "wrap": "18:00", "to": "2028-02-01", "place": "Skerrow", "purpose": "recce", "by": "Una Flett",
    "received": "2026-01-31", "until": "2028-03-01", "distance": "12", "start": "Skerrow", "end": "Selkie Bay",
    "who": "Finn Sinclair", "about": "Finn Sinclair", "origin": "Skerrow", "destination": "Selkie Bay",
    "number": "GL-2027-0001",
    "source": "GL-2027-0001", "target": "GL-2027-0002", "overhead": "1",
}  # fmt: skip
#: And what else makes it an act.
MORE = {
    "bank book": ["1", "--yes"],
    "archive add": ["--months", "12"],
    "deliverable answer": ["1", "--text", "done"],
    "deliverable check": ["--job", "follow-the-kelp", "--deliverable", "campaign-film"],
    "deliverable notes": ["--text", "shorter"],
    "payment add": ["--client", "skerrow-islands-tourism"],
    "person erase": ["--yes"],
    "holding correct": ["--media", "online"],
    "rights link": ["campaign-film", "--who", "Finn Sinclair"],
    "shots": ["--carry"],
    "schedule move": ["--save"],
}


@pytest.fixture
def signature(tmp_path):
    """A drawn signature."""
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", (400, 160), "white")
    ImageDraw.Draw(picture).line([(20, 120), (200, 40), (380, 120)], fill="black", width=6)
    picture.save(tmp_path / "signature.png")
    return tmp_path / "signature.png"


@pytest.mark.parametrize("name", sorted(ACTS))
def test_no_act_is_dated_ahead_without_a_reason(bizkit, job, studio, commands, scan, signature, make_real, name):
    make_real(studio)
    command = commands[name]
    words = {**WORDS, "file": scan, "files": scan, "signature": signature, "folder": studio / "jobs"}
    if name.startswith("holding"):
        words["kind"] = "talent_release"
    arguments = []
    for one in command.params:
        if one.required and option(one) != "--reason":
            arguments += [option(one)] if option(one).startswith("--") else []
            arguments.append(words[one.name])
    reason_asked = name == "person erase" or any(option(one) == "--reason" and one.required for one in command.params)
    on = (TODAY + timedelta(days=366), "no reason carries further than") if reason_asked else (SOON, MEANT)
    before = events(studio)
    done = bizkit(
        *name.split(), *arguments, *MORE.get(name, ()), *(["--reason", "x"] if reason_asked else ()), "--on", on[0]
    )
    assert (done.code, done.out) == (1, ""), done.err
    assert f"--on {on[0]} is after today" in done.err
    assert on[1] in done.err
    assert events(studio) == before


def events(studio):
    with sqlite3.connect(studio / "book.sqlite") as book:
        return [(verb, json.loads(data)) for verb, data in book.execute("SELECT verb, data FROM event ORDER BY id")]


def test_the_reason_is_kept_with_what_happened(bizkit, real_studio):
    bizkit("quote", "draft", "follow-the-kelp")
    refused = bizkit("quote", "send", "follow-the-kelp", "--on", SOON)
    assert (refused.code, refused.err.strip()) == (1, f"bizkit: --on {SOON} {MEANT}")
    sent = bizkit("quote", "send", "follow-the-kelp", "--on", SOON, "--reason", "their new budget", "--json")
    assert sent.data["document"]["issued_on"] == SOON.isoformat()
    verb, kept = events(real_studio)[-1]
    kept.pop("floor")  # what the price was held against, kept with the sending
    assert (verb, kept) == (
        "sent",
        {
            "number": sent.data["number"], "revision": 1, "to": "", "reason": "their new budget",
            "dated_ahead": "their new budget",
        },
    )  # fmt: skip


def test_nothing_is_dated_further_ahead_than_a_quarter_whatever_the_reason(bizkit, real_studio):
    bizkit("quote", "draft", "follow-the-kelp")
    late = bizkit("quote", "send", "follow-the-kelp", "--on", f"{TODAY.year + 180}-02-03", "--reason", "their budget")
    assert (late.code, late.out) == (1, "")
    assert "is after today: no reason carries further than " in late.err
    assert bizkit("quote", "send", "follow-the-kelp").code == 0


def test_a_number_dated_ahead_locks_no_series(bizkit, real_studio, change):
    change(real_studio / "studio.toml", "GL-{year}-{number:04}", "GL-{number:05}")
    change(real_studio / "studio.toml", "GLC-{year}-{number:04}", "GLC-{number:05}")
    bizkit("quote", "draft", "follow-the-kelp")
    bizkit("quote", "send", "follow-the-kelp")
    bizkit("quote", "accept", "follow-the-kelp")
    ahead = bizkit("invoice", "issue", "follow-the-kelp", "--on", SOON, "--reason", "their new budget", "--json")
    assert ahead.data["number"] == "GL-00001"
    # The next number is dated today, and dates are in order again from there.
    now = bizkit("invoice", "issue", "follow-the-kelp", "--stage", "2", "--reason", "asked for", "--json")
    assert (now.data["number"], now.data["document"]["issued_on"]) == ("GL-00002", date.today().isoformat())
    bizkit("invoice", "credit", "GL-00002", "--reason", "asked for by mistake")
    before = TODAY - timedelta(days=3)
    refused = bizkit("invoice", "issue", "follow-the-kelp", "--stage", "2", "--reason", "asked for", "--on", before)
    assert refused.code == 1
    assert "cannot be dated" in refused.err
    # What was dated ahead is taken back on its own day.
    credit = ("invoice", "credit", "GL-00001", "--reason", "dated by mistake")
    assert bizkit(*credit).code == 1
    assert bizkit(*credit, "--on", SOON).code == 0


def test_money_received_is_not_dated_ahead_either(bizkit, real_studio):
    bizkit("quote", "draft", "follow-the-kelp")
    bizkit("quote", "send", "follow-the-kelp")
    bizkit("quote", "accept", "follow-the-kelp")
    deposit = ("invoice", "deposit", "follow-the-kelp", "500", "--received", SOON)
    refused = bizkit(*deposit)
    assert (refused.code, refused.err.strip()) == (1, f"bizkit: --received {SOON} {MEANT}")
    assert bizkit(*deposit, "--on", SOON, "--reason", "it is on its way").code == 0


def test_a_movement_of_a_day_to_come_is_not_booked_without_a_reason(bizkit, real_studio, tmp_path):
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "follow-the-kelp")
    left = bizkit("invoice", "issue", "follow-the-kelp", "--json").data["gross"]
    with (real_studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write('\n[statement.harbour]\ndate = "Date"\namount = "Amount"\ntext = "Details"\n')
    far = SOON.replace(year=SOON.year + 36)
    path = tmp_path / "may.csv"
    number = f"GL-{TODAY.year}-0001"
    path.write_text(
        f"Date,Details,Amount\n{SOON:%d/%m/%Y},{number},{left}\n{far:%d/%m/%y},{number},{left}\n", encoding="utf-8"
    )
    said = bizkit("bank", "import", path).out
    assert "2 movements are dated after today" in said
    sure = bizkit("bank", "book", "--sure", "--yes", "--json").data
    assert (sure["booked"], [one["entry"] for one in sure["ahead"]]) == ([], [1, 2])
    for movement, day in (("1", SOON), ("2", far)):
        for how in (("--yes",), ("--invoice", number)):
            refused = bizkit("bank", "book", movement, *how)
            assert (refused.code, f"movement {movement} of {day} is after today" in refused.err) == (1, True)
    assert bizkit("bank", "book", "2", "--yes", "--reason", "it is so").code == 1
    assert bizkit("payment", "list", "--json").data == []
    done = bizkit("bank", "book", "1", "--yes", "--reason", "the bank dates it ahead", "--json")
    assert done.data["booked"]["parts"][0]["number"] == number
    kept = [data for verb, data in events(real_studio) if data.get("dated_ahead") == "the bank dates it ahead"]
    assert kept


def test_what_is_rightly_to_come_needs_no_reason(bizkit, real_studio):
    for command in (
        ("price", "follow-the-kelp"), ("quote", "draft", "follow-the-kelp"), ("quote", "list"), ("status",),
        ("report", "cash"), ("kit", "bookings"),
    ):  # fmt: skip
        assert bizkit(*command, "--on", SOON).code == 0, command
    bizkit("quote", "send", "follow-the-kelp")
    bizkit("quote", "accept", "follow-the-kelp")
    preview = bizkit("quote", "cancel", "follow-the-kelp", "--preview", "--on", SOON)
    assert preview.code == 0, preview.err


def test_a_day_that_has_begun_somewhere_on_earth_is_not_ahead(bizkit, real_studio):
    bizkit("quote", "draft", "follow-the-kelp")
    # UTC+14, the first zone to begin a day: IANA tz database, Pacific/Kiritimati.
    there = (datetime.now(UTC) + timedelta(hours=14)).date()
    sent = bizkit("quote", "send", "follow-the-kelp", "--on", there, "--json")
    assert sent.data["document"]["issued_on"] == there.isoformat()
    assert "dated_ahead" not in events(real_studio)[-1][1]


def test_a_practice_studio_takes_any_day(bizkit, job, studio):
    far = f"{TODAY.year + 180}-02-03"
    assert bizkit("invoice", "issue", job, "--on", far, "--json").data["document"]["issued_on"] == far
    assert "dated_ahead" not in events(studio)[-1][1]
