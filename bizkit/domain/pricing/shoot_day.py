"""The days of a brief: when, what kind, who in which roles, how long, with which kit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import TypeAlias

from bizkit.domain.dates import ONE_DAY, clock_time
from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.pricing.bands import read_minutes

#: Kinds of day, in the order a shoot usually runs.
KINDS = ("prep", "recce", "travel", "water", "dry", "hold", "wrap")
#: Kinds on which a camera runs.
SHOOT_KINDS = ("water", "dry")

MINUTES_A_DAY = 24 * 60

Day: TypeAlias = date


@dataclass(frozen=True, slots=True)
class CrewEntry:
    """One person (or `people` unnamed ones) on one day, in one role or several.

    field: where in the brief it stands, for messages.
    """

    person: str
    roles: tuple[str, ...]
    people: int
    field: str


@dataclass(frozen=True, slots=True)
class ShootDay:
    """One day of the brief, or `count` like days in a row.

    date: the first of them, None while it is open. minutes: of work, the meal break not counted, None when not
    said. call, wrap: times of day; a wrap at or before the call lies on the next day. meal_minutes: the unpaid
    break of this day, None for the card's own. abroad: travel to another country. fresh_water: no soak needed after.
    dives: how often in-water kit goes in on each of these days. kit, spares: name -> how many.
    """

    field: str
    date: date | None
    count: int
    kind: str
    place: str
    note: str
    crew: tuple[CrewEntry, ...]
    kit: Mapping[str, int]
    spares: Mapping[str, int]
    minutes: int | None
    call: time | None
    wrap: time | None
    meal_minutes: int | None
    half_day: bool
    by_hour: bool
    continuous: bool
    abroad: bool
    fresh_water: bool
    dives: int

    @classmethod
    def read(cls, fields: Fields) -> ShootDay:
        """One `[[days]]` table. Raises BadInput naming the key."""
        day = cls(
            field=fields.path,
            date=fields.day("date", None),
            count=fields.whole("count", 1, least=1, most=366),
            kind=fields.choice("kind", KINDS),
            place=fields.text("place", "", blank=True),
            note=fields.text("note", "", blank=True),
            crew=_crew(fields),
            kit=_kit(fields, "kit"),
            spares=_kit(fields, "spares"),
            minutes=read_minutes(fields, "hours") if "hours" in fields else None,
            call=clock(fields, "call"),
            wrap=clock(fields, "wrap"),
            meal_minutes=read_minutes(fields, "meal_hours") if "meal_hours" in fields else None,
            half_day=fields.flag("half_day", False),
            by_hour=fields.flag("by_hour", False),
            continuous=fields.flag("continuous", False),
            abroad=fields.flag("abroad", False),
            fresh_water=fields.flag("fresh_water", False),
            dives=fields.whole("dives", 1),
        )
        fields.done()
        _check(fields, day)
        return day

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


def clock(fields: Fields, key: str) -> time | None:
    """The time of day under `key`, written "08:30"; None when absent."""
    if key not in fields:
        return None
    return clock_time(fields.text(key), field=fields.field(key), where=fields.where)


def _crew(fields: Fields) -> tuple[CrewEntry, ...]:
    entries: list[CrewEntry] = []
    named: set[str] = set()
    for row in fields.rows("crew"):
        person = row.text("person", "")
        roles = row.texts("roles")
        people = row.whole("people", 1, least=1, most=200)
        row.done()
        if not roles or len(set(roles)) != len(roles):
            raise row.wrong("roles", "one role or more, each once", ", ".join(roles))
        if person and people > 1:
            raise row.wrong("people", "no number of people beside a named person", people)
        if person in named:
            raise row.wrong(
                "person", "each person once a day", person, hint="List all of a person's roles in one entry"
            )
        if person:
            named.add(person)
        entries.append(CrewEntry(person, roles, people, row.path))
    return tuple(entries)


def _kit(fields: Fields, key: str) -> Mapping[str, int]:
    """`["camera", "housing"]`, or `{ camera = 1, housing = 2 }` with how many."""
    if key not in fields:
        return {}
    try:
        names = fields.texts(key)
    except BadInput:
        table = fields.table(key)
        return {name: table.whole(name, least=1, most=1000) for name in table.names()}
    if len(set(names)) != len(names):
        raise fields.wrong(key, "each item once", ", ".join(names), hint="Write { housing = 2 } for two of them")
    return dict.fromkeys(names, 1)


def _check(fields: Fields, day: ShootDay) -> None:
    if (day.call is None) != (day.wrap is None):
        missing = "wrap" if day.wrap is None else "call"
        raise fields.wrong(missing, "both call and wrap, or neither", "nothing")
    if day.minutes is not None and day.call is not None:
        raise fields.wrong("hours", "either hours, or call and wrap", "both")
    if day.half_day and day.by_hour:
        raise fields.wrong("by_hour", "a half day or a call by the hour", "both")
    if day.by_hour and day.minutes is None and day.call is None:
        raise fields.wrong("hours", "the hours of a call by the hour", "nothing")
