"""Who does something, on which day, and at which moment it is written down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Stamp:
    """who: the person. on: the calendar day the act counts for. at: the moment of writing, ISO text in UTC.

    ahead: why the act, or what it writes down, is dated after today; empty when it is not. Kept with each event.
    """

    who: str
    on: date
    at: str
    ahead: str = ""
