"""Dates and terms. A date is a calendar day in the studio's own time zone; the clock is never read here.

Ends are inclusive: a licence of 12 months from 1 July runs to 30 June, both days included.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date, time, timedelta

from dateutil.relativedelta import relativedelta

from bizkit.domain.errors import BadInput

#: Answers "does nobody work on this day?": weekends and public holidays of the studio's place.
DayOff = Callable[[date], bool]

ONE_DAY = timedelta(days=1)

#: First and last year of a day that is typed: a term or a plan counted from it stays inside the calendar.
FIRST_YEAR, LAST_YEAR = 1000, 8999


def weekend(day: date) -> bool:
    """Saturday or Sunday: the plain `DayOff` where no public holidays are known."""
    return day.weekday() >= 5


def term_end(start: date, months: int) -> date:
    """Last day (inclusive) of a term of `months` months that begins on `start`.

    Corresponding-date rule (Dodds v Walker [1981] 1 WLR 1027): the term ends on the day before the one with the
    same number; where the last month is too short for it, on the last day of that month.

    >>> term_end(date(2026, 7, 1), 12)
    datetime.date(2027, 6, 30)
    >>> term_end(date(2026, 1, 31), 1)
    datetime.date(2026, 2, 28)
    """
    if months < 1:
        raise BadInput(wanted="a term of one month or more", got=months, field="months")
    try:
        corresponding = start + relativedelta(months=months)
    except (ValueError, OverflowError):
        raise BadInput(wanted="a term that ends before the year 10000", got=months, field="months") from None
    if corresponding.day < start.day:
        return corresponding
    return corresponding - ONE_DAY


def add_working_days(start: date, days: int, day_off: DayOff = weekend) -> date:
    """The day `days` working days after `start`; `start` itself does not count. Zero is `start`.

    Negative `days` count back. Raises BadInput when no working day is found within ten years.

    >>> add_working_days(date(2027, 6, 4), 1)
    datetime.date(2027, 6, 7)
    """
    step = ONE_DAY if days >= 0 else -ONE_DAY
    day, left, guard = start, abs(days), 0
    while left:
        day += step
        guard += 1
        if guard > 3653:
            raise BadInput(wanted="a working day within ten years", got="none", field="holidays")
        if not day_off(day):
            left -= 1
    return day


def working_days_between(start: date, end: date, day_off: DayOff = weekend) -> int:
    """Working days after `start` up to and including `end`; zero when `end` is not after `start`."""
    return sum(1 for day in days_through(start + ONE_DAY, end) if not day_off(day))


def days_through(start: date, end: date) -> Iterator[date]:
    """Every day from `start` to `end`, both included; none when `end` is before `start`."""
    day = start
    while day <= end:
        yield day
        day += ONE_DAY


def iso_date(text: str, *, field: str = "date", where: str = "") -> date:
    """A date from `YYYY-MM-DD`, of the years `FIRST_YEAR` to `LAST_YEAR`. Raises BadInput otherwise."""
    try:
        if text[4:8:3] == "--":  # the other ISO 8601 forms that Python reads are nobody's habit here
            return check_year(date.fromisoformat(text), field=field, where=where)
    except ValueError:
        pass
    raise BadInput(wanted="a date as YYYY-MM-DD", got=text, field=field, where=where)


def check_year(day: date, *, field: str = "date", where: str = "") -> date:
    """`day` as it came. Raises BadInput outside the years `FIRST_YEAR` to `LAST_YEAR`."""
    if day.year > LAST_YEAR:
        raise BadInput(wanted=f"a date before the year {LAST_YEAR + 1}", got=day, field=field, where=where)
    if day.year < FIRST_YEAR:
        raise BadInput(wanted=f"a date from the year {FIRST_YEAR} on", got=day, field=field, where=where)
    return day


def day_meant(text: str) -> str:
    """What to write for a date in another form than ours, the day before the month; empty for anything else.

    >>> day_meant("3.5.2027"), day_meant("2027-05-03"), day_meant("soon")
    ('A date is written 2027-05-03, the day last', 'A date is written 2027-05-03, without quotes', '')
    """
    text = text.strip()
    found = re.fullmatch(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})", text)
    written = f"{found[3]}-{found[2]:0>2}-{found[1]:0>2}" if found else text
    try:
        day = date.fromisoformat(written) if len(written) == 10 else None
    except ValueError:
        day = None
    if day is None:
        return ""
    return f"A date is written {day}, {'the day last' if found else 'without quotes'}"


def clock_time(text: str, *, field: str = "time", where: str = "") -> time:
    """A time of day from `HH:MM`, 24 hours. Raises BadInput otherwise.

    >>> clock_time("21:30")
    datetime.time(21, 30)
    """
    hours, colon, minutes = text.strip().partition(":")
    try:
        if not (colon and hours.isascii() and minutes.isascii() and len(minutes) == 2):
            raise ValueError
        return time(int(hours), int(minutes))
    except ValueError:
        raise BadInput(wanted='a time of day such as "08:30"', got=text, field=field, where=where) from None
