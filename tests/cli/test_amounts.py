"""One reader of typed numbers: what two people could read differently is refused, at every door."""

from __future__ import annotations

import re
import shutil
import sys

import pytest

#: What kind of number an option or argument takes, by the last word of what its help shows.
KINDS = ("AMOUNT", "PERCENT", "RATE", "HOURS", "DISTANCE", "N")
#: Words in the name of what is a number of money, of a share or of a measure.
NUMERIC = re.compile(r"amount|sum|price|fee\b|cost|tax|rate|percent|opening|account|hours|distance|most|least")
#: Whose names hold such a word, and that are none: what they are instead.
NO_NUMBER = {
    "--currency", "--account-currency", "--rate-source", "--home-rate-source", "--tax-note",
    ("invoice issue", "--tax"),  # standard, reduced, zero or exempt
    "--fee-tax",  # taxed or untaxed
    ("deliverable notes", "--rate"),  # frames a second, a fraction
    ("bank list", "--all"), ("overhead tax", "COST"), ("weather learn", "--least-days"), ("quote postpone", "--lost"),
    ("cost reverse", "COST"), ("cost receipt", "COST"),
}  # fmt: skip

JOB = "follow-the-kelp"
SETTINGS = """
[[late.reference_rates]]
on = 2026-12-31
rate = 4
source = "invented"

[statement.harbour]
date = "Date"
amount = "Amount"
text = "Details"
date_format = "dd/mm/yyyy"
"""


def name_of(parameter):
    return next((one for one in parameter.opts if one.startswith("--")), parameter.metavar or parameter.name)


def kind_of(parameter):
    """AMOUNT, PERCENT...; empty for what is no number."""
    last = re.findall(r"[A-Z]+", parameter.metavar or "")[-1:]
    return last[0] if last and last[0] in KINDS else ""


@pytest.fixture(scope="session")
def doors(commands):
    """Every option and argument that takes a number, as (command, name) -> kind."""
    return {
        (command, name_of(one)): kind_of(one)
        for command, found in commands.items()
        for one in found.params
        if kind_of(one)
    }


def test_no_number_hides_in_an_option_that_does_not_say_so(commands):
    hidden = [
        f"{command} {name_of(one)}"
        for command, found in commands.items()
        for one in found.params
        if NUMERIC.search(one.name) and not kind_of(one) and not {name_of(one), (command, name_of(one))} & NO_NUMBER
        if not getattr(one, "is_flag", False)
    ]
    assert hidden == []


