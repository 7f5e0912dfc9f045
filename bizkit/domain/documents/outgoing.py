"""The wall between a document and whoever is outside: what of it may leave the studio.

A frozen document holds more than its paper says: how each amount was reckoned from costs and mark-ups, what the
studio was warned of, whose rate card it was. `outgoing` gives what may leave, and what may leave is what the shape of
the document names. Every way out begins with it: drawing a paper, writing an electronic invoice, wording a mail. A
template that asks for more finds nothing, and printing nothing is an error.

Old documents pass through the same wall: what they were frozen with stays in the book.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, get_args, get_origin, is_typeddict

from bizkit.domain.documents import SHAPES, members

#: Members that never leave, also where no shape says what a part of a document holds.
NEVER: Final = frozenset({"why", "working", "reckoning", "warnings", "reasons", "margin"})


class Outgoing(Mapping[str, Any]):
    """A document without what is the studio's own; made by `outgoing` alone."""

    __slots__ = ("_members",)

    def __init__(self, document: Mapping[str, Any]) -> None:
        if isinstance(document, Outgoing):
            self._members: dict[str, Any] = document._members
            return
        shape = SHAPES.get(str(document.get("kind", "")))
        self._members = _unshaped(document) if shape is None else _shaped(document, shape)

    def __getitem__(self, name: str) -> Any:
        return self._members[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._members)

    def __len__(self) -> int:
        return len(self._members)


def outgoing(document: Mapping[str, Any]) -> Outgoing:
    """What of a document may leave the studio: the members that the shape of its kind names, at every depth.

    Of a kind without a shape (a studio may make up its own papers) everything but `NEVER`.

    >>> dict(outgoing({"kind": "house_rules", "title": "Rules", "lines": [{"item": "Boat", "why": "100 + 10 %"}]}))
    {'kind': 'house_rules', 'title': 'Rules', 'lines': [{'item': 'Boat'}]}
    """
    return Outgoing(document)


def _shaped(value: Any, hint: Any) -> Any:
    if is_typeddict(hint) and isinstance(value, Mapping):
        known = members(hint)
        return {key: _shaped(one, known[key]) for key, one in value.items() if key in known}
    inner = get_args(hint)
    if get_origin(hint) is list and isinstance(value, list | tuple):
        return [_shaped(one, inner[0]) for one in value]
    if get_origin(hint) is dict and isinstance(value, Mapping):
        return {key: _shaped(one, inner[1]) for key, one in value.items()}
    return _unshaped(value)


def _unshaped(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _unshaped(one) for key, one in value.items() if key not in NEVER}
    if isinstance(value, list | tuple):
        return [_unshaped(one) for one in value]
    return value
