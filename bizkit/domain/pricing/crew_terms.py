"""The crew side of a rate card: roles with their day rates, and the terms a crew day is paid by."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

from bizkit.domain.inputs.keys import Key, Minutes
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money
from bizkit.domain.pricing.bands import BandRow, Ladder
from bizkit.domain.pricing.sentences import in_hours
from bizkit.domain.pricing.shoot_day import KINDS

if TYPE_CHECKING:
    from bizkit.domain.pricing.card_file import CardFile

#: What a kind of day is paid at, in percent of the day rate, where the card does not say.
USUAL_PERCENT = {kind: Decimal(100) for kind in (*KINDS, "short_travel", "half_day")} | {
    "short_travel": Decimal(50),
    "half_day": Decimal(60),
    "hold": Decimal(50),
}


_PERCENT = Key(
    "What a kind of day is paid at, of the day rate.",
    "percent",
    choices=tuple(USUAL_PERCENT),
    wanted="a known kind of day",
)


@dataclass(frozen=True, slots=True)
class Role:
    """One crew role: its day rate, the hours it buys, and its own percentages by kind of day.

    day_minutes, half_day_minutes: minutes of work. meal_minutes: the unpaid break. minimum_minutes: what a call by
    the hour pays at least.
    """

    key: str
    title: str
    day_rate: Money
    percent: Mapping[str, Decimal]
    day_minutes: int
    meal_minutes: int
    minimum_minutes: int
    half_day_minutes: int


@dataclass(frozen=True, slots=True)
class FixedRate:
    """A day rate agreed for one person in exactly these roles."""

    roles: frozenset[str]
    title: str
    day_rate: Money


@dataclass(frozen=True, slots=True)
class Window:
    """Clock hours with an uplift of `percent` of the basic hour; may run past midnight. The card's [night]."""

    start: Annotated[time, Key("When the night begins.", name="from", example="22:00")]
    end: Annotated[time, Key("When it ends.", name="until", example="06:00")]
    percent: Annotated[Decimal, Key("Of the basic hour, on top.", "percent", example=50)]

    def settled(self, at: Table) -> "Window":
        """It begins and ends at two times."""
        if self.start == self.end:
            at.problem("from", "both from and until, two different times", "the same time twice")
        return self


@dataclass(frozen=True, slots=True)
class LateCall:
    """A call at or after `start` has a basic day of `minutes` only. The card's [late_call]."""

    start: Annotated[time, Key("A call this late or later buys a shorter day.", name="from", example="14:00")]
    minutes: Annotated[Minutes, Key("How long that day is.", "hours", name="hours")] = 480


@dataclass(frozen=True, slots=True)
class DayTable:
    """The card's [day]: the hours of a crew day, the meal break apart, and what a kind of day is paid at."""

    hours: Annotated[Minutes | None, Key("Work in a day, 10 where not said.", "hours", example=10)] = None
    meal_hours: Annotated[Minutes | None, Key("The unpaid break, 1 where not said.", "hours")] = None
    minimum_hours: Annotated[Minutes | None, Key("The least call by the hour, 4 where not said.", "hours")] = None
    half_day_hours: Annotated[Minutes | None, Key("A half day is no longer, 5 where not said.", "hours")] = None
    continuous_hours: Annotated[Minutes, Key("A day without a break ends this early.", "hours")] = 540
    short_travel_hours: Annotated[Minutes, Key("Travel at home up to this long is short.", "hours")] = 300
    overtime_step_minutes: Annotated[int, Key("Overtime counts in started steps.", "minutes", least=1, most=60)] = 30
    percent: Annotated[Mapping[str, Decimal], _PERCENT] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RoleTable:
    """A [crew.NAME] table: a role, and where its day differs from the card's."""

    title: Annotated[str, Key("What papers call it.", example="Underwater camera")]
    day_rate: Annotated[Money, Key("A day of its hours.", example=560)]
    percent: Annotated[Mapping[str, Decimal], _PERCENT] = field(default_factory=dict)
    hours: Annotated[Minutes | None, Key("Work in a day of this role.", "hours")] = None
    meal_hours: Annotated[Minutes | None, Key("Its unpaid break.", "hours")] = None
    minimum_hours: Annotated[Minutes | None, Key("Its least call by the hour.", "hours")] = None
    half_day_hours: Annotated[Minutes | None, Key("Its half day.", "hours")] = None


@dataclass(frozen=True, slots=True)
class FixedTable:
    """A [[several_roles.fixed]] table: one rate for exactly these roles in one person."""

    roles: Annotated[tuple[str, ...], Key("Names of the roles.", example=["camera", "drone_pilot"])]
    day_rate: Annotated[Money, Key("A day in all of them.", example=590)]
    title: Annotated[str, Key("What papers call it.")] = ""


@dataclass(frozen=True, slots=True)
class SeveralRoles:
    """The card's [several_roles]: one person in several of them."""

    extra_role_percent: Annotated[
        Decimal, Key("Of the highest day rate, for each further role.", "percent", most=100)
    ] = Decimal(25)
    fixed: Annotated[tuple[FixedTable, ...], Key("One rate for exactly these roles in one person.")] = ()


