"""The wall: what is the studio's own is in no paper, whatever a template asks for and however old the document is."""

from __future__ import annotations

from typing import Any, get_type_hints

import pytest

from bizkit.domain.documents import SHAPES, members
from bizkit.domain.documents.outgoing import NEVER, outgoing
from bizkit.domain.documents.reckoning import explained, kept_apart
from bizkit.domain.errors import BadInput
from bizkit.exchange.einvoice.cii import cii
from bizkit.exchange.einvoice.ubl import ubl
from bizkit.papers.render import render

SECRET = "2 x GBP 59.40 (GBP 54.00 + 10 % markup)"


def old_quote(sample) -> dict[str, Any]:
    """A quote as they were frozen before the reckoning was kept apart: it stands in the lines."""
    document = sample("quote")
    assert any(line["why"] for line in document["lines"])
    return document


@pytest.mark.parametrize(
    "asks",
    [
        "{{ lines[0].why }}",
        "{% for line in lines %}{{ line['why'] }}{% endfor %}",
        "{{ lines | map(attribute='why') | join }}",
        "{{ lines[0].working.text }}",
        "{{ reckoning[0].why }}",
        "{{ warnings[0] }}",
        "{{ rate_card.name }}",
        "{{ brief_sha256 }}",
    ],
)
def test_a_template_that_asks_for_the_studios_reckoning_fails(sample, tmp_path, asks):
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "quote.xml.j2").write_text(f"<paper><para>{asks}</para></paper>", "utf-8")
    document = {**old_quote(sample), "reckoning": [{"why": SECRET}], "warnings": [SECRET]}
    document["lines"][0]["working"] = {"text": SECRET, "rule": "costs.markup"}
    with pytest.raises(BadInput, match="a field that the paper prints, got"):
        render(document, own=tmp_path)


def test_a_template_that_prints_all_it_is_given_prints_nothing_of_it(sample, tmp_path, paper):
    (tmp_path / "en").mkdir()
    everything = "<paper><para>{{ lines }} {{ licence }} {{ client }} {{ deliverables }}</para></paper>"
    (tmp_path / "en" / "quote.xml.j2").write_text(everything, "utf-8")
    document = old_quote(sample)
    for line in document["lines"]:
        line["why"] = SECRET
    text = paper(document, own=tmp_path).text
    assert "Director and camera" in text
    assert "markup" not in text


@pytest.mark.parametrize("syntax", [cii, ubl])
@pytest.mark.parametrize("kind", ["invoice", "credit_note"])
def test_an_electronic_invoice_of_an_old_document_holds_no_working(sample, syntax, kind):
    document = sample(kind)
    for line in document["lines"]:
        line["why"] = SECRET
    plain = {**document, "lines": [{key: line[key] for key in line if key != "why"} for line in document["lines"]]}
    more = {"buyer_reference": "", "rounding": "", "reasons": {"tax": SECRET}}
    assert syntax({**document, **more}) == syntax({**plain, **more})
    assert b"markup" not in syntax({**document, **more})


def test_no_shape_lets_the_reckoning_out():
    seen = set()

    def walk(shape: Any) -> None:
        if not hasattr(shape, "__total__") or shape in seen:
            return
        seen.add(shape)
        for key, hint in members(shape).items():
            # The interest a late payer owes is shown to him with its working.
            assert key not in NEVER or (shape.__name__, key) == ("LateInterest", "working")
            for inner in (hint, *getattr(hint, "__args__", ())):
                walk(inner)

    for shape in SHAPES.values():
        walk(shape)
    assert len(seen) > 60
    assert set(get_type_hints(SHAPES["quote"])) & NEVER == set()


def test_a_kind_that_a_studio_made_up_passes_the_same_wall():
    document = {"kind": "call_sheet", "lines": [{"item": "Boat", "why": SECRET, "parts": [{"working": SECRET}]}]}
    assert dict(outgoing(document)) == {"kind": "call_sheet", "lines": [{"item": "Boat", "parts": [{}]}]}


def test_what_passed_the_wall_passes_it_unchanged(samples):
    for document in samples.values():
        once = outgoing(document)
        assert dict(outgoing(once)) == dict(once)
        assert dict(outgoing(dict(once))) == dict(once)


def test_the_reckoning_is_read_from_old_and_new_documents_alike():
    lines = [{"item": "Boat", "amount": "118.80", "why": SECRET, "working": {"text": SECRET}}, {"item": "Tea"}]
    new = kept_apart(lines)
    assert new["lines"] == [{"item": "Boat", "amount": "118.80"}, {"item": "Tea"}]
    assert explained(new) == explained({"lines": lines}) == [lines[0], {"item": "Tea", "why": ""}]
