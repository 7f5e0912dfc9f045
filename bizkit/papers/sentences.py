"""A licence in sentences of a paper's language: those that its papers print, for whatever else has to say them."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bizkit.papers.template import fill_text


def licence_sentences(licence: Mapping[str, Any], *, language: str, locale: str, own: Path | None) -> list[str]:
    """The sentences, made from the facts of a document's `licence`; as they were agreed, in English, for a language
    whose papers print those.

    own: the studio's papers folder, which goes before the shipped one.
    """
    name = f"{language}/_licence.xml.j2"
    text = '{% import "' + name + '" as licences with context %}{{ licences.sentences(licence) }}'
    found = fill_text(text, name, {"licence": licence}, language=language, locale=locale, own=own)
    if found is None:
        return [str(sentence) for sentence in licence["sentences"]]
    return [" ".join("".join(item.itertext()).split()) for item in ET.fromstring(found).iter("item")]
