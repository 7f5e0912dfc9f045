"""Costs with receipts, and what was quoted against what it came to."""

from __future__ import annotations

import hashlib
import zipfile
from decimal import Decimal

import pytest


def add(bizkit, job, kind, amount, *more):
    return bizkit("cost", "add", job, "--kind", kind, "--amount", amount, "--on", "2027-05-12", *more, "--json")


def test_a_cost_is_filed_with_its_receipt_by_checksum(bizkit, job, scan, studio):
    assert "No costs yet" in bizkit("cost", "list").out
    done = add(bizkit, job, "boat", "1,188.00", "--supplier", "Skerrow Boats", "--receipt", scan).data
    assert (done["amount"], done["what"]) == ("1188.00", "Boat with skipper")
    digest = hashlib.sha256(scan.read_bytes()).hexdigest()
    assert done["receipt"] == digest
    assert (studio / done["file"]).read_bytes() == scan.read_bytes()
    (row,) = bizkit("cost", "list", job, "--json").data
    assert (row["file"], row["charged_on"]) == (done["file"], False)
    assert bizkit("verify").code == 0
    (studio / done["file"]).write_bytes(b"%PDF-forged")
    assert "not the file that was filed" in bizkit("verify").out


def test_a_cost_in_another_currency_is_converted_at_a_typed_rate(bizkit, job):
    done = add(bizkit, job, "flight", "100.50", "--currency", "EUR", "--rate", "0.86", "--rate-source", "card bill")
    assert (done.data["in_job"], done.data["rate"]) == ("86.43", "0.86")  # 86.43 exactly
    for more, said in (
        (["--currency", "EUR"], "--rate: wanted how many GBP one EUR is"),
        (["--currency", "EUR", "--rate", "0.86"], "--rate-source: wanted who says so"),
        (["--currency", "EUR", "--rate", "-1", "--rate-source", "x"], "--rate: wanted a rate above 0"),
        (["--rate", "0.86"], "--rate: wanted no rate, as the job is in GBP too"),
        (["--currency", "EURO"], "wanted an ISO 4217 currency code"),
    ):
        refused = add(bizkit, job, "flight", "100.50", *more)
        assert (refused.code, said in refused.err) == (2, True), refused.err


def test_a_cost_the_quote_has_not_is_charged_on_with_the_cards_markup(bizkit, job):
    done = add(bizkit, job, "boat", "540", "--what", "Second boat", "--to-client").data
    assert done["charged"]["amount"] == "594.00"  # + 10 %
    (charge,) = bizkit("charge", "list", job, "--json").data["charges"]
    assert (charge["item"], charge["amount"], charge["source"]) == ("Second boat", "594.00", "cost 1")
    assert bizkit("cost", "list", job, "--json").data[0]["charged_on"] is True
    # A section has no markup of its own.
    light = add(bizkit, job, "kit", "100", "--what", "Light", "--to-client").data
    assert light["charged"]["amount"] == "100.00"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["bota", "10"], "--kind: wanted a known kind of cost or section, got bota. Did you mean boat?"),
        (["boat", "ten"], "--amount: wanted an amount such as 184.50, got ten"),
        (["boat", "0"], "other than zero"),
        (["boat", "1.005"], "whole minor units"),
        (["boat", "-5", "--to-client"], "--to-client: wanted an amount above zero"),
        (["boat", "10", "--receipt", "gone.pdf"], "no such file"),
        (["boat", "10", "--receipt", "rate-card.toml"], "another kind of file"),
    ],
)
def test_costs_that_cannot_be_recorded(bizkit, job, arguments, said):
    done = add(bizkit, job, *arguments)
    assert (done.code, said in done.err) == (2, True), done.err
    assert len(done.err.splitlines()) == 1
    assert bizkit("cost", "list", "--json").data == []


