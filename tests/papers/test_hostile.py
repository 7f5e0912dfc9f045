"""User text is data: whatever a name holds, the paper is drawn with it or refused with one clear line."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, BizkitError
from bizkit.papers.render import render


@pytest.mark.parametrize(
    "name",
    [
        "<b>Fulmar</b> & Sons",
        "=HYPERLINK(1)",
        "{{ 7 * 7 }} {% raw %}",
        "&amp; &lt;para&gt; </paper>",
        "]]> <!-- -->",
        "He said \"no\" 'never'",
        "<font color=red>red</font><br/>",
        "Peter\\Paul %s {page}",
    ],
)
def test_markup_in_a_name_is_printed_as_it_is(sample, paper, name):
    document = sample("quote")
    document["client"]["name"] = name
    document["title"] = name
    drawn = paper(document)
    assert name in drawn.pages[0]
    assert drawn.reader.metadata.title.endswith(name)


def test_every_text_of_every_field_may_be_markup(sample, samples):
    def spoil(value):
        if isinstance(value, dict):
            return {key: item if key in PLAIN else spoil(item) for key, item in value.items()}
        if isinstance(value, list):
            return [spoil(item) for item in value]
        if isinstance(value, str) and value and not re.fullmatch(r"[-0-9.:]+", value):
            return f"<b>&{value}</i>"
        return value

    PLAIN = {"kind", "language", "locale", "paper_size", "currency", "accent", "logo", "image", "align", "width_mm"}
    for document in samples.values():
        kinds = {"columns": document["columns"]} if document["kind"] == "report" else {}
        render({**spoil(document), **kinds, "chart": None, "figures": []} if kinds else spoil(document))


def test_greek_cyrillic_armenian_and_emoji_names_are_drawn(sample, paper):
    document = sample("quote")
    for name, font in (
        ("Ελένη Παπαδοπούλου", "SourceSans3"),
        ("Людмила Щербакова", "SourceSans3"),
        ("Nguyễn Thị Ánh", "SourceSans3"),
        ("Արամ Խաչատրյան", "DejaVuSans"),
        ("ნინო", "DejaVuSans"),
        ("Kelp 🐟🌊 Films", "NotoEmoji"),
    ):
        document["client"]["name"] = name
        drawn = paper(document)
        assert name in drawn.pages[0], name
        assert any(font in base for base in drawn.fonts()), drawn.fonts()
        assert all(drawn.fonts().values())


def test_joined_emoji_and_skin_tones_are_drawn_by_their_parts(sample, paper):
    document = sample("quote")
    document["client"]["name"] = "A👩‍🚀B👍🏽C⚠️D"
    assert "A👩🚀B👍C⚠D" in paper(document).pages[0]


def test_letters_and_accents_apart_become_one_letter(sample, paper):
    document = sample("quote")
    document["client"]["name"] = "Zoe\u0301 A\u030angstro\u0308m"
    assert "Zoé Ångström" in paper(document).pages[0]


def test_marks_that_turn_the_direction_and_control_characters_are_dropped(sample, paper):
    document = sample("quote")
    document["client"]["name"] = "Ex\u202eam\u200bple\x00\x07\x1b \ufeffLtd\u2066"
    assert "Example" in paper(document).pages[0]


def test_half_of_a_surrogate_pair_is_drawn_as_a_replacement_sign(sample, paper):
    document = sample("quote")
    document["client"]["name"] = "Half \ud83d pair"
    assert "Half \N{REPLACEMENT CHARACTER} pair" in paper(document).pages[0]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        (
            "شركة",
            "quote Q-2027-0001: client.name: wanted letters that the papers can draw, got ش "
            "(U+0634 ARABIC LETTER SHEEN), which is written from right to left. Write it in Latin letters",
        ),
        ("שלום", "U+05E9 HEBREW LETTER SHIN), which is written from right to left"),
        ("समुद्र", "DEVANAGARI LETTER SA), which is of a script whose letters join or stack"),
        (
            "海藻",
            "(U+6D77 CJK UNIFIED IDEOGRAPH-6D77), which is in no font at hand. Write it in Latin letters, or put",
        ),
        ("\ue000", "(U+E000 unnamed), which is in no font at hand"),
    ],
)
def test_a_letter_that_cannot_be_drawn_is_named_with_its_field(sample, name, line):
    document = sample("quote")
    document["client"]["name"] = name
    with pytest.raises(BadInput) as caught:
        render(document)
    assert line in str(caught.value)
    assert "client.name: " in str(caught.value)
    assert "\n" not in str(caught.value)


def test_text_that_is_not_printed_may_hold_any_letter(sample):
    document = sample("quote")
    document["lines"][0]["why"] = "海藻"
    document["brief_note"] = "شركة"
    render(document)


def test_line_ends_of_every_kind_are_kept_as_lines(sample, paper):
    document = sample("quote")
    document["terms"] = ["First line\r\nsecond line\rthird line\u2028fourth line"]
    raw = paper(document).reader.pages[-1].extract_text()
    for text in ("First line", "second line", "third line", "fourth line"):
        assert any(line.endswith(text) for line in raw.splitlines()), raw


@pytest.mark.parametrize("letter", ["W", "i", "Щ", "🐟", "="])
def test_a_word_of_300_letters_stays_inside_the_page(sample, paper, letter):
    document = sample("quote")
    word = letter * 300
    document["client"]["name"] = document["title"] = word
    document["lines"][0]["item"] = document["deliverables"][0]["title"] = word
    drawn = paper(document)
    assert "".join(drawn.text.split()).count(letter) >= 1200
    edge = float(drawn.reader.pages[0].mediabox.width)
    for page in drawn.reader.pages:
        ends: list[float] = []
        page.extract_text(visitor_text=lambda text, cm, tm, font, size, ends=ends: ends.append(tm[4] + cm[4]))
        assert max(ends) < edge - 62 + 1


def test_a_text_longer_than_a_page_breaks_over_pages_wherever_it_stands(sample, paper):
    essay = "word " * 1500
    document = sample("quote")
    document["summary"] = document["lines"][0]["item"] = document["deliverables"][0]["spec"] = essay
    document["terms"] = [essay]
    document["licence"]["sentences"] = [essay]
    document["weather"]["sentences"] = [essay]
    document["client"]["address"] = [essay]
    assert paper(document).text.count("word") >= 7 * 1500


def test_empty_texts_break_nothing(sample, paper):
    document = sample("quote")
    document |= {"summary": "", "title": "", "lines": [], "taxes": [], "stages": [], "terms": [], "deliverables": []}
    document["client"] = {"name": "", "contact": "", "address": [], "country": "", "email": "", "tax_number": ""}
    document["studio"] |= {"people": [], "address": [], "phone": "", "email": "", "website": "", "company_number": ""}
    assert "Nothing is delivered under this quote" in paper(document).text


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.text(max_size=40))
def test_any_name_at_all_is_drawn_or_refused_in_one_line(sample, name):
    document = sample("receipt")
    document["client"]["name"] = name
    try:
        pdf, refusal = render(document), "client.name"
    except BizkitError as error:
        pdf, refusal = b"%PDF-", str(error)
    assert pdf.startswith(b"%PDF-")
    assert "client.name" in refusal
    assert "\n" not in refusal
