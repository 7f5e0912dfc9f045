"""The client's notes on versions, as lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bizkit.services.delivery.notes import NoteWritten, Remark


def remarks(notes: list[Remark]) -> Iterator[str]:
    """Notes, each with what was said to it."""
    for one in notes:
        yield remark(one)
        if one["answer"]:
            words = f": {one['answer_text']}" if one["answer_text"] else ""
            yield f"       {one['answer']} {one['answered_on']}{words}"


def remark(one: Remark | NoteWritten) -> str:
    """A note on a version as one line."""
    when = one["at"] + (f" to {one['until']}" if one["until"] else "")
    who = f" ({one['who']})" if one["who"] else ""
    return f"  {one['number']}. v{one['version']} {when or 'whole'}: {one['text']}{who}"
