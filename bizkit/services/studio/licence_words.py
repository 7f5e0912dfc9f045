"""A licence in its reader's language, for what is no paper: electronic invoices, sidecars, policies."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bizkit.services.studio.studio_folder import StudioFolder


def sentences_of(folder: StudioFolder, licence: Mapping[str, Any], language: str, locale: str) -> list[str]:
    """The sentences of a document's `licence`, as the papers of that language print them."""
    from bizkit.papers.sentences import licence_sentences

    return licence_sentences(licence, language=language, locale=locale, own=folder.own_templates)


def in_readers_language(folder: StudioFolder, document: Mapping[str, Any]) -> dict[str, Any]:
    """A frozen document whose licence sentences are those of its paper; what was added to them stays."""
    licence = document.get("licence")
    if not licence or not document.get("licence_sentences"):
        return dict(document)
    said = sentences_of(folder, licence, document["language"], document["locale"])
    added = [one for one in document["licence_sentences"] if one not in licence["sentences"]]
    return {**document, "licence_sentences": [*said, *added]}
