"""What leaves a German studio is German: no sentence of ours in English, no day in digits, no English decimal point.

Looked for on every page that leaves. What is typed by hand may be as it is typed: the search is for what the program
itself writes, taken from its own English wording.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from bizkit import resources
from bizkit.domain.billing.tax import REASONS
from bizkit.domain.pricing.weather_words import WEATHER_WORDS
from bizkit.domain.pricing.words import ENGLISH
from bizkit.domain.rights.personal_data import PERSON_KINDS


def pages(path: Path) -> str:
    done = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, check=True)
    return " ".join(done.stdout.decode().split())


def papers_of(folder: Path) -> dict[str, str]:
    return {path.name: pages(path) for path in sorted(folder.rglob("*.pdf")) if "scans" not in path.parts}


def pieces(text: str) -> list[str]:
    """The fixed parts of a wording, long enough to be told apart."""
    return [part.strip() for part in re.split(r"\{\w*\}", text) if len(part.strip()) >= 12]


@pytest.fixture(scope="module")
def papers(german):
    return papers_of(german)


def test_no_english_of_the_program_is_on_a_german_paper(papers):
    import tomllib

    wording = tomllib.loads((resources.templates() / "wording" / "en.toml").read_text("utf-8"))
    texts = [*wording["lines"].values(), *wording["charges"].values(), *wording["tax"].values(),
             *wording["terms"].values(), *ENGLISH.values(), *WEATHER_WORDS.values(), *REASONS.values(),
             *(purpose for _, purpose in PERSON_KINDS.values())]  # fmt: skip
    english = {piece for text in texts for piece in pieces(text)}
    assert len(english) > 40
    found = [(name, piece) for name, text in papers.items() for piece in english if piece in text]
    assert found == []


def test_the_licence_is_german_wherever_it_is_told(german, papers, outside):
    assert "Sie dürfen alles, was wir liefern, in diesen Medien nutzen" in papers["DN-2027-0001.pdf"]
    told = {
        where
        for path in outside.leaves(german)
        for where, text in outside.texts(path.name, path.read_bytes())
        if "You may" in " ".join(text.split())
    }
    assert told == set()


def test_no_day_is_written_in_digits(papers):
    found = {name: re.findall(r"(?<![\w-])20\d\d-\d\d-\d\d(?![\w-])", text) for name, text in papers.items()}
    assert {name: days for name, days in found.items() if days} == {}


def test_no_figure_has_an_english_point(papers):
    # An amount or a number of hours; 12.345,67 and 15. Juni are German.
    found = {name: re.findall(r"(?<![\d.,])\d+\.\d{1,2}(?![\d.,])(?! ?[A-ZÄÖÜ][a-zä])", text)
             for name, text in papers.items()}  # fmt: skip
    assert {name: figures for name, figures in found.items() if figures} == {}
    # The debtors have a column of currencies beside the sums.
    assert not any(re.search(r"EUR \d", text) for name, text in papers.items() if name != "debtors.pdf")


def test_the_reminder_says_how_its_interest_came_about(german, british):
    def last_reminder(folder: Path) -> str:
        (path,) = (folder / "papers").glob("reminder-*-final.pdf")
        return pages(path)

    text = last_reminder(german)
    # 6,454.79 less 100.00 paid on 20 April; 8 % as the contract says.
    assert re.search(r"[\d.]+,\d\d € zu 8 % im Jahr, vom \d+\. \w+ 2027 bis 20\. April 2027: \d+ Tage\.", text)
    assert "Der Zinssatz ist der im Vertrag vereinbarte." in text
    assert "Die Pauschale gibt dasselbe Gesetz einmal je Rechnung." in text
    text = last_reminder(british)
    assert re.search(r"£[\d,]+\.\d\d at 8% a year, \d+ \w+ 2027 to 20 April 2027: \d+ days\.", text)
    assert "The rate is the one agreed in the contract." in text


def test_a_privacy_notice_names_purpose_and_basis_in_german(german):
    text = pages(german / "sent" / "seegras-im-bodden-model_release.pdf")
    assert "zu belegen, dass Bild und Ton von Ihnen genutzt werden dürfen." in text
    assert "Die Rechtsgrundlage ist: Ihre Einwilligung." in text


def test_charges_are_billed_in_german(papers):
    (bill,) = [
        text
        for name, text in papers.items()
        if re.fullmatch(r"GLF-\d+-\d+\.pdf", name) and "Extra drive" in text and "Abzüglich" not in text
    ]
    beyond = r"\): 15\. Juni 2027, \d\d:\d\d bis \d\d:\d\d Uhr( mit [\d,]+ h Pause)?, über das Angebot hinaus"
    assert re.search(r"\(\d+(,\d\d?)? Überstunden(, Nacht)?" + beyond, bill), bill


def test_the_weather_is_told_in_the_readers_money(german, british):
    assert "Jeder genutzte Vorhaltetag kostet 1.312,45 € (50 %" in pages(german / "papers" / "AN-2027-0001-r1.pdf")
    text = pages(british / "papers" / "Q-2027-0001-r1.pdf")
    assert re.search(r"hold day .* £[\d,]+\.\d\d \(", text)
    assert "GBP 1" not in text


#: English words that are frequent on our papers and are no German ones, nor in the words typed for the test.
ENGLISH_WORDS = re.compile(
    r"\b(?:the|and|of|with|without|from|until|days?|hours?|licen[cs]e|minimum|fee|paid|due|before|after|each|every|"
    r"between|high|low|water|slack|rising|falling|sunrise|sunset|assistant|director|skipper|safety|swimmer|quote|"
    r"invoice|what|where|when|who|which|your|you|our|is|are|be|not|only|unless|weather|hold|kit|crew|travel|shoot|"
    r"country|countries|media|work|works|first|last|kind|kept|must|may|signed|file|files|unit|amount|price|name)\b"
)


def test_no_frequent_english_word_is_on_a_german_paper(papers):
    found = {name: sorted(set(ENGLISH_WORDS.findall(text))) for name, text in papers.items()}
    assert {name: words for name, words in found.items() if words} == {}


def test_roles_tides_places_and_rules_are_those_of_a_german_studio(papers):
    card = papers["seegras-im-bodden-water_day_card.pdf"]
    for word in ("Hochwasser", "Niedrigwasser", "Sonnenaufgang", "Regie"):
        assert word in card, card
    assert "Österreich, Schweiz und Deutschland" in papers["seegras-im-bodden-crowd_notice.pdf"]
    record = papers["seegras-im-bodden-drone_record.pdf"]
    assert "Verordnung (EU) 2019/947" in record
    assert "Vereinigtes Königreich" not in record
    assert "Regelsatz" in papers["tax.pdf"]
    assert "Nachbearbeitung" in papers["income.pdf"]
    assert re.search(r"GLF-2027-0005 ist seit \d+ Tagen überfällig", papers["cash.pdf"])
    assert "Aus 10 s werden 20 s." in papers["shots.pdf"]


@pytest.mark.parametrize(
    ("where", "german"),
    [
        ('"Europe"', "Europa"),
        ('"European Union"', "Europäische Union"),
        ('"World except Northern America"', "Welt ohne Nördliches Amerika"),
        ('"Germany and Austria"', "Österreich und Deutschland"), ('"World"', "weltweit"),
    ],
)  # fmt: skip
def test_regions_are_named_in_german(tmp_path, outside, where, german):
    folder = tmp_path / "studio"
    outside.command(tmp_path, "init", folder, "--starter", "eur-de", "--practice")
    brief = folder / "briefs" / "seegras-im-bodden.toml"
    text = re.sub(r"(?m)^territory = .*$", f"territory = {where}", brief.read_text("utf-8"))
    brief.write_text(text, "utf-8")
    card = folder / "rate-card.toml"
    said = re.search(r"(?m)^\[usage\.territory\]\n", card.read_text("utf-8"))
    put = f"{said[0]}{where} = 3\n" if where not in card.read_text("utf-8") else said[0]
    card.write_text(card.read_text("utf-8").replace(said[0], put, 1), "utf-8")
    on = ("--on", "2027-02-01")
    outside.command(folder, "quote", "draft", "seegras-im-bodden", *on)
    outside.command(folder, "quote", "send", "seegras-im-bodden", *on, "--reason", "the floor is for another year")
    said_on_it = pages(folder / "papers" / "AN-2027-0001-r1.pdf")
    assert german in said_on_it
    assert where.strip('"') not in said_on_it


def test_what_is_billed_before_the_work_is_called_so(papers):
    """UStG section 14 (5), from memory: a payment before the supply is billed as one; the trade's names for it."""
    assert papers["GLF-2027-0001.pdf"].count("Anzahlungsrechnung GLF-2027-0001") >= 1
    assert "Abschlagsrechnung GLF-2027-0002" in papers["GLF-2027-0002.pdf"]
    titles = {name: re.search(r"\b(\w*[Rr]echnung\w*) GLF", text)[1] for name, text in papers.items()
              if re.fullmatch(r"GLF-\d+-\d+\.pdf", name)}  # fmt: skip
    assert set(titles.values()) == {"Anzahlungsrechnung", "Abschlagsrechnung", "Rechnung", "Schlussrechnung"}
