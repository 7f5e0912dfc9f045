"""The written shapes of the documents are those that the papers draw."""

from __future__ import annotations

from typing import get_type_hints

import pytest

from bizkit import resources
from bizkit.domain.documents import SHAPES, required_keys
from bizkit.domain.errors import BadInput
from bizkit.papers.render import render


def test_every_kind_has_a_template_in_every_language_and_a_shape():
    for language in ("en", "de"):
        found = {
            path.name.removesuffix(".xml.j2") for path in (resources.templates() / "papers" / language).glob("[a-z]*")
        }
        assert found == set(SHAPES)


#: Members of a quote that are the studio's own (they leave with no paper).
OWN = {"rate_card", "brief_sha256"}


def test_samples_carry_no_key_that_their_shape_does_not_name_or_that_is_the_studios_own(samples):
    for document in samples.values():
        assert set(document) - OWN <= set(get_type_hints(SHAPES[document["kind"]])), document["kind"]


@pytest.mark.parametrize("kind", sorted(SHAPES))
def test_a_document_without_what_is_not_required_is_drawn(sample, kind):
    document = {key: value for key, value in sample(kind).items() if key in required_keys(kind)}
    assert len(document) < len(sample(kind))
    assert render(document).startswith(b"%PDF-")


@pytest.mark.parametrize("kind", sorted(SHAPES))
def test_each_required_key_is_missed_when_it_is_not_there(sample, kind):
    for key in set(required_keys(kind)) - {"kind", "language", "paper_size"}:
        document = sample(kind)
        del document[key]
        with pytest.raises(BadInput, match=f"{key}: wanted a field that the paper prints, got nothing"):
            render(document)
