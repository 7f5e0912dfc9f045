"""One step of the demo."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the play: the day, the command a person would type, and what came of it."""

    on: date
    command: str
    outcome: str
