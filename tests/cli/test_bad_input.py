"""Bad input: one clear line that names file, field, wanted and got; exit code 2 or 1; nothing half-written."""

from __future__ import annotations

from pathlib import Path

import pytest

BRIEF = "follow-the-kelp"
BRIEF_FILE = f"briefs/{BRIEF}.toml"


def everything(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def refused(bizkit, studio):
    """Runs a command that must fail, checks its line, one for each problem, and that the studio is as it was."""

    def call(*arguments: object, code: int, said: tuple[str, ...]) -> None:
        before = everything(studio)
        done = bizkit(*arguments)
        assert done.code == code, done.err or done.out
        assert done.out == ""
        lines = done.err.splitlines()
        assert all(line.startswith("bizkit: ") for line in lines)
        for part in said:
            assert part in lines[0]
        assert everything(studio) == before

    return call


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'roles = ["director"]',
            'roles = ["directr"]',
            ("days[1].crew[1].roles", "directr", "Did you mean director?"),
        ),
        ('"land_set", "drone"]', '"land_set", "dron"]', ("kit", "dron", "Did you mean drone?")),
        ("date = 2027-05-11", "date = 2027-05-01", ("days", "date", "2027-05-01")),
        ('currency = "GBP"', 'currency = "EUR"', ("currency", "GBP", "EUR")),
        ('currency = "GBP"', 'currency = "POUNDS"', ("currency", "ISO 4217", "POUNDS")),
        ("percent = 50", "percent = 40", ("stages", "add up to 100", "90")),
        ("cost = 75", "cost = -75", ("costs[5].cost", "-75")),
        ("cost = 75", "cost = nan", ("costs[5].cost", "NaN")),
        ("quantity = 24", "quantity = 2.5", ("deliverables", "quantity", "whole number", "2.5")),
        ("months = 12", "months = 0", ("licence.months", "1..1200", "0")),
        ("rounds = 2", "round = 2", ("deliverables[1]", "known key", "round", "Did you mean rounds?")),
        (
            'client = "skerrow-islands-tourism"',
            'client = "skerrow"',
            ("client", "skerrow", "skerrow-islands-tourism"),
        ),
        ('key = "follow-the-kelp"', 'key = "Follow the Kelp"', ("key", "lower-case", "Follow the Kelp")),
        ('territory = "United Kingdom and Ireland"', 'territory = "Atlantis"', ("licence.territory", "Atlantis")),
        ("percent = 5\nreason", "percent = 105\nreason", ("discount.percent", "105")),
        ("percent = 5\nreason = ", "percent = 5\nwhy = ", ("discount.reason",)),
    ],
)
def test_a_wrong_brief(refused, studio, change, old, new, said):
    change(studio / BRIEF_FILE, old, new)
    refused("price", BRIEF, code=2, said=(f"{BRIEF}.toml", *said))
    refused("quote", "draft", BRIEF, code=2, said=(f"{BRIEF}.toml", *said))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("day_rate = 520", "day_rate = -520", ("day_rate", "0 or more", "-520")),
        ("day_rate = 520", 'day_rate = "dear"', ("day_rate", "number", "dear")),
        ("day_rate = 520", "day_rate = true", ("day_rate", "number", "True")),
        ('currency = "GBP"', 'currency = "GPB"', ("currency", "GPB")),
        ("valid_days = ", "valid_dayz = ", ("valid_dayz", "Did you mean valid_days?")),
        ("[", "[[[", ("in TOML", "at end of document")),
    ],
)
def test_a_wrong_rate_card(refused, studio, change, old, new, said):
    if old == "[":
        (studio / "rate-card.toml").write_text("name = [[[", encoding="utf-8")
    else:
        change(studio / "rate-card.toml", old, new)
    refused("rates", "check", code=2, said=("rate-card.toml", *said))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('country = "GB" ', 'country = "UK" ', ("country", "UK", "The United Kingdom is GB")),
        ('country = "GB" ', 'country = "ZZ" ', ("country", "ZZ")),
        ("GB29 NWBK 6016 1331 9268 19", "GB29 NWBK 6016 1331 9268 18", ("bank.iban", "IBAN")),
        ('number = "GB980780684"', 'number = "GB980780685"', ("tax.number", "GB980780685")),
        ('accent = "#0b6e6e"', 'accent = "teal"', ("accent", "#0b6e6e", "teal")),
        ("GL-{year}-{number:04}", "GL-{year}", ("numbers.invoice", "No {number}")),
        ('paper_size = "A4"', 'paper_size = "A5"', ("paper_size", "A5", "Letter")),
    ],
)
def test_wrong_studio_details(refused, studio, change, old, new, said):
    change(studio / "studio.toml", old, new)
    refused("rates", "check", code=2, said=("studio.toml", *said))


