"""Planning a job backwards from the client's date over working days, and what slips when one date moves.

A step takes whole working days, both ends included; a step of 0 days is a moment on the day its last predecessor
ends (a delivery). A step may be fixed to dates of its own, such as a shoot: it is never moved, and may lie on a
weekend.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, TypedDict

from bizkit.domain.dates import ONE_DAY, DayOff, add_working_days, weekend, working_days_between
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table

#: The longest step, in working days.
MOST_DAYS = 1000

#: How far from the client's date a plan may reach, in years.
MOST_YEARS = 20


@dataclass(frozen=True, slots=True)
class Step:
    """One piece of work or waiting. days: working days it takes. after: keys of the steps that come before it.

    starts, ends: first and last day, both included, where the dates are given; `days` is then 0.
    """

    key: Annotated[str, Key("What other steps call it.", example="cut")]
    title: Annotated[str, Key("What is done.", example="First cut, stills selected")]
    days: Annotated[int, Key("How long it takes.", "working days", most=MOST_DAYS, example=8)] = 0
    after: Annotated[tuple[str, ...], Key("Keys of the steps before it.", example=["shoot"])] = ()
    starts: Annotated[date | None, Key("Its first day, in place of days.", name="from")] = None
    ends: Annotated[date | None, Key("Its last day; without it the first.", name="to")] = None

    def settled(self, at: Table) -> "Step":
        """It takes days, or lies on dates."""
        if at.says("days") and (self.starts or self.ends):
            at.problem("days", "either days or dates", "both")
        elif not at.says("days") and self.starts is None:
            at.problem("days", f"a whole number 0..{MOST_DAYS}", "nothing", "Add days to the file, or from and to")
        if self.starts and self.ends and self.ends < self.starts:
            at.problem("to", f"a day on or after {self.starts}", self.ends)
        return replace(self, ends=self.ends or self.starts)

    @property
    def fixed_on(self) -> tuple[date, date] | None:
        """First and last day, both included, where it lies on dates of its own."""
        return (self.starts, self.ends or self.starts) if self.starts else None


@dataclass(frozen=True, slots=True)
class Planned:
    """A step with its dates, both included.

    slack_days: working days it may end later before the client's date is missed or a fixed step is run into; below
    zero when it already does.
    """

    step: Step
    starts: date
    ends: date
    slack_days: int

    def data(self) -> "PlannedStep":
        """As JSON-ready data."""
        return {
            "key": self.step.key,
            "title": self.step.title,
            "starts": self.starts.isoformat(),
            "ends": self.ends.isoformat(),
            "slack_days": self.slack_days,
            "fixed": self.step.fixed_on is not None,
        }


@dataclass(frozen=True, slots=True)
class Clash:
    """Two steps that do not fit: `before` ends too late for `then`, by `days` working days."""

    before: str
    then: str
    days: int

    @property
    def text(self) -> str:
        """As a sentence."""
        return (
            f"{self.before} ends {self.days} working {'day' if self.days == 1 else 'days'} too late for {self.then}"
        )


@dataclass(frozen=True, slots=True)
class Schedule:
    """The plan: steps in the order of their dates, the client's date, and what does not fit."""

    due: date
    planned: tuple[Planned, ...]
    clashes: tuple[Clash, ...]

    def __getitem__(self, key: str) -> Planned:
        """The planned step of that key. Raises NotFound."""
        for each in self.planned:
            if each.step.key == key:
                return each
        raise NotFound("step", key, [each.step.key for each in self.planned])

    @property
    def fits(self) -> bool:
        """Whether every step has the time it needs."""
        return not self.clashes

    def data(self) -> "ScheduleData":
        """As JSON-ready data."""
        return {
            "due": self.due.isoformat(),
            "steps": [each.data() for each in self.planned],
            "clashes": [clash.text for clash in self.clashes],
        }


@dataclass(frozen=True, slots=True)
class Slip:
    """A step whose dates change: from `was` to `now` (first and last day), `days` working days later at its end."""

    key: str
    title: str
    was: tuple[date, date]
    now: tuple[date, date]
    days: int


@dataclass(frozen=True, slots=True)
class Slips:
    """What moving one date does.

    schedule: the plan as it would be. slips: every step whose dates change. days_late: working days past the
    client's date.
    """

    schedule: Schedule
    slips: tuple[Slip, ...]
    days_late: int

    def sentences(self) -> tuple[str, ...]:
        """The effect in plain words, to be shown before anything is saved."""
        result = [
            f"{slip.title}: {slip.was[1]} becomes {slip.now[1]} ({slip.days:+d} working "
            f"{'day' if abs(slip.days) == 1 else 'days'})"
            for slip in self.slips
        ]
        result += [clash.text for clash in self.schedule.clashes]
        if self.days_late:
            due = self.schedule.due
            days = "day" if self.days_late == 1 else "days"
            result.append(f"The client's date {due} is missed by {self.days_late} working {days}")
        return tuple(result) or ("Nothing else moves",)