@dataclass(frozen=True, slots=True)
class Uplift:
    """The card's [uplift]: more of the day's pay on these days; the dearest one counts."""

    saturday_percent: Annotated[Decimal, Key("On a Saturday.", "percent")] = Decimal(0)
    sunday_percent: Annotated[Decimal, Key("On a Sunday.", "percent")] = Decimal(0)
    holiday_percent: Annotated[Decimal, Key("On a public holiday.", "percent")] = Decimal(0)


@dataclass(frozen=True, slots=True)
class Rest:
    """The card's [rest]: what is due between wrap and the next call."""

    due_hours: Annotated[Minutes, Key("Rest that is due.", "hours")] = 660
    penalty: Annotated[tuple[BandRow, ...], Key("What missing rest is paid at, by the hour.")] = ()


@dataclass(frozen=True, slots=True)
class CrewTerms:
    """Everything the card says about crew days. Percentages are of the day rate, minutes of work without the meal.

    step_minutes: overtime counts in started steps of this length. extra_role_percent: of the highest role's day
    rate, for each further role of the same person. rest_minutes: the rest due between wrap and the next call.
    """

    roles: Mapping[str, Role]
    fixed: tuple[FixedRate, ...]
    extra_role_percent: Decimal
    continuous_minutes: int
    short_travel_minutes: int
    step_minutes: int
    percent: Mapping[str, Decimal]
    overtime: Ladder
    saturday_percent: Decimal
    sunday_percent: Decimal
    holiday_percent: Decimal
    night: Window | None
    late_call: LateCall | None
    rest_minutes: int
    rest: Ladder

    @classmethod
    def of(cls, card: "CardFile", at: Table) -> "CrewTerms":
        """From the card's [crew], [day], [several_roles], [[overtime]], [uplift], [night], [late_call], [rest]."""
        day = card.day
        usual = _hours(day, {"hours": 600, "meal_hours": 60, "minimum_hours": 240, "half_day_hours": 300}, at, "day")
        roles = {key: _role(key, table, usual, at) for key, table in card.crew.items()}
        if not roles:
            at.problem("crew", "one role or more, as [crew.NAME] tables", "none")
        if 60 % day.overtime_step_minutes:
            wanted = "a step that divides the hour (15, 30, 60)"
            at.problem("day.overtime_step_minutes", wanted, day.overtime_step_minutes)
        rest = at.inside("rest", {})
        return cls(
            roles=roles,
            fixed=tuple(
                _fixed(table, roles, at, f"several_roles.fixed[{number}]")
                for number, table in enumerate(card.several_roles.fixed, start=1)
            ),
            extra_role_percent=card.several_roles.extra_role_percent,
            continuous_minutes=day.continuous_hours,
            short_travel_minutes=day.short_travel_hours,
            step_minutes=day.overtime_step_minutes,
            percent=USUAL_PERCENT | dict(day.percent),
            overtime=Ladder.of(card.overtime, at, "overtime"),
            saturday_percent=card.uplift.saturday_percent,
            sunday_percent=card.uplift.sunday_percent,
            holiday_percent=card.uplift.holiday_percent,
            night=card.night,
            late_call=card.late_call,
            rest_minutes=card.rest.due_hours,
            rest=Ladder.of(card.rest.penalty, rest, "penalty"),
        )

    def pay_percent(self, role: Role, kind: str) -> Decimal:
        """Percent of the day rate that `role` is paid on this kind of day."""
        return role.percent.get(kind, self.percent[kind])


def _role(key: str, table: RoleTable, usual: Mapping[str, int], at: Table) -> Role:
    hours = _hours(table, usual, at, f"crew.{key}")
    return Role(
        key,
        table.title,
        table.day_rate,
        table.percent,
        day_minutes=hours["hours"],
        meal_minutes=hours["meal_hours"],
        minimum_minutes=hours["minimum_hours"],
        half_day_minutes=hours["half_day_hours"],
    )


def _hours(table: DayTable | RoleTable, usual: Mapping[str, int], at: Table, place: str) -> dict[str, int]:
    """Minutes by key, `usual` where the table does not say. No part of a day is longer than the day."""
    said = {key: getattr(table, key) for key in usual}
    minutes = {key: usual[key] if said[key] is None else said[key] for key in usual}
    if said["hours"] == 0:
        at.problem(f"{place}.hours", "a day of more than 0 hours", 0)
    for key in ("minimum_hours", "half_day_hours"):
        if minutes[key] > minutes["hours"]:
            if said[key] is not None:
                most = f"no more than the {in_hours(minutes['hours'])} h of a day"
                at.problem(f"{place}.{key}", most, in_hours(minutes[key]))
            minutes[key] = minutes["hours"]
    return minutes


def _fixed(table: FixedTable, roles: Mapping[str, Role], at: Table, place: str) -> FixedRate:
    names = table.roles
    for name in names:
        if name not in roles:
            at.unknown(f"{place}.roles", "role", name, roles)
    if len(set(names)) != len(names) or len(names) < 2:
        at.problem(f"{place}.roles", "two roles or more, each once", ", ".join(names))
    return FixedRate(frozenset(names), table.title, table.day_rate)
