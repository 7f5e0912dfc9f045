"""Who and what is needed on which day, and where two jobs need the same."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.kit_terms import KitTerms
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.domain.pricing.weather_plan import WeatherPlan


@dataclass(frozen=True, slots=True)
class Booking:
    """`quantity` of a resource on one date for one job. kind: "person" or "kit". hold: kept free, not yet sure."""

    kind: str
    resource: str
    date: date
    job: str
    quantity: int = 1
    hold: bool = False


@dataclass(frozen=True, slots=True)
class Conflict:
    """More wanted on one date than there is. jobs: in the order they were booked, with "(hold)" after a hold."""

    kind: str
    resource: str
    date: date
    jobs: tuple[str, ...]
    wanted: int
    at_hand: int

    @property
    def text(self) -> str:
        """As one sentence.

        >>> Conflict("person", "Rowan Lark", date(2027, 5, 10), ("kelp", "otters (hold)"), 2, 1).text
        'Rowan Lark is booked twice on 2027-05-10: kelp, otters (hold)'
        """
        return self.told(str(self.date))

    def told(self, when: str) -> str:
        """The same of more days than its own."""
        jobs = ", ".join(self.jobs)
        if self.kind == "person":
            times = "twice" if self.wanted == 2 else f"{self.wanted} times"
            return f"{self.resource} is booked {times} on {when}: {jobs}"
        return f"{self.wanted} x {self.resource} wanted on {when}, {self.at_hand} at hand: {jobs}"


def bookings(kit: KitTerms, brief: Brief, job: str, *, hold: bool = False) -> list[Booking]:
    """Every named person and every owned item that the dated days of `brief` need, bundles taken apart.

    Sub-hired items and unnamed people are left out: there are as many as asked for. hold: whether the whole job is
    only pencilled in; its hold days always are.
    """
    people: dict[tuple[str, date], bool] = {}
    things: dict[tuple[str, date], tuple[int, bool]] = {}
    for day in brief.days:
        pencilled = hold or day.kind == "hold"
        pieces: dict[str, int] = {}
        for wanted in (day.kit, day.spares):
            for name, quantity in wanted.items():
                for key, count in kit.pieces(name, quantity).items():
                    if not kit.items[key].sub_hired:
                        pieces[key] = pieces.get(key, 0) + count
        for on in day.dates():
            for entry in day.crew:
                if entry.person:
                    people[entry.person, on] = people.get((entry.person, on), True) and pencilled
            for key, count in pieces.items():
                before, was_hold = things.get((key, on), (0, True))
                things[key, on] = (before + count, was_hold and pencilled)
    found = [Booking("person", who, on, job, 1, pencil) for (who, on), pencil in people.items()]
    return found + [Booking("kit", key, on, job, many, pencil) for (key, on), (many, pencil) in things.items()]


def weather_holds(kit: KitTerms, brief: Brief, plan: WeatherPlan | None, job: str) -> list[Booking]:
    """The days that the weather plan keeps free beside the days of the brief: whoever and whatever shoots waits."""
    shoots = [day for day in brief.days if day.kind in SHOOT_KINDS]
    if plan is None or plan.request.starts is None or not shoots:
        return []
    taken = {on for day in brief.days for on in day.dates()}
    people = dict.fromkeys(entry.person for day in shoots for entry in day.crew if entry.person)
    most: dict[str, int] = {}
    for day in shoots:
        pieces: dict[str, int] = {}
        for name, quantity in day.kit.items():
            for key, count in kit.pieces(name, quantity).items():
                pieces[key] = pieces.get(key, 0) + count
        for key, count in pieces.items():
            if not kit.items[key].sub_hired:
                most[key] = max(most.get(key, 0), count)
    found = []
    for number in range(plan.booked_days):
        on = plan.request.starts + ONE_DAY * number
        if on not in taken:
            found += [Booking("person", who, on, job, 1, True) for who in people]
            found += [Booking("kit", key, on, job, many, True) for key, many in most.items()]
    return found


def conflicts(booked: Iterable[Booking], owned: Mapping[str, int]) -> list[Conflict]:
    """Where more is booked than there is, by date, then name. owned: item -> how many (1 where not said).

    A person can be in one place a day; the same job twice on a date is one booking for them.
    """
    days: dict[tuple[date, str, str], list[Booking]] = {}
    for booking in booked:
        days.setdefault((booking.date, booking.kind, booking.resource), []).append(booking)
    found = []
    for (on, kind, resource), same in sorted(days.items(), key=lambda entry: entry[0]):
        jobs = tuple(dict.fromkeys(f"{each.job} (hold)" if each.hold else each.job for each in same))
        at_hand = 1 if kind == "person" else owned.get(resource, 1)
        wanted = len({each.job for each in same}) if kind == "person" else sum(each.quantity for each in same)
        if wanted > at_hand:
            found.append(Conflict(kind, resource, on, jobs, wanted, at_hand))
    return found


def clash_sentences(found: Iterable[Conflict]) -> list[str]:
    """A sentence for each person or thing that is wanted too often by the same jobs, with all its days.

    >>> one = Conflict("person", "Rowan Lark", date(2027, 5, 10), ("kelp", "otters"), 2, 1)
    >>> later = [Conflict(one.kind, one.resource, date(2027, 5, day), one.jobs, 2, 1) for day in (11, 12, 15)]
    >>> clash_sentences([one, *later])
    ['Rowan Lark is booked twice on 2027-05-10 to 2027-05-12, 2027-05-15: kelp, otters']
    """
    days: dict[tuple[str, str, tuple[str, ...], int, int], list[Conflict]] = {}
    for one in found:
        days.setdefault((one.kind, one.resource, one.jobs, one.wanted, one.at_hand), []).append(one)
    return [same[0].told(_spans([one.date for one in same])) for same in days.values()]


def _spans(days: Iterable[date]) -> str:
    """Days as ranges: "2027-05-10 to 2027-05-12, 2027-05-15"."""
    spans: list[list[date]] = []
    for day in sorted(days):
        if spans and day - spans[-1][-1] == ONE_DAY:
            spans[-1].append(day)
        else:
            spans.append([day])
    return ", ".join(str(one[0]) if len(one) == 1 else f"{one[0]} to {one[-1]}" for one in spans)


def owned_kit(kit: KitTerms) -> dict[str, int]:
    """Item -> how many the studio owns; sub-hired items and bundles left out."""
    return {key: item.owned for key, item in kit.items.items() if item.owned}