def plan_back(steps: Sequence[Step], due: date, day_off: DayOff = weekend) -> Schedule:
    """The latest dates at which every step still meets `due`, planned from the last step to the first.

    Raises BadInput for no steps, a key twice, an unknown `after`, steps in a circle, or dates decades away.
    """
    order = _ordered(steps)
    _near(due, [day for step in steps for day in step.fixed_on or ()])
    then = _followers(steps)
    dates: dict[str, tuple[date, date]] = {}
    for step in reversed(order):
        if step.fixed_on is not None:
            dates[step.key] = step.fixed_on
            continue
        ends = _on_or_before(due, day_off)
        for follower in then[step.key]:
            ends = min(ends, _latest_end(follower, dates[follower.key], day_off))
        dates[step.key] = _back(ends, step.days, day_off)
    return _schedule(order, dates, due, day_off)


def plan_on(steps: Sequence[Step], starts: date, due: date, day_off: DayOff = weekend) -> Schedule:
    """The earliest dates: steps without a predecessor begin on the first working day from `starts` on.

    Raises BadInput as `plan_back` does.
    """
    order = _ordered(steps)
    _near(due, [starts, *(day for step in steps for day in step.fixed_on or ())])
    earliest = {step.key: starts for step in order}
    return _schedule(order, _pushed(order, earliest, {}, day_off), due, day_off)


def plan_as(
    steps: Sequence[Step], dates: Mapping[str, tuple[date, date]], due: date, day_off: DayOff = weekend
) -> Schedule:
    """The schedule with the `dates` it has (first and last day of each step, by key), slack and clashes worked out.

    Raises BadInput as `plan_back` does, NotFound for a step without dates.
    """
    order = _ordered(steps)
    for step in order:
        if step.key not in dates:
            raise NotFound("step with dates", step.key, dates, field="steps")
    _near(due, [day for both in dates.values() for day in both])
    return _schedule(order, dates, due, day_off)


def move(plan: Schedule, key: str, starts: date, day_off: DayOff = weekend) -> Slips:
    """What happens when step `key` begins on `starts` instead: later steps move only as far as they must.

    The moved step keeps its length (a fixed one in calendar days). Steps before it do not move; where they end too
    late for it the schedule says so. Nothing is saved. Raises NotFound for an unknown key.
    """
    moved = plan[key]
    _near(plan.due, [starts])
    order = _ordered([each.step for each in plan.planned])
    fixed = moved.step.fixed_on
    if fixed is not None:
        step = replace(moved.step, starts=starts, ends=starts + (fixed[1] - fixed[0]))
        order = [step if each.key == key else each for each in order]
        held: dict[str, tuple[date, date]] = {}
    else:
        first = _on_or_after(starts, day_off) if moved.step.days else starts
        held = {key: (first, _ahead(first, moved.step.days, day_off))}
    before = {each.step.key: each for each in plan.planned}
    earliest = {each.key: before[each.key].starts for each in order}
    dates = _pushed(order, earliest, held, day_off)
    schedule = _schedule(order, dates, plan.due, day_off)
    slips = []
    for each in schedule.planned:
        was = before[each.step.key]
        if (was.starts, was.ends) != (each.starts, each.ends):
            days = _apart(was.ends, each.ends, day_off)
            slips.append(Slip(each.step.key, each.step.title, (was.starts, was.ends), (each.starts, each.ends), days))
    late = max((_apart(plan.due, each.ends, day_off) for each in schedule.planned if each.ends > plan.due), default=0)
    return Slips(schedule, tuple(slips), late)


def _pushed(
    order: Iterable[Step],
    earliest: Mapping[str, date],
    held: Mapping[str, tuple[date, date]],
    day_off: DayOff,
) -> dict[str, tuple[date, date]]:
    """Dates of every step: not before its earliest day, and after all its predecessors."""
    dates: dict[str, tuple[date, date]] = {}
    for step in order:
        if step.key in held:
            dates[step.key] = held[step.key]
            continue
        if step.fixed_on is not None:
            dates[step.key] = step.fixed_on
            continue
        starts = earliest[step.key]
        for key in step.after:
            ends = dates[key][1]
            starts = max(starts, ends if step.days == 0 else add_working_days(ends, 1, day_off))
        starts = _on_or_after(starts, day_off) if step.days else starts
        dates[step.key] = (starts, _ahead(starts, step.days, day_off))
    return dates


