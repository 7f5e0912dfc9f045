"""Rest that gets shorter than is due, as days are given other dates or ran longer than planned."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import time

from bizkit.domain.pricing.crew_days import rests_before, who_of
from bizkit.domain.pricing.crew_pay import short_rest_minutes
from bizkit.domain.pricing.sentences import in_hours
from bizkit.domain.pricing.shoot_day import ShootDay
from bizkit.services.shooting.job_days import JobDays
from bizkit.services.shooting.overruns import logged_for


def shorter_rests(before: JobDays, after: JobDays) -> list[str]:
    """A sentence for each day before which somebody now rests less than is due by the card quoted, and had more.

    Days that were logged count as they were worked, the others as planned.
    """
    had, terms = _short(before), after.card.crew
    people: dict[tuple[int, int], list[str]] = defaultdict(list)
    for (position, who), minutes in _short(after).items():
        if minutes < had.get((position, who), terms.rest_minutes):
            people[position, minutes].append(who)
    due = in_hours(terms.rest_minutes)
    cost = ": what is missing is charged as quoted once the day is logged" if terms.rest.bands else ""
    return [
        f"before {after.actual[position - 1].date} {' and '.join(dict.fromkeys(names))} would rest "
        f"{in_hours(minutes)} h, and {due} h are due{cost}"
        for (position, minutes), names in sorted(people.items())
    ]


def _short(days: JobDays) -> dict[tuple[int, str], int]:
    """(position of a day, who) -> minutes of rest before it, where fewer than are due."""
    terms = days.card.crew
    return {
        (int(one.field), one.who): one.minutes
        for one in rests_before(_as_worked(days))
        if short_rest_minutes(terms, one.minutes)
    }


def _as_worked(days: JobDays) -> list[ShootDay]:
    """Each day once for everybody on it, with call and wrap as logged, else as planned; its position as `field`."""
    found = []
    for position, day in enumerate(days.actual, start=1):
        for entry in day.crew if day.date else ():
            row = logged_for(days.logged.get(position, []), who_of(entry))
            call = time.fromisoformat(row.call) if row else day.call
            wrap = time.fromisoformat(row.wrap) if row else day.wrap
            found.append(replace(day, field=str(position), crew=(entry,), call=call, wrap=wrap))
    return found
