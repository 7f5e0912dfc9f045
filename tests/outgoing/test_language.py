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
    assert not any(re.search(r"EUR \d", text) for text in papers.values())


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
    beyond = r"\): 15\. Juni 2027, \d\d:\d\d bis \d\d:\d\d Uhr, über das Angebot hinaus"
    assert re.search(r"\(\d+(,\d\d?)? Überstunden(, Nacht)?" + beyond, bill), bill


def test_the_weather_is_told_in_the_readers_money(german, british):
    assert "Jeder genutzte Vorhaltetag kostet 1.312,45 € (50 %" in pages(german / "papers" / "AN-2027-0001-r1.pdf")
    text = pages(british / "papers" / "Q-2027-0001-r1.pdf")
    assert re.search(r"hold day .* £[\d,]+\.\d\d \(", text)
    assert "GBP 1" not in text