def _schedule(order: Sequence[Step], dates: Mapping[str, tuple[date, date]], due: date, day_off: DayOff) -> Schedule:
    """The schedule for `dates`, with slack and clashes worked out."""
    then = _followers(order)
    clashes = []
    slack: dict[str, int] = {}
    for step in reversed(order):
        ends = dates[step.key][1]
        room = [_apart(ends, due, day_off)]
        for follower in then[step.key]:
            gap = _apart(ends, _latest_end(follower, dates[follower.key], day_off), day_off)
            if gap < 0:
                clashes.append(Clash(step.title, follower.title, -gap))
            room.append(gap if follower.fixed_on is not None else gap + slack[follower.key])
        slack[step.key] = min(room)
        if ends > due and not then[step.key]:
            clashes.append(Clash(step.title, f"the client's date {due}", _apart(due, ends, day_off)))
    planned = sorted((Planned(step, *dates[step.key], slack[step.key]) for step in order), key=_by_date)
    return Schedule(due, tuple(planned), tuple(reversed(clashes)))


def _by_date(each: Planned) -> tuple[date, date]:
    return each.starts, each.ends


def _latest_end(follower: Step, dates: tuple[date, date], day_off: DayOff) -> date:
    """The last day on which a step may end for `follower` to keep its dates."""
    if follower.days == 0 and follower.fixed_on is None:
        return dates[0]
    if follower.fixed_on is not None:
        return _on_or_before(dates[0] - ONE_DAY, day_off)
    return add_working_days(dates[0], -1, day_off)


def _back(ends: date, days: int, day_off: DayOff) -> tuple[date, date]:
    return (ends if days <= 1 else add_working_days(ends, 1 - days, day_off)), ends


def _ahead(starts: date, days: int, day_off: DayOff) -> date:
    return starts if days <= 1 else add_working_days(starts, days - 1, day_off)


def _on_or_before(day: date, day_off: DayOff) -> date:
    return add_working_days(day + ONE_DAY, -1, day_off)


def _on_or_after(day: date, day_off: DayOff) -> date:
    return add_working_days(day - ONE_DAY, 1, day_off)


def _apart(first: date, second: date, day_off: DayOff) -> int:
    """Working days from `first` to `second`, below zero when it comes before."""
    if second < first:
        return -max(1, working_days_between(second, first, day_off))
    return working_days_between(first, second, day_off)


def _near(due: date, days: Iterable[date]) -> None:
    """Refuse dates so far from `due` that they must be a mistake."""
    if not 1000 <= due.year <= 9000:
        raise BadInput(wanted="a date between the years 1000 and 9000", got=due, field="due")
    for day in days:
        if abs(day.year - due.year) > MOST_YEARS:
            raise BadInput(wanted=f"a date within {MOST_YEARS} years of {due}", got=day, field="steps")


def _followers(steps: Iterable[Step]) -> dict[str, list[Step]]:
    found: dict[str, list[Step]] = {step.key: [] for step in steps}
    for step in steps:
        for key in step.after:
            found[key].append(step)
    return found


def _ordered(steps: Sequence[Step]) -> list[Step]:
    """Every step after those it needs, else in the order given."""
    if not steps:
        raise BadInput(wanted="one step or more", got="none", field="steps")
    by_key: dict[str, Step] = {}
    for step in steps:
        if step.key in by_key:
            raise BadInput(wanted="each key once", got=f"{step.key} again", field="steps.key")
        by_key[step.key] = step
    for step in steps:
        for key in step.after:
            if key not in by_key:
                raise NotFound("step", key, by_key, field=f"steps.{step.key}.after")
    order: list[Step] = []
    done: set[str] = set()
    left = list(steps)
    while left:
        ready = [step for step in left if done.issuperset(step.after)]
        if not ready:
            raise BadInput(wanted="steps that do not wait for each other", got=_circle(left), field="steps.after")
        order += ready
        done.update(step.key for step in ready)
        left = [step for step in left if step.key not in done]
    return order


def _circle(left: Sequence[Step]) -> str:
    """One circle among `left`, in which every step waits for another of them."""
    waits = {step.key: step for step in left}
    path = [left[0].key]
    while True:
        following = next(key for key in waits[path[-1]].after if key in waits)
        if following in path:
            return " -> ".join([*path[path.index(following) :], following])
        path.append(following)


class PlannedStep(TypedDict):
    """A step of a plan as JSON."""

    key: str
    title: str
    starts: str
    ends: str
    slack_days: int
    fixed: bool


class ScheduleData(TypedDict):
    """A plan as JSON."""

    due: str
    steps: list[PlannedStep]
    clashes: list[str]
