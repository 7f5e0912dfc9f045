"""Every paper, read back from its PDF with pypdf."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.papers import page
from bizkit.papers.render import render

NAMES = sorted(path.stem for path in (Path(__file__).parent / "samples").glob("*.json"))


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", NAMES)
def test_every_paper_is_drawn_in_both_languages_with_every_font_embedded(sample, paper, name, language):
    drawn = paper({**sample(name), "language": language, "locale": {"en": "en_GB", "de": "de_DE"}[language]})
    assert drawn.fonts()
    assert all(drawn.fonts().values()), drawn.fonts()
    last = len(drawn.pages)
    wording = {"en": f"Page {last} of {last}", "de": f"Seite {last} von {last}"}[language]
    assert wording in drawn.pages[-1]
    assert drawn.reader.trailer["/Root"]["/Lang"] == language
    assert drawn.reader.metadata.author == "Gannet & Lark Films"
    assert drawn.reader.metadata.title


@pytest.mark.parametrize("name", NAMES)
def test_the_same_document_gives_the_same_bytes(sample, drawn, name):
    assert render(sample(name)) == drawn[name].pdf


def test_another_process_gives_the_same_bytes(sample):
    document = sample("quote")
    code = (
        "import hashlib, json, sys; from bizkit.papers.render import render;"
        "print(hashlib.sha256(render(json.load(sys.stdin))).hexdigest())"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", code],
            input=json.dumps(document),
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(page.__file__).parents[2])},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1


def test_importing_the_room_loads_no_reportlab():
    code = "import sys, bizkit.papers; assert not {'reportlab', 'jinja2', 'babel', 'PIL'} & set(sys.modules)"
    where = str(Path(page.__file__).parents[2])
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": where})


# A4 is 210 x 297 mm (ISO 216): 595 x 842 points; Letter is 8.5 x 11 in (ANSI/ASME Y14.1): 612 x 792.
@pytest.mark.parametrize(("paper_size", "points"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_both_paper_sizes_are_drawn(sample, paper, paper_size, points):
    assert paper({**sample("quote"), "paper_size": paper_size}).size == points


def test_an_unknown_paper_size_names_the_known_ones(sample):
    with pytest.raises(NotFound, match=r"paper_size: wanted a known paper size, got A5\. Known: A4, Letter"):
        render({**sample("quote"), "paper_size": "A5"})


def test_a_quote_says_at_a_glance_what_a_client_asks(drawn):
    first = drawn["quote"].pages[0]
    for fragment in (
        "Quote Q-2027-0001",
        "Follow the Kelp",
        "Skerrow Islands Tourism",
        "Total, with tax £9,801.36 £8,167.80 before tax",
        "Valid until 3 Mar 2027",
        "To start £4,900.68 on acceptance",
        "What you get Follow the Kelp, main film 16:9, 60 s, UHD, English captions",
        "2 rounds of changes",
        "Mon, 10 May 2027 Water day Snorkel trail, Kelp Bay",
        "2 days Kept free for weather",
    ):
        assert fragment in first, fragment


def test_a_quote_says_what_it_costs_what_it_allows_and_what_weather_does(drawn):
    text = drawn["quote"].text
    for fragment in (
        "What you may do with it – You may show the film",
        "If the weather moves the day",
        "90% 7 days",
        "Director and camera 3 days 620.00 1,860.00",
        "Crew 2,950.00",
        "Mileage 184 miles 0.45 82.80",
        "Returning client 1 −300.00 −300.00",
        "Before tax 8,167.80",
        "VAT 20% 1,633.56",
        "Total £9,801.36",
        "Deposit on acceptance 50% £4,900.68",
        "Signature for Skerrow Islands Tourism",
    ):
        assert fragment in text, fragment


def test_the_reason_of_a_line_is_on_no_paper(sample, paper, drawn):
    """Point 10: whatever the document says of how it is to be shown."""
    assert "3 days x GBP 620.00" in sample("quote")["lines"][0]["why"]
    assert "3 days x GBP 620.00" not in drawn["quote"].text
    assert paper({**sample("quote"), "detail": True}).text == drawn["quote"].text


def test_a_second_revision_says_so(sample, paper):
    assert "Quote Q-2027-0001, revision 2" in paper({**sample("quote"), "revision": 2}).pages[0]


def test_a_quote_without_licence_weather_and_days_is_drawn(sample, paper):
    text = paper({**sample("quote"), "licence": None, "weather": None, "days": []}).text
    assert "No licence to use the work is part of this quote." in text
    assert "If the weather" not in text
    assert "When we work" not in text


def test_an_invoice_carries_what_a_full_vat_invoice_must(drawn):
    """The list of SI 1995/2518 reg 14 as `check-values.md` gives it; amounts from its EN 16931 example."""
    text = drawn["invoice"].text
    for fragment in (
        "Invoice GL-2027-0001",
        "Tax point 4 June 2027",
        "Date of issue 7 June 2027",
        "Gannet & Lark Films",
        "4 Shore Street",
        "Our VAT no. GB980780684",
        "Skerrow Islands Tourism Morag Fell Harbour House 1 Pier Road",
        "Filming, water day 2.5 days 450.00 20% 1,125.00",
        "Edit 7.25 hours 65.00 20% 471.25",
        "Printed guide for the trail 3 items 33.33 0% 99.99",
        "Less: Returning client 20% −50.00",
        "Net 1,646.24",
        "VAT 20% on 1,546.25 309.25",
        "VAT, zero rate on 99.99 0.00",
        "Total 1,955.49 Already paid −500.00 To pay £1,455.49",
        "IBAN GB29 NWBK 6016 1331 9268 19",
        "Reference RF18539007547034",
        "30 days, by 7 July 2027",
    ):
        assert fragment in text, fragment
    assert "advice" not in text  # that is for the studio to know, and told there


def test_an_invoice_in_foreign_money_shows_the_tax_in_sterling(sample, paper):
    tax_in = {"currency": "GBP", "amount": "265.96", "rate": "0.86", "source": "invented rate", "on": "2027-06-04"}
    text = paper({**sample("invoice"), "currency": "EUR", "tax_in": tax_in}).text
    assert "Tax in GBP: £265.96, at 0.86 GBP for one EUR (invented rate, 4 June 2027)." in text
    assert "To pay €1,455.49" in text


def test_the_wording_that_explains_missing_tax_is_printed(sample, paper):
    note = "Reverse charge: the customer accounts for the tax."
    taxes = [{"category": "AE", "name": "VAT", "rate": "0", "base": "1646.24", "amount": "0.00", "note": note}]
    text = paper({**sample("invoice"), "taxes": taxes, "tax": "0.00"}).text
    assert "VAT, reverse charge on 1,646.24 0.00" in text
    assert note in text


def test_a_client_abroad_is_shown_with_country_and_tax_number(sample, paper):
    document = sample("invoice")
    document["client"] |= {"country": "IE", "tax_number": "IE6433435F"}  # python-stdnum's example
    assert "Port Skerrow ZE9 9ZZ Ireland VAT no. IE6433435F" in paper(document).text


def test_german_wording_and_german_figures_are_two_choices(sample, paper):
    german = paper({**sample("quote"), "language": "de", "locale": "de_DE", "currency": "EUR"}).text
    assert "Gesamt, mit Steuer 9.801,36 € 8.167,80 € vor Steuer" in german
    assert "Gültig bis 3. März 2027" in german
    assert "Director and camera 3 Tage 620,00 1.860,00" in german
    mixed = paper({**sample("quote"), "language": "en", "locale": "de_DE", "currency": "EUR"}).text
    assert "Valid until 3. März 2027" in mixed


def test_a_release_asks_consent_apart_and_cautions(drawn):
    text = drawn["model_release"].text
    for fragment in (
        "Asked separately: tick only what you agree to. The release above does not depend on it.",
        "You may take back each of these at any time",
        "The lawful basis is consent. They are kept until 30 June 2034",
        "Always check your local rules",
        "from 1 July 2027 until 30 June 2028",
        "£150.00, paid within 14 days of the shoot.",
        "No pictures in the changing room.",
    ):
        assert fragment in text, fragment
    assert "lawyer" not in text  # told to the studio when it writes the form, not to who signs it
    assert "guardian" not in text


def test_a_release_for_a_minor_has_the_guardian_sign(drawn):
    text = drawn["minor_release"].text
    assert "Parent or guardian Name Ailsa Skua Relation Mother" in text
    assert "Signature of the parent or guardian" in text
    assert "I am the parent or legal guardian of the child named above" in text
    assert "never breathes compressed gas" in text


@pytest.mark.parametrize(
    ("how", "caution"),
    [("compressed_gas", "Diving at Work Regulations 1997"), ("breath_hold", "one up, one down"), ("snorkel", "")],
)
def test_a_water_day_card_cautions_by_how_people_are_in_the_water(sample, paper, how, caution):
    card = sample("water_day_card")
    card["team"] = [{**card["team"][0], "how": how}]
    drawn = paper(card)
    assert len(drawn.pages) == 1
    assert "Everybody back by 13:30 Not back: call at 14:00" in drawn.text
    for text in ("Diving at Work Regulations 1997", "one up, one down"):
        assert (text in drawn.text) == (text == caution)


def test_a_drone_record_prints_ids_weight_insurance_permission_and_limit(drawn):
    text = drawn["drone_record"].text
    for fragment in (
        "Not above planned 80 m 120 m",
        "Weight 895 g",
        "Flyer ID GBR-RP-EXAMPLE until 1 February 2031",
        "Operator ID GBR-OP-EXAMPLE until 1 February 2028",
        "Cover SDR 750,000 and more until 31 December 2027",
        "Nature agency NA-77",
        "Always check your local rules",
    ):
        assert fragment in text or fragment.replace("planned 80 m 120 m", "120 m planned 80 m") in text, fragment


def test_a_missing_field_is_named(sample):
    document = sample("quote")
    del document["gross"]
    with pytest.raises(
        BadInput, match=r"quote Q-2027-0001: gross: wanted a field that the paper prints, got nothing"
    ):
        render(document)
    document = sample("quote")
    del document["lines"][3]["rate"]
    with pytest.raises(BadInput, match=r"quote Q-2027-0001: wanted a field that the paper prints, got .* 'rate'"):
        render(document)


def test_an_unknown_kind_and_language_suggest_the_nearest(sample):
    with pytest.raises(NotFound, match=r"got quotes\. Did you mean quote\?"):
        render({**sample("quote"), "kind": "quotes"})
    with pytest.raises(NotFound, match=r"language: wanted a known language of papers, got fr\. Known: de, en"):
        render({**sample("quote"), "language": "fr"})


@pytest.mark.parametrize("kind", ["../en/quote", "", "words", "Quote", "parts"])
def test_a_kind_that_is_no_paper_is_refused(sample, kind):
    with pytest.raises(BadInput):
        render({**sample("quote"), "kind": kind})


def test_a_colour_that_is_none_is_refused(sample):
    document = sample("quote")
    document["studio"]["accent"] = "teal"
    with pytest.raises(BadInput, match=r"studio\.accent: wanted a colour such as #0b6e6e, got teal"):
        render(document)


def test_a_paper_without_end_is_refused(sample, monkeypatch):
    monkeypatch.setattr(page, "MOST_PAGES", 3)
    with pytest.raises(RuleBroken, match="at most 3 pages"):
        render({**sample("quote"), "terms": ["word " * 400] * 10})
