"""How the lines of a document were reckoned: kept in a member of its own, apart from what is drawn or sent.

`reckoning` holds an entry for each of `lines`: `why`, one sentence, and `working` where there is a tree of steps.
Documents frozen before it was kept apart have both in the lines; `explained` reads either.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

_OWN: Final = ("why", "working")


def kept_apart(lines: Sequence[Mapping[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """The members `lines` and `reckoning` of a document, of lines that hold both.

    >>> kept_apart([{"item": "Boat", "why": "100 + 10 %"}])
    {'lines': [{'item': 'Boat'}], 'reckoning': [{'why': '100 + 10 %'}]}
    """
    return {
        "lines": [{key: value for key, value in line.items() if key not in _OWN} for line in lines],
        "reckoning": [{key: line[key] for key in _OWN if key in line} for line in lines],
    }


def explained(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The lines of a document, each with its `why` (and `working` where it was kept), for the studio's eyes."""
    lines = document["lines"]
    kept = document.get("reckoning") or [{}] * len(lines)
    return [{"why": "", **line, **own} for line, own in zip(lines, kept, strict=True)]
