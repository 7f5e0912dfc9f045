"""The days of a brief: when, what kind, who in which roles, how long, with which kit."""

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from datetime import date, time, timedelta
from typing import Annotated, TypeAlias

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Form, Given, Key, Minutes
from bizkit.domain.inputs.reading import Table

#: Kinds of day, in the order a shoot usually runs.
KINDS = ("prep", "recce", "travel", "water", "dry", "hold", "wrap")
#: Kinds on which a camera runs.
SHOOT_KINDS = ("water", "dry")

MINUTES_A_DAY = 24 * 60

Day: TypeAlias = date


_KIT = Form(
    "list of names, or { housing = 2 } for two of one",
    {
        "anyOf": [
            {"type": "string", "pattern": "\\S"},
            {"type": "array", "items": {"type": "string", "pattern": "\\S"}, "uniqueItems": True},
            {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1, "maximum": 1000}},
        ]
    },
)


def _kit(value: object) -> Mapping[str, int]:
    """`["camera", "housing"]`, or `{ camera = 1, housing = 2 }` with how many. Raises BadInput."""
    if isinstance(value, Mapping):
        for name, count in value.items():
            if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 1000:
                raise BadInput(wanted="a whole number 1..1000", got=count, field=f".{name}")
        return dict(value)
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list | tuple) or any(not isinstance(name, str) or not name.strip() for name in names):
        raise BadInput(wanted="a list of texts, or a table { housing = 2 }", got=value)
    names = [name.strip() for name in names]
    if len(set(names)) != len(names):
        raise BadInput(wanted="each item once", got=", ".join(names), hint="Write { housing = 2 } for two of them")
    return dict.fromkeys(names, 1)


@dataclass(frozen=True, slots=True)
class CrewEntry:
    """One person (or `people` unnamed ones) on one day, in one role or several.

    field: where in the brief it stands, for messages.
    """

    roles: Annotated[tuple[str, ...], Key("Names of roles on the card.", example=["director", "camera"])]
    person: Annotated[str, Key("Who it is; the same name, the same person.", example="Ailsa Gannet")] = ""
    people: Annotated[int, Key("How many, where nobody is named.", "people", least=1, most=200)] = 1
    field: Annotated[str, Given.PLACE] = ""

    def settled(self, at: Table) -> "CrewEntry":
        """Each role once, and one of somebody who is named."""
        if not self.roles or len(set(self.roles)) != len(self.roles):
            at.problem("roles", "one role or more, each once", ", ".join(self.roles))
        if self.person and self.people > 1:
            at.problem("people", "no number of people beside a named person", self.people)
        return self


@dataclass(frozen=True, slots=True)
class ShootDay:
    """One day of the brief, or `count` like days in a row.

    date: the first of them, None while it is open. minutes: of work, the meal break not counted, None when not
    said. call, wrap: times of day; a wrap at or before the call lies on the next day. meal_minutes: the unpaid
    break of this day, None for the card's own. abroad: travel to another country. fresh_water: no soak needed after.
    dives: how often in-water kit goes in on each of these days. kit, spares: name -> how many.
    """

    kind: Annotated[str, Key("What kind of day it is.", choices=KINDS)]
    date: Annotated[Day | None, Key("Its date; left out while it is open.", example="2027-05-10")] = None
    count: Annotated[int, Key("So many like days in a row.", "days", least=1, most=366)] = 1
    place: Annotated[str, Key("Where.", example="Kelp trail, Otter Sound")] = ""
    note: Annotated[str, Key("What the client should know of it.")] = ""
    crew: Annotated[tuple[CrewEntry, ...], Key("Who works in which roles.")] = ()
    kit: Annotated[
        Mapping[str, int],
        Key("Kit and bundles on the card.", form=_KIT, rule=_kit, example=["camera", "housing"]),
    ] = dataclass_field(default_factory=dict)
    spares: Annotated[Mapping[str, int], Key("Spares brought along.", form=_KIT, rule=_kit, example=["camera"])] = (
        dataclass_field(default_factory=dict)
    )
    minutes: Annotated[
        Minutes | None, Key("Hours of work, without the meal break.", "hours", name="hours", example=10)
    ] = None
    call: Annotated[time | None, Key("When it begins, in place of hours.", example="08:00")] = None
    wrap: Annotated[time | None, Key("When it ends; before the call it is the next day.", example="18:30")] = None
    meal_minutes: Annotated[
        Minutes | None, Key("The unpaid break, where not the card's.", "hours", name="meal_hours")
    ] = None
    half_day: Annotated[bool, Key("Whether it is a half day.")] = False
    by_hour: Annotated[bool, Key("Whether it is a call by the hour.")] = False
    continuous: Annotated[bool, Key("Whether it runs without a meal break.")] = False
    abroad: Annotated[bool, Key("Whether it is travel to another country.")] = False
    fresh_water: Annotated[bool, Key("Whether the water is fresh, so that no soak is needed.")] = False
    dives: Annotated[int, Key("How often kit goes into the water on each day.", "dives")] = 1
    field: Annotated[str, Given.PLACE] = ""

    def settled(self, at: Table) -> "ShootDay":
        """Its hours are said in one way, and each person once."""
        if (self.call is None) != (self.wrap is None):
            at.problem("wrap" if self.wrap is None else "call", "both call and wrap, or neither", "nothing")
        if self.minutes is not None and self.call is not None:
            at.problem("hours", "either hours, or call and wrap", "both")
        if self.half_day and self.by_hour:
            at.problem("by_hour", "a half day or a call by the hour", "both")
        if self.by_hour and self.minutes is None and self.call is None:
            at.problem("hours", "the hours of a call by the hour", "nothing")
        named: set[str] = set()
        for number, entry in enumerate(self.crew, start=1):
            if entry.person in named:
                hint = "List all of a person's roles in one entry"
                at.problem(f"crew[{number}].person", "each person once a day", entry.person, hint)
            named |= {entry.person} if entry.person else set()
        return self

    def dates(self) -> tuple[Day, ...]:
        """Each calendar date, in order; none while the date is open."""
        if self.date is None:
            return ()
        return tuple(self.date + timedelta(days=number) for number in range(self.count))

    @property
    def last_date(self) -> Day | None:
        """The last of these days, None while the date is open."""
        return None if self.date is None else self.date + ONE_DAY * (self.count - 1)

    @property
    def minutes_on_set(self) -> int | None:
        """From call to wrap, the meal break included; None without both times."""
        if self.call is None or self.wrap is None:
            return None
        return span_minutes(self.call, self.wrap)


def minute_of_day(moment: time) -> int:
    """Minutes since midnight."""
    return moment.hour * 60 + moment.minute


def span_minutes(call: time, wrap: time) -> int:
    """Minutes from call to wrap; a wrap at or before the call lies on the next day."""
    span = minute_of_day(wrap) - minute_of_day(call)
    return span if span > 0 else span + MINUTES_A_DAY
