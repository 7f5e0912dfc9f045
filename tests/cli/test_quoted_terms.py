"""What a quote prints as terms, beside what its settings decide: one never says the opposite of the other."""

from __future__ import annotations

import re
from pathlib import Path

import pypdf
import pytest

#: Starter -> what its reader would take for the beginning of a licence by payment.
STARTERS = {
    "gbp-uk": r"\b(paid(?! social)|payment)\b",
    "eur-de": r"(bezahlt|Zahlung)",
}
#: Starter -> a licence that does not wait for it.
AT_ONCE = {
    "gbp-uk": "on_full_payment = false",
    "eur-de": "on_full_payment = false\nstarts = 2027-07-01",
}
#: Starter -> the heading before its licence, and the one after it.
LICENCE = {
    "gbp-uk": ("What you may do with it", "If the weather"),
    "eur-de": ("Was Sie damit tun dürfen", "Wenn das W"),
}


def quote_of(bizkit, tmp_path, monkeypatch, starter: str, was: str = "", becomes: str = "") -> str:
    """The paper of the starter's sample quote, after one change in its brief."""
    made = bizkit("init", tmp_path / "studio", "--starter", starter, "--practice", "--json").data
    monkeypatch.chdir(tmp_path / "studio")
    path = Path(made["brief"])
    text = path.read_text(encoding="utf-8")
    assert was in text
    path.write_text(text.replace(was, becomes), encoding="utf-8")
    key = bizkit("quote", "draft", path, "--json", "--on", "2027-01-26").data["key"]
    sent = bizkit("quote", "send", key, "--json", "--on", "2027-01-26").data
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(sent["file"]).pages).split())


def licence_and_terms(text: str, starter: str) -> str:
    """What the paper says of the licence, and its numbered terms."""
    first, after = LICENCE[starter]
    licence = text.split(first)[1].split(after)[0]
    heading, end = {"gbp-uk": (" Terms ", "Say yes"), "eur-de": (" Bedingungen ", "Auftrag erteilen")}[starter]
    return f"{licence} {text.split(heading)[-1].split(end)[0]}"


@pytest.mark.parametrize("starter", STARTERS)
def test_only_a_licence_on_full_payment_is_said_to_begin_with_it(bizkit, tmp_path, monkeypatch, starter):
    off = quote_of(bizkit, tmp_path, monkeypatch, starter, "on_full_payment = true", AT_ONCE[starter])
    assert not re.search(STARTERS[starter], licence_and_terms(off, starter))


@pytest.mark.parametrize("starter", STARTERS)
def test_a_licence_on_full_payment_is_said_once_to_begin_with_it(bizkit, tmp_path, monkeypatch, starter):
    on = quote_of(bizkit, tmp_path, monkeypatch, starter)
    assert len(re.findall(STARTERS[starter], licence_and_terms(on, starter))) == 1


@pytest.mark.parametrize(
    ("starter", "said"), [("gbp-uk", "quoted before it is done"), ("eur-de", "wird vorher angeboten")]
)
def test_what_may_come_on_top_is_said_in_one_place(bizkit, tmp_path, monkeypatch, starter, said):
    """Overtime and the like are charged without another quote: the paper says at what price."""
    assert said not in quote_of(bizkit, tmp_path, monkeypatch, starter)


def test_a_quote_that_licenses_nothing_has_no_licence_that_rests(bizkit, studio):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write("\n[late]\nsuspends_licence = true\n")
    path = studio / "briefs" / "follow-the-kelp.toml"
    text = path.read_text(encoding="utf-8")
    table = text.index("[licence]")
    path.write_text(text[:table] + text[text.index("\n[", table) + 1 :], encoding="utf-8")
    bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-01-26")
    sent = bizkit("quote", "send", "follow-the-kelp", "--json", "--on", "2027-01-26").data
    paper = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(sent["file"]).pages).split())
    assert "No licence to use the work is part of this quote." in paper
    assert "the licence rests" not in paper
