"""A ladder of hour bands, each with a factor of the basic hour: overtime, and rest that was cut short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key, Minutes
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import plain
from bizkit.domain.pricing.sentences import in_hours


@dataclass(frozen=True, slots=True)
class BandRow:
    """One band as a card has it, as `[[overtime]]` or `[[rest.penalty]]`."""

    starts: Annotated[Minutes, Key("Where the band begins.", "hours", name="from", example=0)]
    factor: Annotated[Decimal, Key("Of the basic hour.", example=1.5)]
    until: Annotated[Minutes | None, Key("Where it ends; the last one has no end.", "hours")] = None


@dataclass(frozen=True, slots=True)
class Band:
    """Minutes after `from_minutes`, up to `until_minutes` (None: no end), paid at `factor` basic hours an hour."""

    from_minutes: int
    until_minutes: int | None
    factor: Decimal


@dataclass(frozen=True, slots=True)
class Ladder:
    """Bands that follow one another without gap or overlap, the last one open, never going down.

    >>> ladder = Ladder((Band(0, 60, Decimal("1.5")), Band(60, 120, Decimal(2)), Band(120, None, Decimal(3))))
    >>> [(minutes, plain(factor)) for minutes, factor in ladder.split(150)]
    [(60, '1.5'), (60, '2'), (30, '3')]
    """

    bands: tuple[Band, ...]

    @classmethod
    def of(cls, rows: Sequence[BandRow], at: Table, key: str) -> Ladder:
        """From the `[[key]]` rows of the table `at`; no bands when there are none.

        Reports a gap, an overlap, a factor below the one before it, or a last band that ends.
        """
        bands: list[Band] = []
        end: int | None = 0
        for number, row in enumerate(rows, start=1):
            start, until, last = row.starts, row.until, bands[-1] if bands else None
            after = "" if end is None else f"a band that starts where the one before ends ({in_hours(end)} h)"
            if end is None:
                wrong = ("from", "no band after one without an end", in_hours(start))
            elif start < end:
                wrong = ("from", after, f"{in_hours(start)} h, so the two overlap")
            elif start > end:
                wrong = ("from", after, f"{in_hours(start)} h, which leaves a gap")
            elif until is not None and until <= start:
                wrong = ("until", f"an end after {in_hours(start)} h", f"{in_hours(until)} h")
            elif last is not None and row.factor < last.factor:
                wrong = ("factor", f"{plain(last.factor)} or more, as a ladder never goes down", plain(row.factor))
            else:
                bands.append(Band(start, until, row.factor))
                end = until
                continue
            at.problem(f"{key}[{number}].{wrong[0]}", *wrong[1:])
            return cls(())
        if bands and end is not None:
            at.problem(key, "a last band without an end (no until)", f"one that ends at {in_hours(end)} h")
        return cls(tuple(bands))

    def split(self, minutes: int) -> list[tuple[int, Decimal]]:
        """`minutes` cut into (minutes in the band, its factor)."""
        result = []
        for band in self.bands:
            if minutes <= band.from_minutes:
                break
            end = minutes if band.until_minutes is None else min(minutes, band.until_minutes)
            result.append((end - band.from_minutes, band.factor))
        return result


def hours_to_minutes(hours: Decimal) -> int:
    """Hours as whole minutes. Raises BadInput when they are no whole number of minutes."""
    minutes = hours * 60
    if minutes != minutes.to_integral_value():
        raise BadInput(wanted="hours that make whole minutes, such as 7.25", got=plain(hours))
    return int(minutes)
