"""The files of a version: the film or the files of a set, and the captions that belong to them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from bizkit.domain.work.spec import CAPTION_FORMATS

if TYPE_CHECKING:
    from bizkit.store.deliveries import Version

Row = dict[str, Any]

#: Endings of what may lie in a folder of stills or films without being one of them.
BESIDE = (".xmp", ".txt", ".csv", ".pdf", ".md", ".json", ".sha256", *(f".{form}" for form in CAPTION_FORMATS))


def files_of(version: Version) -> dict[str, str]:
    """Name -> SHA-256 of every file of a version, captions included; names of a folder's files by slashes."""
    inside: Mapping[str, str] = version.data.get("files") or {version.file: version.sha256}
    return {**inside, **version.data.get("captions", {})}


def pieces(names: Iterable[str]) -> list[str]:
    """Those of `names` that are a film or a photograph, by their ending: what a promised quantity counts."""
    return [name for name in names if not name.lower().endswith(BESIDE)]
