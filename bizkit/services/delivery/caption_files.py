"""Caption files beside a film or by themselves: read, and every fault told."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput
from bizkit.domain.work.captions import check_captions, decode_captions, read_captions
from bizkit.services.studio.source_file import read_source

if TYPE_CHECKING:
    from bizkit.domain.work.captions import CaptionFaultData

#: A caption file is no larger.
CAPTIONS_MOST_BYTES = 5_000_000


def check_caption_file(path: Path, *, duration_s: Fraction | None = None) -> CaptionFile:
    """One SRT or WebVTT file and its faults; duration_s: of the film it belongs to.

    A file that cannot be read as captions has that as its one fault.
    """
    try:
        cues = read_captions(_text(path), path.suffix.lower().lstrip("."), where=path.name)
    except BadInput as error:
        fault: CaptionFaultData = {"kind": "unreadable", "cue": 0, "line": 0, "text": str(error)}
        return {"file": path.name, "cues": 0, "faults": [fault]}
    faults = [fault.data() for fault in check_captions(cues, duration_s=duration_s)]
    return {"file": path.name, "cues": len(cues), "faults": faults}


def _text(path: Path) -> str:
    content = read_source(path, "a caption file", most=CAPTIONS_MOST_BYTES)
    return decode_captions(content, where=path.name)


class CaptionFile(TypedDict):
    """A caption file: its cues and its faults."""

    file: str
    cues: int
    faults: list[CaptionFaultData]
