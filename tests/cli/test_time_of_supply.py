"""An invoice says when the work was done, and never that it was done before it is (UStG section 14(4) number 6)."""

from __future__ import annotations

import pypdf
import pytest


def text_of(file):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())


@pytest.fixture
def german(bizkit, tmp_path, monkeypatch):
    bizkit("init", tmp_path / "studio", "--starter", "eur-de", "--practice")
    monkeypatch.chdir(tmp_path / "studio")
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, "seegras-im-bodden", "--on", "2027-01-26").code == 0
    return "seegras-im-bodden"


def test_money_asked_for_in_advance_names_no_day_of_supply(bizkit, german):
    stage = bizkit("invoice", "issue", german, "--on", "2027-02-01", "--json").data
    assert "Leistung noch nicht abgeschlossen" in text_of(stage["file"])
    assert "Leistungsdatum" not in text_of(stage["file"])
    deposit = bizkit("invoice", "deposit", german, "500", "--received", "2027-02-03", "--on", "2027-02-04", "--json")
    assert "Zahlung erhalten 3. Februar 2027" in text_of(deposit.data["file"])
    note = bizkit("invoice", "credit", stage["number"], "--reason", "Irrtum", "--on", "2027-02-05", "--json").data
    assert "Leistungsdatum" not in text_of(note["file"])


def test_an_invoice_for_work_done_names_its_first_and_last_day(bizkit, german):
    for row in bizkit("deliverable", "list", german, "--json").data:
        file = f"{row['key']}.txt"
        with open(file, "w", encoding="utf-8") as out:
            out.write(row["key"])
        sent = bizkit("deliverable", "send", german, row["key"], file, "--reason", "a stand-in", "--on", "2027-07-01")
        assert sent.code == 0, sent.err
        by = ("--by", "Frauke Hansen", "--reason", "a stand-in", "--on", "2027-07-02")
        yes = bizkit("deliverable", "approve", german, row["key"], *by)
        assert yes.code == 0, yes.err
    last = bizkit("invoice", "issue", german, "--final", "--on", "2027-07-05", "--json").data
    days = bizkit("job", "show", german, "--json").data["days"]
    first = min(day["date"] for day in days if day["date"])
    shown = bizkit("invoice", "show", last["number"], "--json").data["document"]
    assert (shown["supplied_from"], shown["supplied_to"]) == (first, "2027-07-02")
    assert "bis 2. Juli 2027" in text_of(last["file"]).partition("Leistungszeitraum")[2][:60]
