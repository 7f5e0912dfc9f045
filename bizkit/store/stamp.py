"""Who does something, on which day, and at which moment it is written down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Stamp:
    """who: the person. on: the calendar day the act counts for. at: the moment of writing, ISO text in UTC."""

    who: str
    on: date
    at: str
