"""The shot list of a job: what is shot, in the water or dry, where, who appears, and which cuts it goes into."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Annotated

from bizkit.domain.documents.work import PlannedShot, ShotRate
from bizkit.domain.errors import NotFound
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.work.conform import conform, conform_facts, shutter_s, shutter_text
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

    number: Annotated[str, Key("What it is called on the day.", example="3")]
    title: Annotated[str, Key("What it shows.", example="Down through the kelp, light from above")]
    kind: Annotated[str, Key("Whether the camera is in the water.", choices=SHOT_KINDS)]
    place: Annotated[str, Key("Where it is shot.", example="Kelp trail, Otter Sound")] = ""
    who: Annotated[tuple[str, ...], Key("Those who can be made out.", example=["Morag Sinclair"])] = ()
    cuts: Annotated[
        tuple[str, ...], Key("Keys of the deliverables it is meant for, or all.", example=["campaign-film"])
    ] = (ALL,)
    on: Annotated[date | None, Key("The day it is planned for.", example="2027-05-10")] = None
    frame_rate: Annotated[
        Fraction | None,
        Key("Frames a second; without it the timeline's.", written=str, rule=rate_of, example="50"),
    ] = None
    note: Annotated[str, Key("What to mind.")] = ""

    def data(self) -> PlannedShot:
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


def check_numbers(shots: Sequence[Shot], at: Table) -> None:
    """Report each of the `[[shots]]` whose number was given before."""
    seen: set[str] = set()
    for place, shot in enumerate(shots, start=1):
        if shot.number in seen:
            at.problem(f"shots[{place}].number", "a number no other shot has", shot.number)
        seen.add(shot.number)


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


def rate_facts(shots: Iterable[Shot], timeline: Fraction) -> list[ShotRate]:
    """What `rate_hints` says, as figures: the rate, the timeline's, the shots, and those of `conform_facts`."""
    return [
        {"rate": rate_text(rate), "timeline": rate_text(timeline), "shots": numbers,
         **conform_facts(conform(rate, timeline))}
        for rate, numbers in _other_rates(shots, timeline)
    ]  # fmt: skip


def _other_rates(shots: Iterable[Shot], timeline: Fraction) -> list[tuple[Fraction, list[str]]]:
    rates: dict[Fraction, list[str]] = {}
    for shot in shots:
        if shot.frame_rate and shot.frame_rate != timeline:
            rates.setdefault(shot.frame_rate, []).append(shot.number)
    return sorted(rates.items())


def rate_hints(shots: Iterable[Shot], timeline: Fraction) -> tuple[str, ...]:
    """What to know about each frame rate that is not the timeline's: speed, and the shutter that goes with it."""
    return tuple(
        f"{rate_text(rate)} on a timeline of {rate_text(timeline)} ({', '.join(numbers)}): "
        f"{' '.join(conform(rate, timeline).hints())} Shutter at 180 degrees: {shutter_text(shutter_s(rate))}."
        for rate, numbers in _other_rates(shots, timeline)
    )
