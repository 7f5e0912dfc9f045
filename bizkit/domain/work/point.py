"""One thing a spec asks of a file, and whether the file has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict


@dataclass(frozen=True, slots=True)
class Point:
    """One thing a spec asks of a file.

    ok: None where a machine cannot tell and a person has to look. why: one sentence; for a point that fails, what to
    do about it.
    """

    name: str
    wanted: str
    got: str
    ok: bool | None
    why: str = ""

    def data(self) -> PointData:
        """As JSON-ready data."""
        return {"name": self.name, "wanted": self.wanted, "got": self.got, "ok": self.ok, "why": self.why}


class PointData(TypedDict):
    """A point of a spec as JSON; ok: None for what cannot be judged."""

    name: str
    wanted: str
    got: str
    ok: bool | None
    why: str
