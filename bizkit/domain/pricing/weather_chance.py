"""How sure a shoot is to be finished within so many days, exactly: no sampling, no floats.

A day is good (the camera can go in the water) or rough. The chance of a good day may depend on the day before
(two-state weather) and on the month. A good day also serves dry scenes; a rough day serves them with a chance of
its own. The order of work is fixed and is part of the answer: **water first** on every good day while water days
are needed, dry scenes on rough days, dry scenes on good days once the water is done.

Everything is counted in whole numbers over a common denominator (a chance of 0.6 is 3 parts in 5), so "90 % sure"
compares exactly and a long window costs no accuracy. Fractions come out only at the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class DayOdds:
    """One day of the window.

    after_good, after_bad: chance that this day is good when the day before was good, or rough. Equal for
    independent weather. dry: chance that a rough day still serves dry scenes. All 0..1.
    """

    after_good: Fraction
    after_bad: Fraction
    dry: Fraction = Fraction(1)

    @classmethod
    def independent(cls, chance: Fraction, dry: Fraction = Fraction(1)) -> DayOdds:
        """A day that does not care about the day before."""
        return cls(chance, chance, dry)

    @property
    def long_run(self) -> Fraction | None:
        """Share of good days in the long run; None when the weather never changes (1 after good, 0 after bad)."""
        moving = 1 - self.after_good + self.after_bad
        return None if moving == 0 else self.after_bad / moving


@dataclass(frozen=True, slots=True)
class Outlook:
    """The answer for every number of days from 0 to the whole window, as counts over `scale`."""

    done: tuple[int, ...]
    idle: tuple[int, ...]
    lost: tuple[int, ...]
    scale: tuple[int, ...]

    @property
    def days(self) -> int:
        """Length of the window in days."""
        return len(self.done) - 1

    def chance(self, days: int) -> Fraction:
        """Chance that everything is shot within the first `days` days of the window."""
        return Fraction(self.done[days], self.scale[days])

    def days_for(self, confidence: Fraction) -> int | None:
        """Fewest days that give at least `confidence`; None when the whole window does not."""
        for days, (done, scale) in enumerate(zip(self.done, self.scale, strict=True)):
            if done * confidence.denominator >= confidence.numerator * scale:
                return days
        return None

    def idle_days(self, days: int) -> Fraction:
        """Expected days, of the first `days`, spent waiting with nothing shot before the work is finished."""
        return Fraction(self.idle[days], self.scale[days])

    def lost_days(self, days: int) -> Fraction:
        """Expected water days worked for nothing because a run was broken (only where days must be in a row)."""
        return Fraction(self.lost[days], self.scale[days])

    def days_used(self, days: int) -> Fraction:
        """Expected days, of the first `days`, until the work is finished or the days have run out."""
        return sum((1 - self.chance(day) for day in range(days)), Fraction(0))


def outlook(
    odds: Sequence[DayOdds], first: Fraction, water_days: int, dry_days: int, *, in_a_row: bool = False
) -> Outlook:
    """The outlook of a window whose days have these `odds`; `first` is the chance that day one is good.

    water_days, dry_days: days needed. in_a_row: the water days must follow each other without a rough day between;
    a broken run starts again and what it had is lost.

    >>> sixty = Fraction(3, 5)
    >>> view = outlook([DayOdds.independent(sixty)] * 10, sixty, 3, 0)
    >>> view.days_for(Fraction(9, 10)), float(view.chance(7))
    (7, 0.903744)
    """
    remembers = any(day.after_good != day.after_bad for day in odds[1:])
    moves, end, size = _moves(water_days, dry_days, in_a_row, remembers)
    mass = [0] * size
    mass[0] = 1
    scale = 1
    done, idle, lost = [int(end == 0)], [0], [0]
    scales = [1]
    for number, day in enumerate(odds):
        after_good, after_bad = (first, first) if number == 0 else (day.after_good, day.after_bad)
        unit = math.lcm(after_good.denominator, after_bad.denominator) * day.dry.denominator
        weights = tuple(_weights(chance, day.dry, unit) for chance in (after_bad, after_good))
        new = [0] * size
        idle_today = lost_today = 0
        for source, was_good, on_good, on_dry, on_idle, dry_left, run in moves:
            here = mass[source]
            if not here:
                continue
            good, dry, nothing = weights[was_good]
            new[on_good] += here * good
            if dry_left:
                new[on_dry] += here * dry
            else:
                nothing += dry
            waiting = here * nothing
            new[on_idle] += waiting
            idle_today += waiting
            if run:
                lost_today += run * here * (unit - good)
        new[end] += mass[end] * unit
        mass = new
        scale *= unit
        scales.append(scale)
        done.append(mass[end])
        idle.append(idle[-1] * unit + idle_today)
        lost.append(lost[-1] * unit + lost_today)
    return Outlook(tuple(done), tuple(idle), tuple(lost), tuple(scales))


def _weights(chance: Fraction, dry: Fraction, unit: int) -> tuple[int, int, int]:
    """Parts of `unit` for: good, rough but dry scenes possible, nothing possible."""
    good = chance.numerator * (unit // chance.denominator)
    some = (unit - good) // dry.denominator * dry.numerator
    return good, some, unit - good - some


_Move = tuple[int, int, int, int, int, bool, int]


def _moves(water: int, dry: int, in_a_row: bool, remembers: bool) -> tuple[list[_Move], int, int]:
    """Where each unfinished state goes on a good day, a rough day with dry scenes, and an idle day.

    A state is (water days done or the present run, dry days done, was the last day good). Returns the moves, the
    index of the finished state and the number of states.
    """
    memory = 2 if remembers else 1

    def index(w: int, d: int, good: int) -> int:
        return 0 if (w, d) == (water, dry) == (0, 0) else (w * (dry + 1) + d) * memory + (good if remembers else 0)

    end = index(water, dry, 0)
    last_good = end + memory - 1
    moves: list[_Move] = []
    for w in range(water + 1):
        for d in range(dry + 1):
            if (w, d) == (water, dry):
                continue
            for good in range(memory):
                shooting = w < water
                on_good = index(w + 1, d, 1) if shooting else index(w, d + 1, 1)
                broken = in_a_row and shooting
                back = 0 if broken else w
                on_dry = index(back, min(d + 1, dry), 0)
                moves.append(
                    (
                        index(w, d, good),
                        good,
                        end if on_good == last_good else on_good,
                        on_dry,
                        index(back, d, 0),
                        d < dry,
                        w if broken else 0,
                    )
                )
    return moves, end, (water + 1) * (dry + 1) * memory


def mean_days(
    day: DayOdds, first: Fraction, water_days: int, dry_days: int, *, in_a_row: bool = False
) -> Fraction | None:
    """Expected days until finished when there is no end to the window and every day has the odds of `day`.

    None where a rough spell never ends and would stop the work. Solved exactly, last state first.

    >>> mean_days(DayOdds.independent(Fraction(3, 5)), Fraction(3, 5), 3, 0)
    Fraction(5, 1)
    """
    if (water_days == dry_days == 0) or first == day.after_good == 1:
        return Fraction(water_days + dry_days)
    if day.after_bad == 0 and (water_days or not day.dry):
        return None
    if in_a_row and water_days > 1 and day.after_good == 0:
        return None
    a, b = day.after_good, day.after_bad
    # left[d] = expected days left with the water done and d dry days shot, after a good / a rough day.
    after_good, after_bad = [Fraction(0)] * (dry_days + 1), [Fraction(0)] * (dry_days + 1)
    for d in range(dry_days - 1, -1, -1):
        rough = (1 + b * after_good[d + 1] + (1 - b) * day.dry * after_bad[d + 1]) / (1 - (1 - b) * (1 - day.dry))
        after_bad[d] = rough
        after_good[d] = 1 + a * after_good[d + 1] + (1 - a) * (day.dry * after_bad[d + 1] + (1 - day.dry) * rough)
    return _mean_with_water(day, first, water_days, dry_days, in_a_row, after_good, after_bad)


def _mean_with_water(
    day: DayOdds,
    first: Fraction,
    water: int,
    dry: int,
    in_a_row: bool,
    done_good: list[Fraction],
    done_bad: list[Fraction],
) -> Fraction:
    """`mean_days` once the time left with the water done is known, per dry days shot."""
    a, b = day.after_good, day.after_bad
    if water == 0:
        rest = day.dry * done_bad[1] + (1 - day.dry) * done_bad[0]
        return 1 + first * done_good[1] + (1 - first) * rest
    next_bad = [Fraction(0)] * (water + 1)
    good, bad = [Fraction(0)] * (water + 1), [Fraction(0)] * (water + 1)
    for d in range(dry, -1, -1):
        served = day.dry if d < dry else Fraction(0)
        good, bad = [Fraction(0)] * (water + 1), [Fraction(0)] * (water + 1)
        good[water], bad[water] = done_good[d], done_bad[d]
        if in_a_row:
            # time[run] = fixed + factor * x, where x is the time left after a rough day with no run.
            fixed, factor = good[water], Fraction(0)
            steps = [(fixed, factor)]
            for _ in range(water - 1):
                fixed = 1 + a * fixed + (1 - a) * served * next_bad[0]
                factor = a * factor + (1 - a) * (1 - served)
                steps.append((fixed, factor))
            fixed_one, factor_one = steps[-1]
            loop = b * factor_one + (1 - b) * (1 - served)
            x = (1 + b * fixed_one + (1 - b) * served * next_bad[0]) / (1 - loop)
            bad[0] = x
            for run, (fixed, factor) in zip(range(water, 0, -1), steps, strict=True):
                good[run] = fixed + factor * x
        else:
            for w in range(water - 1, -1, -1):
                bad[w] = (1 + b * good[w + 1] + (1 - b) * served * next_bad[w]) / (1 - (1 - b) * (1 - served))
                good[w] = 1 + a * good[w + 1] + (1 - a) * (served * next_bad[w] + (1 - served) * bad[w])
        if d > 0:
            next_bad = bad
    served = day.dry if dry else Fraction(0)
    return 1 + first * good[1] + (1 - first) * (served * next_bad[0] + (1 - served) * bad[0])
