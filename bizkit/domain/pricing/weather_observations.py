"""Chances of a workable day from past daily observations: what share of days kept inside the limits.

A row is one day: a date and readings such as wind and wave height. Reading the file is not done here.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import round_half_away
from bizkit.domain.typed_numbers import declared_number

#: Decimals kept of a chance: an estimate from some years of days knows no more.
CHANCE_DIGITS = 4


@dataclass(frozen=True, slots=True)
class Limit:
    """What one reading may be on a workable day. Both ends included; None means no limit on that side."""

    column: str
    least: Decimal | None
    most: Decimal | None

    def keeps(self, reading: Decimal) -> bool:
        """Whether `reading` lies within the limit."""
        return (self.least is None or reading >= self.least) and (self.most is None or reading <= self.most)


@dataclass(frozen=True, slots=True)
class LimitTable:
    """Limits of one reading, as {least, most}."""

    least: Annotated[Decimal | None, Key("It may be no less.", least=-(10**9))] = None
    most: Annotated[Decimal | None, Key("It may be no more.", least=-(10**9), example=15)] = None

    def settled(self, at: Table) -> "LimitTable":
        """One side at least, and the lower below the upper."""
        if self.least is None and self.most is None:
            at.problem("", "least or most", "neither")
        if self.least is not None and self.most is not None and self.least > self.most:
            at.problem("", "least no greater than most", f"{self.least} and {self.most}")
        return self


def _limits(tables: Mapping[str, LimitTable]) -> tuple[Limit, ...]:
    return tuple(Limit(column, limit.least, limit.most) for column, limit in tables.items())


@dataclass(frozen=True, slots=True)
class ObservationRules:
    """Where past days are found and what makes one workable.

    file: name of the CSV file. date_column: its column of ISO dates. water, dry: limits for water work and for dry
    scenes; no dry limits means that dry scenes are always possible. least_days: days a month must have been
    observed before its share counts, 30 by default (our own choice: one month of one year); half as many pairs of
    days are needed to tell how one day follows another.
    """

    file: Annotated[str, Key("Name of the CSV file.", example="kelp-trail.csv")]
    date_column: Annotated[str, Key("Its column of dates.")] = "date"
    water: Annotated[
        tuple[Limit, ...],
        Key(
            "What each reading may be on a day good for the water.",
            written=Mapping[str, LimitTable],
            rule=_limits,
            example={"wind_kn": {"most": 15}},
        ),
    ] = ()
    dry: Annotated[
        tuple[Limit, ...],
        Key("The same for dry scenes.", written=Mapping[str, LimitTable], rule=_limits),
    ] = ()
    least_days: Annotated[int, Key("Days a month must have been observed.", "days", least=2)] = 30

    def settled(self, at: Table) -> "ObservationRules":
        """Something tells a good day from a rough one."""
        if not self.water:
            at.problem("water", "one limit or more such as {wind_kn = {most = 15}}", "none")
        return self


@dataclass(frozen=True, slots=True)
class Observations:
    """What past days show. Only months observed often enough are in it.

    chance: month -> share of days good for the water. dry: month -> share of rough days good enough for dry scenes;
    empty without dry limits. memory: how strongly a day follows the one before within its season, 0..1; below zero
    counts as zero. days: month -> days observed, months left out for being too few included. pairs: days whose day
    before was observed too.
    """

    chance: Mapping[int, Decimal]
    dry: Mapping[int, Decimal]
    memory: Decimal
    days: Mapping[int, int]
    pairs: int


def observe(rows: Iterable[Mapping[str, str]], rules: ObservationRules) -> Observations:
    """Chances from `rows`, one per day, in any order. A day with an empty reading is left out.

    Raises BadInput for a missing column, a reading that is no number, the same day twice, no month with enough days
    (saying how many there are), or too few pairs of days that follow each other.

    >>> rules = ObservationRules("x.csv", "date", (Limit("wind_kn", None, Decimal(15)),), (), 2)
    >>> rows = [{"date": f"2026-05-0{day}", "wind_kn": wind} for day, wind in enumerate(["9", "15", "15.1"], 1)]
    >>> observe(rows, rules).chance
    {5: Decimal('0.6667')}
    """
    good: dict[date, bool] = {}
    dry: dict[date, bool] = {}
    for number, row in enumerate(rows, start=2):
        where = f"{rules.file}, line {number}"
        day = iso_date(_cell(row, rules.date_column, where), field=rules.date_column, where=where)
        if day in good:
            raise BadInput(wanted="each day once", got=f"{day} again", field=rules.date_column, where=where)
        readings = {limit.column: _reading(row, limit.column, where) for limit in rules.water + rules.dry}
        if None in readings.values():
            continue
        kept = {column: reading for column, reading in readings.items() if reading is not None}
        good[day] = all(limit.keeps(kept[limit.column]) for limit in rules.water)
        dry[day] = all(limit.keeps(kept[limit.column]) for limit in rules.dry)
    days = Counter(day.month for day in good)
    enough = sorted(month for month, count in days.items() if count >= rules.least_days)
    if not enough:
        counts = ", ".join(f"{count} in month {month}" for month, count in sorted(days.items()))
        raise BadInput(
            wanted=f"{rules.least_days} observed days or more in a month",
            got=f"{sum(days.values())} usable days" + (f" ({counts})" if counts else ""),
            where=rules.file,
        )
    share = {month: Fraction(sum(good[day] for day in good if day.month == month), days[month]) for month in days}
    memory, pairs = _memory(good, share, rules)
    return Observations(
        chance={month: _rounded(share[month]) for month in enough},
        dry=_dry_chances(good, dry, enough) if rules.dry else {},
        memory=memory,
        days=dict(sorted(days.items())),
        pairs=pairs,
    )


def _memory(good: Mapping[date, bool], share: Mapping[int, Fraction], rules: ObservationRules) -> tuple[Decimal, int]:
    """Lag-one correlation of good days about the share of their own month: a season is no memory."""
    pairs = [(day - timedelta(days=1), day) for day in good if day > date.min and day - timedelta(days=1) in good]
    least = (rules.least_days + 1) // 2
    if len(pairs) < least:
        raise BadInput(
            wanted=f"{least} days or more whose day before was observed too",
            got=f"{len(pairs)}",
            where=rules.file,
        )
    # Counting kinds of pairs keeps the sums to a few exact terms however many days there are.
    kinds = Counter((before.month, good[before], day.month, good[day]) for before, day in pairs)
    together = spread = Fraction(0)
    for (month, first, next_month, second), count in kinds.items():
        off, next_off = first - share[month], second - share[next_month]
        together += count * off * next_off
        spread += count * (off * off + next_off * next_off) / 2
    memory = max(Fraction(0), together / spread) if spread else Fraction(0)
    rounded = _rounded(memory)
    if rounded == 1:
        raise BadInput(wanted="days among which the weather changes", got="unbroken spells only", where=rules.file)
    return rounded, len(pairs)


def _dry_chances(good: Mapping[date, bool], dry: Mapping[date, bool], months: Iterable[int]) -> dict[int, Decimal]:
    """Per month the share of rough days fit for dry scenes; months with few rough days take the share of all."""
    rough = [day for day in good if not good[day]]
    overall = Fraction(sum(dry[day] for day in rough), len(rough)) if rough else Fraction(1)
    result = {}
    for month in months:
        here = [dry[day] for day in rough if day.month == month]
        result[month] = _rounded(Fraction(sum(here), len(here)) if len(here) >= 10 else overall)
    return result


def _cell(row: Mapping[str, str], column: str, where: str) -> str:
    if column not in row:
        raise NotFound("column", column, [str(name) for name in row], where=where)
    return str(row[column] or "").strip()


def _reading(row: Mapping[str, str], column: str, where: str) -> Decimal | None:
    """The number in `column`, or None when the cell is empty."""
    text = _cell(row, column, where)
    if not text:
        return None
    reading = declared_number(text, point=".", group="")
    if reading is None:
        raise BadInput(wanted="a number with a point, or nothing", got=text, field=column, where=where)
    return reading


def _rounded(chance: Fraction) -> Decimal:
    scaled = Decimal((chance.numerator * 10 ** (CHANCE_DIGITS + 2)) // chance.denominator)
    return round_half_away(scaled.scaleb(-CHANCE_DIGITS - 2), CHANCE_DIGITS)