def test_quoted_against_actual_adds_up_for_every_section(bizkit, job):
    add(bizkit, job, "boat", "1080")
    add(bizkit, job, "boat", "-80")  # a wrong entry taken back
    add(bizkit, job, "ferry", "371.20")
    add(bizkit, job, "crew", "250", "--what", "Local safety swimmer's invoice")
    add(bizkit, job, "boat", "200", "--to-client")
    bizkit("day", "log", job, "2027-05-10", "--call", "07:30", "--wrap", "19:30", "--on", "2027-05-12")
    data = bizkit("job", "actual", job, "--json").data
    document = bizkit("quote", "show", job, "--json").data["document"]
    assert data["total"]["quoted"] == document["net"]
    for column in ("quoted", "charged", "spent", "left"):
        assert sum(Decimal(row[column]) for row in data["sections"]) == Decimal(data["total"][column])
    sections = {row["section"]: row for row in data["sections"]}
    assert (sections["travel"]["spent"], sections["travel"]["charged"]) == ("1571.20", "220.00")
    assert sections["crew"]["spent"] == "250.00"
    overrun = [row for row in bizkit("charge", "list", "--json").data["charges"] if row["kind"] == "overrun"]
    assert Decimal(sections["crew"]["charged"]) == sum(Decimal(row["amount"]) for row in overrun) > 0
    kinds = {row["kind"]: row for row in data["costs"]}
    # quoted with markup: 2 boats at 540.00 + 10 % and 2 ferries at 178.50
    assert (kinds["boat"]["quoted"], kinds["boat"]["spent"], kinds["boat"]["difference"]) == (
        "1188.00",
        "1200.00",
        "-12.00",
    )
    assert kinds["ferry"]["difference"] == "-14.20"
    assert data["days"] == {"planned": 4, "logged": 1}
    assert data["margin"]["so_far"]["direct_costs"] == data["total"]["spent"]
    text = bizkit("job", "actual", job).out
    assert "CHARGED ON TOP" in text
    assert "Shoot days logged: 1 of 4" in text


def test_the_margin_so_far_is_income_and_costs_as_they_stand(bizkit, studio):
    (studio / "floor.toml").write_text(
        "income = 34000\ntax_percent = 24\npension_percent = 8\nbillable_days = 200\n[costs]\nall = 14000\n", "utf-8"
    )
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, "follow-the-kelp", "--on", "2027-01-26")
    add(bizkit, "follow-the-kelp", "boat", "1500")
    data = bizkit("job", "actual", "follow-the-kelp", "--json").data
    quoted, now = data["margin"]["quoted"], data["margin"]["so_far"]
    assert now["direct_costs"] == "1500.00"
    assert (now["days"], now["income"]) == (quoted["days"], quoted["income"])
    assert Decimal(now["margin"]) == Decimal(now["income"]) - 1500 - Decimal(now["days_cost"])


def test_a_paper_filed_for_two_costs_is_told(bizkit, job, scan):
    words = ("--kind", "boat", "--amount", "1080", "--receipt", scan, "--on", "2027-05-11")
    first = bizkit("cost", "add", job, *words)
    assert (first.code, "The same paper" in first.out) == (0, False)
    second = bizkit("cost", "add", job, *words)
    assert "The same paper is the receipt of cost 1" in second.out
    third = bizkit("overhead", "add", "Boat", "1080", "--receipt", scan, "--on", "2027-05-11", "--json").data
    assert third["same_paper"] == ["cost 1", "cost 2"]


def test_what_is_charged_to_the_client_says_what_it_was(bizkit, job):
    words = ("cost", "add", job, "--kind", "kit", "--amount", "90", "--to-client", "--agreed", "Una", "--on")
    bare = bizkit(*words, "2027-05-11")
    assert (bare.code, "--what: wanted what it was" in bare.err, len(bare.err.splitlines())) == (2, True, 1)
    assert bizkit("cost", "list", job, "--json").data == []
    done = bizkit(*words, "2027-05-11", "--what", "Underwater light", "--json")
    assert done.data["charged"]["item"] == "Underwater light"
    assert bizkit("cost", "add", job, "--kind", "kit", "--amount", "90", "--on", "2027-05-11").code == 0


@pytest.mark.parametrize(("typed", "alone"), [("£1,200", "1,200"), ("5 000", "5000"), ("5000.00GBP", "5000.00")])
def test_an_amount_with_a_currency_is_to_be_typed_alone(bizkit, job, typed, alone):
    done = bizkit("cost", "add", job, "--kind", "boat", "--amount", typed, "--on", "2027-05-11")
    assert (done.code, f"Type it alone: {alone}" in done.err) == (2, True)


