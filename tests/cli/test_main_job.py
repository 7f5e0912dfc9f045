"""The main job through the command line: brief, quote, job, deliverables, invoices, papers."""

from __future__ import annotations

import os
import stat
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest

BRIEF = "follow-the-kelp"


def text_of(path: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_init_makes_a_studio_for_the_owner_only(bizkit, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = bizkit("init", "my-studio")
    assert done.code == 0
    folder = tmp_path / "my-studio"
    assert {path.name for path in folder.iterdir()} == {
        "studio.toml", "rate-card.toml", "floor.toml", "clients", "briefs", "jobs", "papers", "book.sqlite",
        "schema",
    }  # fmt: skip
    if os.name == "posix":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert "invented" in (folder / "rate-card.toml").read_text(encoding="utf-8")
    again = bizkit("init", "my-studio")
    assert again.code == 2
    assert "wanted a new or empty folder" in again.err


@pytest.mark.parametrize("starter", ["gbp-uk", "eur-de"])
def test_every_starter_prices_its_sample_brief_and_draws_a_quote(bizkit, tmp_path, monkeypatch, starter):
    made = bizkit("init", tmp_path / "studio", "--starter", starter, "--practice", "--json").data
    monkeypatch.chdir(tmp_path / "studio")
    assert bizkit("rates", "check").code == 0
    priced = bizkit("price", made["brief"], "--json", "--on", "2027-01-26").data
    assert priced["currency"] == {"gbp-uk": "GBP", "eur-de": "EUR"}[starter]
    assert sum(Decimal(line["amount"]) for line in priced["lines"]) == Decimal(priced["net"])
    assert Decimal(priced["net"]) + Decimal(priced["tax"]) == Decimal(priced["gross"])
    rate = {"gbp-uk": "20", "eur-de": "19"}[starter]
    assert [tax["rate"] for tax in priced["taxes"]] == [rate]
    for line in priced["lines"]:
        assert line["why"]
        assert all(isinstance(line[name], str) for name in ("quantity", "rate", "amount"))
    key = bizkit("quote", "draft", made["brief"], "--json", "--on", "2027-01-26").data["key"]
    sent = bizkit("quote", "send", key, "--json", "--on", "2027-01-26").data
    assert sent["number"] in text_of(Path(sent["file"]))


def test_commands_find_the_studio_from_a_folder_inside_by_option_and_by_environment(bizkit, studio, monkeypatch):
    monkeypatch.chdir(studio / "clients")
    assert bizkit("quote", "list").code == 0
    monkeypatch.chdir(studio.parent)
    assert bizkit("quote", "list").code == 2
    assert bizkit("quote", "list", "--studio", studio).code == 0
    monkeypatch.setenv("BIZKIT_STUDIO", str(studio))
    assert bizkit("quote", "list").code == 0


def test_pricing_stores_nothing(bizkit, studio):
    before = (studio / "book.sqlite").read_bytes()
    assert bizkit("price", BRIEF).code == 0
    assert (studio / "book.sqlite").read_bytes() == before
    assert bizkit("quote", "list", "--json").data == []


def test_a_sent_quote_is_frozen_and_a_changed_brief_is_revision_two(bizkit, studio, change):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    first = bizkit("quote", "send", BRIEF, "--json", "--on", "2027-01-26").data
    assert (first["number"], first["revision"], first["valid_until"]) == ("Q-2027-0001", 1, "2027-02-25")

    same = bizkit("quote", "draft", BRIEF, "--on", "2027-02-01")
    assert same.code == 1
    assert "change something before making a new revision" in same.err

    change(studio / "briefs" / f"{BRIEF}.toml", "quantity = 24", "quantity = 30")
    bizkit("quote", "draft", BRIEF, "--on", "2027-02-03")
    second = bizkit("quote", "send", BRIEF, "--json", "--on", "2027-02-03").data
    assert (second["number"], second["revision"]) == ("Q-2027-0001", 2)
    assert second["gross"] != first["gross"]

    shown = bizkit("quote", "show", "Q-2027-0001", "--revision", 1, "--json", "--on", "2027-02-03").data
    assert shown["document"] == first["document"]
    assert shown["state"] == "replaced"
    assert "revision 2" in text_of(Path(second["file"]))
    states = [row["state"] for row in bizkit("quote", "list", "--json", "--on", "2027-02-03").data]
    assert states == ["replaced", "sent"]
    assert bizkit("quote", "accept", BRIEF, "--revision", 1, "--on", "2027-02-04").code == 1


def test_a_lapsed_quote_needs_a_reason(bizkit, studio):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    # valid until 2027-02-25, that day included
    late = bizkit("quote", "accept", BRIEF, "--on", "2027-02-26")
    assert late.code == 1
    assert "lapsed after 2027-02-25" in late.err
    assert bizkit("job", "list", "--json").data == []
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-02-26", "--reason", "agreed by phone").code == 0


def test_the_last_valid_day_is_in_time(bizkit, studio):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-02-25").code == 0


def test_an_answer_is_given_once(bizkit, job):
    assert "was accepted on 2027-02-08 already" in bizkit("quote", "accept", job, "--on", "2027-02-09").err
    assert "was accepted on 2027-02-08 already" in bizkit("quote", "decline", job, "--on", "2027-02-09").err
    assert bizkit("quote", "draft", job).code == 1


def test_a_declined_quote_can_be_revised(bizkit, studio, change):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    assert bizkit("quote", "decline", BRIEF, "--on", "2027-01-30", "--reason", "too dear").code == 0
    change(studio / "briefs" / f"{BRIEF}.toml", "percent = 5\nreason", "percent = 8\nreason")
    bizkit("quote", "draft", BRIEF, "--on", "2027-02-01")
    assert bizkit("quote", "send", BRIEF, "--on", "2027-02-01").code == 0
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-02-02").code == 0


def test_accepting_opens_the_job_with_days_deliverables_stages_and_licence(bizkit, job):
    whole = bizkit("job", "show", job, "--json", "--on", "2027-02-08").data
    assert [day["kind"] for day in whole["days"]].count("water") == 2
    assert [one["key"] for one in whole["deliverables"]] == ["campaign-film", "cut-downs", "sauna-loop", "stills"]
    assert sum(Decimal(stage["percent"]) for stage in whole["stages"]) == 100
    assert sum(Decimal(stage["net"]) for stage in whole["stages"]) == Decimal(whole["net"])
    assert whole["licence"]["territory"]["codes"] == ["GB", "IE"]
    assert (whole["licence"]["starts"], whole["licence"]["ends"]) == ("2027-07-01", "2028-06-30")
    # 15 working days after 13 May 2027: 31 May is a bank holiday in Scotland too (gov.uk lists it as the spring bank
    # holiday; the holidays library agrees), so the third working week ends on Friday 4 June.
    assert whole["deliverables"][0]["due"] == "2027-06-04"
    assert "location permission: Kelp trail, Otter Sound" in whole["missing"]


def test_a_deliverable_goes_through_versions_notes_and_approval(bizkit, job, tmp_path):
    cut = tmp_path / "cut.mov"
    cut.write_bytes(b"hello\n")
    early = bizkit("deliverable", "approve", job, "campaign-film", "--on", "2027-05-28")
    assert early.code == 1
    assert "no version was sent yet" in early.err
    row = bizkit("deliverable", "send", job, "campaign-film", cut, "--on", "2027-05-28", "--json").data
    assert row["state"] == "with the client"
    # sha256 of "hello\n": coreutils sha256sum
    digest = "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03"
    assert row["versions"][0]["sha256"] == digest
    assert (
        "same file as version 1" in bizkit("deliverable", "send", job, "campaign-film", cut, "--on", "2027-05-28").err
    )
    row = bizkit(
        "deliverable", "notes", job, "campaign-film", "--text", "Longer.", "--on", "2027-06-01", "--json"
    ).data
    assert (row["state"], row["rounds_used"], row["rounds_included"]) == ("notes to answer", 1, 2)
    for number in (2, 3):
        cut.write_bytes(b"hello %d\n" % number)
        bizkit("deliverable", "send", job, "campaign-film", cut, "--on", f"2027-06-0{number}")
        done = bizkit("deliverable", "notes", job, "campaign-film", "--text", "More.", "--on", f"2027-06-0{number}")
    assert "round 3 goes beyond the 2 included" in done.out
    row = bizkit("deliverable", "approve", job, "campaign-film", "--on", "2027-06-04", "--json").data
    assert (row["state"], row["approved_on"]) == ("approved", "2027-06-04")
    cut.write_bytes(b"one more\n")
    assert bizkit("deliverable", "send", job, "campaign-film", cut, "--on", "2027-06-05").code == 1
    assert bizkit("deliverable", "notes", job, "campaign-film", "--text", "x").code == 1


def test_what_is_not_sent_by_its_day_is_late(bizkit, job):
    on_the_day = bizkit("deliverable", "list", job, "--on", "2027-06-04", "--json").data
    day_after = bizkit("deliverable", "list", job, "--on", "2027-06-05", "--json").data
    assert [row["days_late"] for row in on_the_day] == [0, 0, 0, 0]
    assert [row["days_late"] for row in day_after] == [1, 0, 0, 1]


def test_stages_are_invoiced_when_due_and_numbers_have_no_gap(bizkit, job, tmp_path):
    first = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    assert first["number"] == "GL-2027-0001"
    assert first["due_on"] == "2027-03-10"
    text = text_of(Path(first["file"]))
    for said in ("GL-2027-0001", "GB980780684", "GB29 NWBK 6016 1331 9268 19", "Skerrow Islands Tourism"):
        assert said in text

    early = bizkit("invoice", "issue", job, "--on", "2027-02-09")
    assert early.code == 1
    assert "not everything is delivered yet" in early.err
    for number, row in enumerate(bizkit("deliverable", "list", job, "--json").data):
        file = tmp_path / f"file-{number}"
        file.write_text(row["key"], encoding="utf-8")
        bizkit("deliverable", "send", job, row["key"], file, "--reason", "a stand-in", "--on", "2027-06-01")
        bizkit("deliverable", "approve", job, row["key"], "--on", "2027-06-02")
    second = bizkit("invoice", "issue", job, "--on", "2027-06-02", "--json").data
    assert second["number"] == "GL-2027-0002"
    quote = bizkit("quote", "show", job, "--json").data["document"]
    for member in ("net", "tax", "gross"):
        assert Decimal(first[member]) + Decimal(second[member]) == Decimal(quote[member])
    assert "every stage is invoiced" in bizkit("invoice", "issue", job, "--on", "2027-06-03").err


def test_a_stage_can_be_billed_early_for_a_reason(bizkit, job):
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    assert bizkit("invoice", "issue", job, "--stage", 2, "--on", "2027-02-09").code == 1
    done = bizkit("invoice", "issue", job, "--stage", 2, "--on", "2027-02-09", "--reason", "client's year ends")
    assert done.code == 0


def test_an_invoice_never_carries_an_earlier_date_than_the_one_before(bizkit, job):
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    back = bizkit("invoice", "issue", job, "--stage", 2, "--on", "2027-02-07", "--reason", "x")
    assert back.code == 1
    assert "cannot be dated 2027-02-07" in back.err
    assert [row["number"] for row in bizkit("invoice", "list", "--json").data] == ["GL-2027-0001"]


def test_payments_in_part_and_in_full(bizkit, job):
    gross = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data["gross"]
    assert "payment came on 2027-02-07" in bizkit("invoice", "paid", "GL-2027-0001", "--on", "2027-02-07").err
    part = bizkit("invoice", "paid", "GL-2027-0001", "1,000.50", "--on", "2027-03-01", "--json").data
    assert part["state"] == "part paid"
    assert Decimal(part["balance"]) == Decimal(gross) - Decimal("1000.50")
    row = bizkit("invoice", "list", "--json", "--on", "2027-03-12").data[0]
    assert (row["state"], row["days_late"]) == ("part paid", 2)
    over = bizkit("invoice", "paid", "GL-2027-0001", gross, "--on", "2027-03-12")
    assert over.code == 1
    assert "is more than the" in over.err
    assert bizkit("invoice", "paid", "GL-2027-0001", "--on", "2027-03-12").code == 0
    shown = bizkit("invoice", "show", "GL-2027-0001", "--json", "--on", "2027-03-12").data
    assert (shown["state"], shown["balance"], len(shown["payments"])) == ("paid", "0.00", 2)
    assert "is paid: nothing is left" in bizkit("invoice", "paid", "GL-2027-0001", "--on", "2027-03-12").err


def test_papers_on_file_close_what_is_missing(bizkit, job, scan, studio):
    assert bizkit("release", "add", job, "--who", "Eilidh Rendall", "--on", "2027-05-01").code == 0
    missing = bizkit("job", "show", job, "--json").data["missing"]
    assert "talent release: Eilidh Rendall, to be signed" in missing
    row = bizkit(
        "release", "add", job, "--who", "eilidh  rendall", "--signed", "2027-05-13", "--scan", scan,
        "--until", "2028-01-31", "--where", "United Kingdom and Ireland", "--media", "online", "--on", "2027-05-14",
        "--json",
    ).data  # fmt: skip
    assert (studio / row["file"]).read_bytes() == scan.read_bytes()
    assert row["paper"] in row["file"]
    assert len(bizkit("release", "list", job, "--json").data) == 1
    missing = bizkit("job", "show", job, "--json").data["missing"]
    assert (
        "talent release: Eilidh Rendall, missing own channels, paid social / Ireland and United Kingdom / "
        "2028-02-01..2028-06-30"
    ) in missing
    for place in ("Kelp trail, Otter Sound", "Seabird cliff, Kittiwake Head", "Shore sauna, Selkie Bay"):
        done = bizkit(
            "permission", "add", job, "--place", place, "--by", "Skerrow Marine Reserve", "--signed", "2027-05-01",
            "--media", "online", "--where", "Europe", "--without-end", "--scan", scan, "--on", "2027-05-01",
        )  # fmt: skip
        assert done.code == 0
    assert not [one for one in bizkit("job", "show", job, "--json").data["missing"] if "location" in one]


def test_status_says_what_is_owed_due_missing_and_ending(bizkit, job, scan):
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    bizkit(
        "permission", "add", job, "--place", "Shore sauna, Selkie Bay", "--signed", "2027-05-01", "--scan", scan,
        "--media", "online", "--where", "Europe", "--until", "2027-07-31", "--on", "2027-05-01",
    )  # fmt: skip
    data = bizkit("status", "--on", "2027-06-05", "--json").data
    assert [row["number"] for row in data["owed"]] == ["GL-2027-0001"]
    assert data["owed"][0]["days_late"] == 87
    assert [row["key"] for row in data["due"] if row["days_late"]] == ["campaign-film", "stills"]
    assert "location permission: Kelp trail, Otter Sound" in [row["missing"] for row in data["missing"]]
    assert data["ending"] == [
        {"on": "2027-07-31", "job": job, "what": "location permission of Shore sauna, Selkie Bay"}
    ]
    assert bizkit("status", "--on", "2027-06-01", "--within", "59", "--json").data["ending"] == []
    screen = bizkit("status", "--on", "2027-06-05").out
    for said in ("OWED TO ME", "DUE FROM ME", "PAPERS MISSING", "ENDING WITHIN 60 DAYS", "87 days late"):
        assert said in screen


def test_verify_finds_a_changed_scan_and_a_missing_pdf_and_rebuild_mends_the_pdf(bizkit, job, scan, studio):
    bizkit(
        "release",
        "add",
        job,
        "--who",
        "Eilidh Rendall",
        "--signed",
        "2027-05-13",
        "--scan",
        scan,
        "--on",
        "2027-05-14",
    )
    assert bizkit("verify").code == 0
    kept = next((studio / "papers" / "scans").iterdir())
    kept.write_bytes(kept.read_bytes() + b" ")
    pdf = studio / "papers" / "Q-2027-0001-r1.pdf"
    before = pdf.read_bytes()
    pdf.unlink()
    done = bizkit("verify")
    assert done.code == 1
    assert "not the file that was filed" in done.out
    assert "Q-2027-0001-r1.pdf: missing: make it again with bizkit papers rebuild" in done.out
    assert bizkit("papers", "rebuild").code == 0
    assert pdf.read_bytes() == before
    kept.write_bytes(kept.read_bytes()[:-1])
    assert bizkit("verify").code == 0
