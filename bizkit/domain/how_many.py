"""Counts in the words of messages: `1 file`, `3 files`."""

from __future__ import annotations


def how_many(number: int, one: str, many: str = "") -> str:
    """A number and its noun. many: the noun of more than one, where an `s` does not make it.

    >>> how_many(1, "file"), how_many(0, "file"), how_many(2, "copy", "copies")
    ('1 file', '0 files', '2 copies')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