def test_a_cost_that_says_just_what_another_says_is_looked_at(bizkit, job):
    def typed(*more):
        done = bizkit("cost", "add", job, "--kind", "boat", "--amount", "540", "--on", "2027-05-12", *more)
        assert done.code == 0, done.err
        return done.out

    assert "says just the same" not in typed("--to-client", "--agreed", "Una")
    assert "Look: cost 1 of this day says just the same; if it was typed twice" in typed("--to-client")
    assert "says just the same" not in typed("--supplier", "Skerrow Boats")
    for number in ("1", "2"):
        bizkit("cost", "reverse", number, "--reason", "typed twice", "--on", "2027-05-12")
    assert "says just the same" not in typed()


def test_tax_that_is_reclaimed_with_no_receipt_on_file_is_looked_at(bizkit, job, scan):
    def typed(*more):
        done = bizkit("cost", "add", job, "--kind", "boat", "--on", "2027-05-12", *more)
        assert done.code == 0, done.err
        return done.out

    said = "Look: no receipt is on file for the tax that is reclaimed"
    lost = typed("--amount", "1080", "--tax", "180")
    assert f"{said}; once you have it, bizkit cost receipt 1 FILE" in lost
    assert said not in typed("--amount", "1081", "--tax", "180", "--receipt", scan)
    assert said not in typed("--amount", "1082")
    noted = bizkit("overhead", "tax", "3", "180.33", "--on", "2027-05-13")
    assert (noted.code, said in noted.out) == (0, True), noted.err
    assert said not in bizkit("overhead", "tax", "2", "180.10", "--on", "2027-05-13").out


def test_an_overhead_is_looked_at_as_a_cost_is(bizkit, job, scan):
    def typed(*more):
        done = bizkit("overhead", "add", "Insurance", "120", "--on", "2027-05-12", *more)
        assert done.code == 0, done.err
        return done.out

    assert "Look" not in typed()
    assert "Look: overhead 1 of this day says just the same; if it was typed twice, record it once more" in typed()
    assert "Look: no receipt is on file for the tax that is reclaimed" in typed("--tax", "20")
    assert "Look" not in typed("--tax", "19", "--receipt", scan)


def test_a_receipt_that_is_found_later_is_filed_with_its_cost(bizkit, job, scan, tmp_path):
    ferry = ("cost", "add", job, "--kind", "boat", "--amount", "1080", "--tax", "180", "--on", "2027-05-12")
    assert bizkit(*ferry).code == 0
    assert bizkit("overhead", "add", "Rope", "24", "--tax", "4", "--on", "2027-05-12").code == 0
    done = bizkit("cost", "receipt", "1", scan, "--on", "2027-05-20")
    assert (done.code, done.out.splitlines()[0]) == (0, "Receipt of cost 1: Boat with skipper"), done.err
    filed = bizkit("overhead", "receipt", "1", scan, "--on", "2027-05-20", "--json").data
    assert filed["same_paper"] == ["cost 1"]
    rows = bizkit("cost", "list", job, "--json").data + bizkit("overhead", "list", "--json").data
    assert [row["receipt"] for row in rows] == [filed["receipt"]] * 2
    assert rows[0]["file"] == filed["file"]
    file = tmp_path / "year.zip"
    bundle = ("report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out", file, "--on", "2027-12-31")
    assert bizkit(*bundle).code == 0
    with zipfile.ZipFile(file) as made:
        names = [name for name in made.namelist() if name.startswith("receipts/")]
        assert names == [f"receipts/{filed['receipt']}{scan.suffix}"]
        assert made.read("costs.csv").decode("utf-8-sig").count(names[0]) == 2
    assert bizkit("verify").code == 0
    for typed, code, said in (
        (("cost", "receipt", "1", scan), 1, "cost 1 has its receipt"),
        (("overhead", "receipt", "1", scan), 1, "overhead 1 has its receipt"),
        (("cost", "receipt", "7", scan), 2, "cost"),
    ):
        refused = bizkit(*typed, "--on", "2027-05-21")
        assert refused.code == code, (typed, refused.err)
        assert (len(refused.err.splitlines()), said in refused.err) == (1, True), refused.err
