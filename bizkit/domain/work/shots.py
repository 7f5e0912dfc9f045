"""The shot list of a job: what is shot, in the water or dry, where, who appears, and which cuts it goes into."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.work.conform import conform, shutter_s, shutter_text
from bizkit.domain.work.spec import rate_of, rate_text

SHOT_KINDS = ("water", "dry")
#: Stands for every deliverable of the job.
ALL = "all"


@dataclass(frozen=True, slots=True)
class Shot:
    """One [[shots]] table. number: as called on the day. who: names of those who can be made out, in order.

    cuts: keys of the deliverables it is meant for, or "all". on: the day, where it is planned. frame_rate: that it is
    shot at; None for the timeline's.
    """

    number: str
    title: str
    kind: str
    place: str
    who: tuple[str, ...]
    cuts: tuple[str, ...]
    on: date | None
    frame_rate: Fraction | None
    note: str

    @classmethod
    def read(cls, fields: Fields) -> Shot:
        """Raises BadInput naming file and field."""
        rate = None
        if "frame_rate" in fields:
            text = fields.text("frame_rate")
            try:
                rate = rate_of(text)
            except BadInput as error:
                raise fields.wrong("frame_rate", error.wanted, text, error.hint) from None
        shot = cls(
            number=fields.text("number"),
            title=fields.text("title"),
            kind=fields.choice("kind", SHOT_KINDS),
            place=fields.text("place", ""),
            who=fields.texts("who", ()),
            cuts=fields.texts("cuts", (ALL,)),
            on=fields.day("on", None),
            frame_rate=rate,
            note=fields.text("note", ""),
        )
        fields.done()
        return shot

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "number": self.number,
            "title": self.title,
            "kind": self.kind,
            "place": self.place,
            "who": list(self.who),
            "cuts": list(self.cuts),
            "on": self.on.isoformat() if self.on else "",
            "frame_rate": str(self.frame_rate) if self.frame_rate else "",
            "note": self.note,
        }


def read_shots(fields: Fields) -> tuple[Shot, ...]:
    """Every [[shots]] table. Raises BadInput for a number given twice."""
    shots = tuple(Shot.read(row) for row in fields.rows("shots"))
    seen: set[str] = set()
    for place, shot in enumerate(shots, start=1):
        if shot.number in seen:
            raise fields.wrong(f"shots[{place}].number", "a number no other shot has", shot.number)
        seen.add(shot.number)
    return shots


@dataclass(frozen=True, slots=True)
class Appearance:
    """Who and which places are in one deliverable by the shots meant for it; each in the order of the list."""

    deliverable: str
    who: tuple[str, ...]
    places: tuple[str, ...]
    shots: tuple[str, ...]


def appearances(
    shots: Sequence[Shot], deliverables: Iterable[tuple[str, str]], *, where: str = ""
) -> tuple[Appearance, ...]:
    """What is in each deliverable that any shot is meant for.

    deliverables: key, and the key of the set it comes from or empty; a shot may name either. Raises NotFound for a
    cut that is neither.
    """
    keys = list(deliverables)
    known = dict.fromkeys([*(key for key, _ in keys), *(of for _, of in keys if of), ALL])
    for shot in shots:
        for cut in shot.cuts:
            if cut not in known:
                raise NotFound("deliverable", cut, known, field=f"shot {shot.number}.cuts", where=where)
    found = []
    for key, of in keys:
        mine = [shot for shot in shots if {key, of or key, ALL} & set(shot.cuts)]
        if mine:
            found.append(
                Appearance(
                    key,
                    tuple(dict.fromkeys(name for shot in mine for name in shot.who)),
                    tuple(dict.fromkeys(shot.place for shot in mine if shot.place)),
                    tuple(shot.number for shot in mine),
                )
            )
    return tuple(found)


def rate_hints(shots: Iterable[Shot], timeline: Fraction) -> tuple[str, ...]:
    """What to know about each frame rate that is not the timeline's: speed, and the shutter that goes with it."""
    rates: dict[Fraction, list[str]] = {}
    for shot in shots:
        if shot.frame_rate and shot.frame_rate != timeline:
            rates.setdefault(shot.frame_rate, []).append(shot.number)
    return tuple(
        f"{rate_text(rate)} on a timeline of {rate_text(timeline)} ({', '.join(numbers)}): "
        f"{' '.join(conform(rate, timeline).hints())} Shutter at 180 degrees: {shutter_text(shutter_s(rate))}."
        for rate, numbers in sorted(rates.items())
    )