def test_an_unknown_subdivision_is_named_when_working_days_are_counted(bizkit, job, studio, change):
    change(studio / "studio.toml", 'subdivision = "SCT"', 'subdivision = "XYZ"')
    done = bizkit("deliverable", "list")
    assert done.code == 2
    assert "studio.toml: subdivision: wanted a known subdivision, got XYZ" in done.err


def test_a_wrong_tax_number_of_a_client(refused, studio, change):
    change(studio / "clients" / "skerrow-islands-tourism.toml", "business = true", 'tax_number = "GB123456789"')
    refused("price", BRIEF, code=2, said=("skerrow-islands-tourism.toml", "tax_number", "GB123456789"))


def test_a_client_abroad_without_evidence_of_business(refused, studio, change):
    change(studio / "clients" / "skerrow-islands-tourism.toml", 'country = "GB"', 'country = "NO"')
    refused("price", BRIEF, code=1, said=("Skerrow Islands Tourism", "NO", "business_evidence"))


def test_a_folder_that_is_no_studio(bizkit, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for arguments in (["status"], ["price", "x.toml"], ["quote", "list", "--studio", tmp_path]):
        done = bizkit(*arguments)
        assert done.code == 2
        assert "Make one with: bizkit init FOLDER" in done.err
    assert list(tmp_path.iterdir()) == []


def test_files_that_are_missing_or_no_text(refused, studio):
    refused("price", "nowhere.toml", code=2, said=("nowhere.toml", "wanted a brief", "no such file"))
    refused("price", studio, code=2, said=("a folder",))
    (studio / "briefs" / "image.toml").write_bytes(b"\xff\xfe\x00\x01")
    refused("price", "image", code=2, said=("image.toml", "UTF-8"))


def test_unknown_names_suggest_the_nearest(bizkit, job):
    for arguments, said in (
        (["quote", "show", "Q-2027-0002"], "Did you mean Q-2027-0001?"),
        (["job", "show", "follow-the-kepl"], "Did you mean follow-the-kelp?"),
        (["deliverable", "notes", job, "campain-film", "--text", "x"], "Did you mean campaign-film?"),
        (["invoice", "show", "GL-2027-0009"], "None was issued yet"),
    ):
        done = bizkit(*arguments)
        assert done.code == 2
        assert said in done.err


def test_sending_accepting_or_invoicing_what_is_not_there(refused):
    refused("quote", "send", BRIEF, code=1, said=("no draft to send", "bizkit quote draft"))
    refused("quote", "accept", "Q-2027-0001", code=2, said=("wanted a known quote",))
    refused("invoice", "issue", BRIEF, code=2, said=("wanted a known job", "Accept a quote first"))


def test_wrong_dates_amounts_and_stages(bizkit, job):
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    for arguments, code, said in (
        (["quote", "list", "--on", "2027-13-01"], 2, "--on: wanted a date as YYYY-MM-DD, got 2027-13-01"),
        (["invoice", "paid", "GL-2027-0001", "ten", "--on", "2027-03-01"], 2, "AMOUNT: wanted an amount"),
        (["invoice", "paid", "GL-2027-0001", "0", "--on", "2027-03-01"], 2, "above zero"),
        (["invoice", "paid", "GL-2027-0001", "1.001", "--on", "2027-03-01"], 2, "whole minor units"),
        (["invoice", "paid", "GL-2027-0001", "10", "--currency", "EUR", "--on", "2027-03-01"], 1, "is in GBP"),
        (["invoice", "issue", job, "--stage", "3"], 2, "wanted a stage from 1 to 2, got 3"),
        (["price", BRIEF, "--why", "99"], 2, "--why: wanted a line from 1 to"),
    ):
        done = bizkit(*arguments)
        assert done.code == code, done.err
        assert said in done.err
    assert bizkit("invoice", "show", "GL-2027-0001", "--json").data["payments"] == []


def test_papers_that_cannot_be_filed(bizkit, job, scan, studio, tmp_path):
    text = tmp_path / "release.txt"
    text.write_text("not a scan", encoding="utf-8")
    base = ["release", "add", job, "--who", "Finn Sinclair"]
    on = ["--on", "2027-05-14"]
    for arguments, code, said in (
        ([*base, "--signed", "2027-05-13", "--scan", tmp_path / "gone.pdf", *on], 2, "no such file"),
        ([*base, "--signed", "2027-05-13", "--scan", text, *on], 2, "wanted a scan (PDF, PNG or JPEG)"),
        ([*base, "--signed", "2027-05-13", *on], 2, "--scan: wanted the signed paper"),
        ([*base, "--scan", scan, *on], 2, "--signed: wanted the day of signature"),
        ([*base, "--signed", "2027-05-15", "--scan", scan, *on], 1, "is after 2027-05-14"),
        ([*base, "--signed", "2027-05-13", "--scan", scan, "--born", "2017-08-02", *on], 1, "--guardian"),
        ([*base, "--signed", "2027-05-13", "--scan", scan, "--until", "2027-05-01", *on], 2, "--until"),
        ([*base, "--signed", "2027-05-13", "--scan", scan, "--media", "telepathy", *on], 2, "--media"),
        ([*base, "--signed", "2027-05-13", "--scan", scan, "--where", "North America", *on], 2, "--where"),
    ):
        done = bizkit(*arguments)
        assert done.code == code, done.err
        assert said in done.err
    assert bizkit("release", "list", job, "--json").data == []
    assert not (studio / "papers" / "scans").exists()


def test_eighteen_on_the_day_of_signature_needs_no_guardian(bizkit, job, scan):
    base = ["release", "add", job, "--who", "Finn Sinclair", "--signed", "2027-05-13", "--scan", scan]
    assert bizkit(*base, "--born", "2009-05-14", "--on", "2027-05-14").code == 1
    assert bizkit(*base, "--born", "2009-05-13", "--on", "2027-05-14").code == 0


def test_hostile_names_break_nothing(bizkit, studio, change):
    name = 'Kelp <b>& "Söhne" =1+1 Ωκεανός Океан 🦑'
    change(studio / "clients" / "skerrow-islands-tourism.toml", '"Skerrow Islands Tourism"', f"'{name}'")
    change(studio / BRIEF_FILE, 'title = "Follow the Kelp"', f"title = '{name}'")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    sent = bizkit("quote", "send", BRIEF, "--json", "--on", "2027-01-26")
    assert sent.code == 0, sent.err
    assert Path(sent.data["file"]).read_bytes().startswith(b"%PDF-")
    assert sent.data["title"] == name
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-01-27").code == 0
    assert bizkit("invoice", "issue", BRIEF, "--on", "2027-01-27").code == 0
    for command in (["quote", "list"], ["job", "show", BRIEF], ["status"], ["invoice", "show", "GL-2027-0001"]):
        done = bizkit(*command, "--on", "2027-01-28")
        assert done.code == 0
    assert bizkit("verify").code == 0


def test_exact_decimals_from_the_file_to_the_total(bizkit, studio, change):
    # 0.1 + 0.2 is 0.30000000000000004 in binary floats; three lines of a tenth must be 0.30.
    change(studio / BRIEF_FILE, "cost = 75", "cost = 0.1\nquantity = 3")
    lines = bizkit("price", BRIEF, "--json").data["lines"]
    (line,) = [line for line in lines if line["item"].startswith("Site permission")]
    assert (line["rate"], line["quantity"], line["amount"]) == ("0.10", "3", "0.30")
