"""Which files of a version are the films and photographs themselves, and which go with them."""

from __future__ import annotations

from collections.abc import Iterable

from bizkit.domain.work.spec import CAPTION_FORMATS

#: Endings of what may lie in a folder of stills or films without being one of them.
BESIDE = (".xmp", ".txt", ".csv", ".pdf", ".md", ".json", ".sha256", *(f".{form}" for form in CAPTION_FORMATS))


def pieces(names: Iterable[str]) -> list[str]:
    """Those of `names` that are a film or a photograph, by their ending: what a promised quantity counts."""
    return [name for name in names if not name.lower().endswith(BESIDE)]