#: How each door is opened, the number last or at {}. A door that is not here fails the test below.
OPENED = {
    ("cost add", "--amount"): ["cost", "add", JOB, "--kind", "boat", "--amount", "{}"],
    ("cost add", "--rate"): [
        "cost", "add", JOB, "--kind", "boat", "--amount", "10", "--currency", "EUR", "--rate-source", "x",
        "--rate", "{}",
    ],
    ("cost add", "--tax"): ["cost", "add", JOB, "--kind", "boat", "--amount", "9000", "--tax", "{}"],
    ("cost add", "--tax-rate"): ["cost", "add", JOB, "--kind", "boat", "--amount", "9000", "--tax-rate", "{}"],
    ("charge add", "--amount"): ["charge", "add", JOB, "--what", "x", "--reason", "y", "--amount", "{}"],
    ("quote cancel", "--post-done"): ["quote", "cancel", JOB, "--preview", "--post-done", "{}"],
    ("deliverable agree", "--price"): ["deliverable", "agree", JOB, "campaign-film", "--by", "Una", "--price", "{}"],
    ("day log", "--meal-hours"): [
        "day", "log", JOB, "2027-05-11", "--call", "08:00", "--wrap", "18:00", "--meal-hours", "{}",
    ],
    ("invoice deposit", "AMOUNT"): ["invoice", "deposit", JOB, "--received", "2027-02-10", "--", "{}"],
    ("invoice credit", "--amount"): ["invoice", "credit", "GL-2027-0001", "--reason", "x", "--amount", "{}"],
    ("invoice credit", "--line"): ["invoice", "credit", "GL-2027-0001", "--reason", "x", "--line", "1={}"],
    ("invoice paid", "[AMOUNT]"): ["invoice", "paid", "GL-2027-0001", "--", "{}"],
    ("payment add", "AMOUNT"): ["payment", "add", "--invoice", "GL-2027-0001", "--", "{}"],
    ("payment add", "--fee"): ["payment", "add", "10", "--invoice", "GL-2027-0001", "--fee", "{}"],
    ("payment add", "--account"): [
        "payment", "add", "10", "--invoice", "GL-2027-0001", "--account-currency", "EUR", "--account", "{}",
    ],
    ("payment add", "--invoice"): ["payment", "add", "10", "--invoice", "GL-2027-0001={}"],
    ("payment transfer", "[AMOUNT]"): ["payment", "transfer", "GL-2027-0001", "GL-2027-0002", "--", "{}"],
    ("payment refund", "[AMOUNT]"): ["payment", "refund", "GL-2027-0001", "--", "{}"],
    ("bank book", "--fee"): ["bank", "book", "1", "--yes", "--fee", "{}"],
    ("bank book", "--invoice"): ["bank", "book", "1", "--invoice", "GL-2027-0001={}"],
    ("overhead add", "AMOUNT"): ["overhead", "add", "insurance", "--", "{}"],
    ("overhead add", "--tax"): ["overhead", "add", "insurance", "9000", "--tax", "{}"],
    ("overhead add", "--tax-rate"): ["overhead", "add", "insurance", "9000", "--tax-rate", "{}"],
    ("overhead tax", "AMOUNT"): ["overhead", "tax", "1", "--", "{}"],
    ("mileage add", "DISTANCE"): ["mileage", "add", "--from", "a", "--to", "b", "--purpose", "c", "--", "{}"],
    ("report cash", "--opening"): ["report", "cash", "--opening", "{}"],
    **{
        ("weather learn", f"--{side}"): ["weather", "learn", "past.csv", "--most", "wave_m=2", f"--{side}", "x={}"]
        for side in ("most", "least", "dry-most", "dry-least")
    },
    # An invoice in euros of a British studio: its tax is in pounds too (SI 1995/2518 reg 14).
    ("invoice issue", "--home-rate"): [
        "invoice", "issue", "euro", "--stage", "2", "--reason", "x", "--home-rate-source", "x", "--home-rate", "{}",
    ],
    ("invoice settle", "--home-rate"): [
        "invoice", "settle", "euro", "--reason", "x", "--home-rate-source", "x", "--home-rate", "{}",
    ],
    ("invoice deposit", "--home-rate"): [
        "invoice", "deposit", "euro", "10", "--received", "2027-02-10", "--home-rate-source", "x",
        "--home-rate", "{}",
    ],
    ("late charge", "--home-rate"): [
        "late", "charge", "GL-2027-0002", "--home-rate-source", "x", "--home-rate", "{}",
    ],
}  # fmt: skip

#: What is refused everywhere, and how it could be read.
NOWHERE = {
    "184,50": ("184.50", "18450"), "17,5": ("17.5", "175"), "-0,5": ("-0.5", "-5"), "1.234,50": ("1234.50",),
    "12,34,567": ("1234567",), "1,23.5": ("123.5",), "0,861": ("0.861", "861"),
    "1_000": (), "１２": (), "1e3": (), "Infinity": (), "NaN": (), "0x10": (), "12 ½": (), "£12": (),
    "1 234.50": (), "12.": (),
}  # fmt: skip
#: What is refused of a rate or a distance, where both readings make sense.
DOUBTFUL = {"1,234": ("1.234", "1234"), "1.234": ("1.234", "1234")}


