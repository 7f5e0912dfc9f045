"""What German papers say: corrections, reminders, prices to a consumer, no words to the studio on a client's paper.

Sources: UStG § 14 Abs. 2 Satz 5 ("Gutschrift" is self-billing), § 17 Abs. 1; PAngV § 3 (prices to a consumer are with
tax); BGB § 286 Abs. 3 (default of a consumer after 30 days only where the invoice says so), from memory.
"""

from __future__ import annotations

import re

import pytest

from .conftest import JOB, text_of

INPUT_TAX = "Bitte berichtigen Sie die Vorsteuer"


@pytest.mark.parametrize(("which", "said"), [("firm", True), ("person", False), ("CH", False)])
def test_a_correction_speaks_of_input_tax_only_where_there_is_some(bizkit, client, opened, issue, which, said):
    client(which)
    opened()
    number = issue(on="2027-05-06")["number"]
    less = ("--amount", "100", "--reason", "weniger", "--lower-price", "--on", "2027-05-07", "--json")
    done = bizkit("invoice", "credit", number, *less)
    assert done.code == 0, done.err
    text = text_of(done.data["file"])
    assert (INPUT_TAX in text) is said
    assert "Gutschrift" not in text
    assert f"Minderung der Rechnung {number}" in text


def test_the_second_letter_is_no_second_reminder_after_none(bizkit, german, client, opened, issue):
    client("firm")
    with (german / "studio.toml").open("a", encoding="utf-8") as file:
        file.write('\n[late]\ninterest = "contract"\nrate = 8\n')
    opened()
    number = issue(on="2027-05-06")["number"]
    texts = []
    for step, on in (("friendly", "2027-06-01"), ("firm", "2027-06-10")):
        done = bizkit("late", "remind", number, "--step", step, "--on", on, "--json")
        assert done.code == 0, done.err
        texts.append(text_of(done.data["file"]))
    assert "Zahlungserinnerung" in texts[0]
    assert "Mahnung" in texts[1]
    assert "Zweite" not in texts[1]
    for text in texts:
        assert "beratung" not in text


def test_a_consumer_reads_prices_with_tax(bizkit, client, opened):
    client("person")
    opened()
    text = text_of(bizkit("quote", "show", JOB, "--json").data["file"])
    # The card: a further round costs 220.00; 19 % on it make 261.80.
    assert "261,80" in text.replace("\u00a0", " ")
    assert "inkl. USt." in text
    assert "zzgl." not in text
    assert "Die Preise hier enthalten die USt." in text
    assert "Die Preise hier sind netto" not in text


def test_a_firm_reads_them_without(bizkit, client, opened):
    client("firm")
    opened()
    text = text_of(bizkit("quote", "show", JOB, "--json").data["file"])
    assert "220,00" in text
    assert "zzgl. USt." in text
    assert "Die Preise hier sind netto" in text


@pytest.mark.parametrize(("which", "said"), [("person", True), ("firm", False)])
def test_a_consumer_is_told_when_default_begins(client, opened, issue, which, said):
    client(which)
    opened()
    assert ("§ 286 Abs. 3 BGB" in text_of(issue(on="2027-05-06")["file"])) is said


def test_no_rate_is_shown_where_no_tax_is_charged(client, opened, issue):
    client("AT")
    opened()
    text = text_of(issue(on="2027-05-06")["file"])
    assert not re.search(r"(?<!\d)0\s?%", text)


def test_a_percentage_stands_on_one_line_with_its_sign(client, opened, issue):
    import pypdf

    client("person")
    opened()
    raw = "\n".join(page.extract_text() for page in pypdf.PdfReader(issue(on="2027-05-06")["file"]).pages)
    assert not re.search(r"\d\n\s*%|§\n", raw)


def test_releases_and_notices_say_nothing_that_is_for_the_studio(bizkit, client, opened, tmp_path):
    client("firm")
    opened()
    commands = (("release", "form", JOB, "--who", "Enno Behrens"), ("papers", "form", "crowd_notice", JOB))
    for place, command in enumerate(commands):
        out = tmp_path / f"{place}.pdf"
        done = bizkit(*command, "--out", out, "--on", "2027-05-06")
        assert done.code == 0, done.err
        assert "have a lawyer check it" in done.out
        text = text_of(out)
        assert "Muster" not in text
        assert "bevor Sie öffentlich filmen" not in text
