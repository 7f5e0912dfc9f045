"""Who is under age: by the date of birth, on a day.

Full age is 18 (Family Law Reform Act 1969 s.1), reached at the start of the birthday (s.9); from memory. Always check
your local rules.
"""

from __future__ import annotations

from datetime import date
from typing import Final

from bizkit.domain.errors import BadInput

FULL_AGE: Final = 18


def of_age_on(born_on: date) -> date | None:
    """The day on which somebody is of age; of a 29 February in other years the 1 March (from memory).

    None where the calendar ends before it.

    >>> of_age_on(date(2017, 8, 2)), of_age_on(date(2008, 2, 29))
    (datetime.date(2035, 8, 2), datetime.date(2026, 3, 1))
    """
    year = born_on.year + FULL_AGE
    if year > date.max.year:
        return None
    try:
        return born_on.replace(year=year)
    except ValueError:
        return date(year, 3, 1)


def is_minor(born_on: date, on: date) -> bool:
    """Whether somebody born on that day is under age on the day `on`. Raises BadInput when born after it."""
    if born_on > on:
        raise BadInput(wanted=f"a date of birth on or before {on}", got=born_on, field="born_on")
    full = of_age_on(born_on)
    return full is None or on < full


def minor_when(born_on: date | None, on: date | None) -> bool | None:
    """The same where a day may be unknown: None then. Whoever is recorded as born after the day was under age."""
    if born_on is None or on is None:
        return None
    return born_on > on or is_minor(born_on, on)