@pytest.fixture(scope="session")
def billed_studio(job_studio, tmp_path_factory):
    """A job that is billed, a cost, a movement, a round that waits, a job in euros with a charge; copied only."""
    from bizkit.cli.main import run

    path = tmp_path_factory.mktemp("billed") / "studio"
    shutil.copytree(job_studio, path)
    with (path / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(SETTINGS)
    (path / "past.csv").write_text("date,wind_kn,wave_m\n2026-05-01,5,0.5\n", encoding="utf-8")
    (path / "july.csv").write_text("Date,Details,Amount\n01/03/2027,GL-2027-0001,100.00\n", encoding="utf-8")
    brief = (path / "briefs" / f"{JOB}.toml").read_text(encoding="utf-8")
    euro = brief.replace(f'key = "{JOB}"', 'key = "euro"').replace('currency = "GBP"', 'currency = "EUR"')
    euro = euro.replace("[discount]", '[exchange]\nrate = 1.16\non = 2027-01-20\nsource = "x"\n\n[discount]')
    (path / "briefs" / "euro.toml").write_text(euro, encoding="utf-8")

    def typed(*words):
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("BIZKIT_WHO", "Ailsa Gannet")
            patch.setattr(sys, "argv", ["bizkit", *words, "--on", "2027-02-08", "--studio", str(path)])
            with pytest.raises(SystemExit) as left:
                run()
        assert not left.value.code, words

    for verb in ("draft", "send", "accept"):
        typed("quote", verb, "euro")
    typed("invoice", "issue", JOB)
    typed("invoice", "issue", "euro", "--home-rate", "0.86", "--home-rate-source", "x")
    typed("cost", "add", JOB, "--kind", "boat", "--amount", "9000")
    typed("charge", "add", "euro", "--what", "x", "--amount", "10", "--reason", "y", "--agreed", "Una, by mail")
    typed("bank", "import", str(path / "july.csv"))
    for number in range(1, 5):
        (path / "cut.mov").write_bytes(b"cut %d" % number)
        typed("deliverable", "send", JOB, "campaign-film", str(path / "cut.mov"))
        typed("deliverable", "notes", JOB, "campaign-film", "--text", "shorter")
    return path


@pytest.fixture
def billed(billed_studio, tmp_path, monkeypatch):
    shutil.copytree(billed_studio, tmp_path / "billed")
    monkeypatch.chdir(tmp_path / "billed")


def test_every_door_is_tried(doors):
    assert set(doors) == set(OPENED)


@pytest.mark.parametrize("door", OPENED, ids=" ".join)
def test_what_two_people_could_read_differently_is_refused_at_every_door(bizkit, commands, doors, billed, door):
    on = ["--on", "2027-05-20"] if any(name_of(one) == "--on" for one in commands[door[0]].params) else []
    wrong = dict(NOWHERE)
    if doors[door] in ("RATE", "DISTANCE", "N"):
        wrong |= DOUBTFUL
    if doors[door] in ("AMOUNT", "DISTANCE"):
        wrong |= {"1.234": ("1.234", "1234")}
    option = door[1].strip("[]")
    for text, readings in wrong.items():
        words = [one.replace("{}", text) for one in OPENED[door]]
        split = words.index("--") if "--" in words else len(words)
        done = bizkit(*words[:split], *on, *words[split:])
        assert (done.code, done.out) == (2, ""), (text, done)
        assert option in done.err, (text, done.err)
        assert text in done.err
        read = f"It can be read as {' or as '.join(readings)}" if readings else "It can be read"
        assert (read in done.err) == bool(readings), (text, done.err)


def test_a_comma_that_can_only_group_thousands_is_read(bizkit, job):
    add = ("cost", "add", job, "--kind", "boat", "--on", "2027-05-01", "--json", "--amount")
    for typed, read in {
        "1,184.50": "1184.50",
        "1,234": "1234.00",
        "1,234,567.00": "1234567.00",
        ".5": "0.50",
    }.items():
        assert bizkit(*add, typed).data["amount"] == read
    drive = ("mileage", "add", "--from", "a", "--to", "b", "--purpose", "c", "--on", "2027-05-01", "--json")
    assert bizkit(*drive, "1,234.5").data["distance"] == "1234.5"
    assert bizkit(*drive, "7.125").data["distance"] == "7.125"  # 7125 is more than a journey can be
    overhead = ("overhead", "add", "cable", "1000", "--on", "2027-05-01", "--json", "--tax-rate")
    assert bizkit(*overhead, "5.125").data["tax"] == "48.75"  # 1000 x 5.125 / 105.125


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("minimum = 184,50", "It can be read as 184.50 or as 18450. A decimal sign is a point here"),
        ("minimum = 1.950,00  # pounds", "It can be read as 1950.00. A decimal sign is a point here"),
        ("minimum = 29/03/2027", "A date is written 2027-03-29, the day last"),
    ],
)
def test_a_number_that_toml_does_not_know_is_told_too(bizkit, studio, change, typed, said):
    change(studio / "rate-card.toml", "minimum = 950", typed)
    done = bizkit("rates", "check")
    assert (done.code, done.out, len(done.err.splitlines())) == (2, "", 1)
    assert "rate-card.toml: wanted a rate card in TOML" in done.err
    assert said in done.err


def test_a_number_in_quotes_in_a_file_is_read_as_one_that_is_typed(bizkit, studio, change):
    price = ("price", "follow-the-kelp", "--json", "--on", "2027-01-26")
    net = bizkit(*price).data["net"]
    card = studio / "rate-card.toml"
    change(card, "minimum = 950", 'minimum = "1,950.00"')
    assert bizkit(*price).data["net"] == net
    change(card, '"1,950.00"', '"950,00"')
    done = bizkit(*price)
    assert done.code == 2
    assert "rate-card.toml: fees.minimum: wanted a number of 0 or more, got 950,00. " in done.err
    assert "It can be read as 950.00 or as 95000" in done.err
