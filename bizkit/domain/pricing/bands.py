"""A ladder of hour bands, each with a factor of the basic hour: overtime, and rest that was cut short."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.money import plain
from bizkit.domain.pricing.sentences import in_hours


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
    def read(cls, fields: Fields, key: str) -> Ladder:
        """Each `[[key]]` table with `from` and `until` in hours and `factor`; no bands when absent.

        Raises BadInput for a gap, an overlap, a factor below the one before it, or a last band that ends.
        """
        bands: list[Band] = []
        end: int | None = 0
        for row in fields.rows(key):
            start = read_minutes(row, "from")
            until = read_minutes(row, "until") if "until" in row else None
            factor = row.number("factor")
            if end is None:
                raise row.wrong("from", "no band after one without an end", in_hours(start))
            if start < end:
                raise row.wrong("from", f"a band that starts where the one before ends ({in_hours(end)} h)",
                                f"{in_hours(start)} h, so the two overlap")  # fmt: skip
            if start > end:
                raise row.wrong("from", f"a band that starts where the one before ends ({in_hours(end)} h)",
                                f"{in_hours(start)} h, which leaves a gap")  # fmt: skip
            if until is not None and until <= start:
                raise row.wrong("until", f"an end after {in_hours(start)} h", f"{in_hours(until)} h")
            if bands and factor < bands[-1].factor:
                raise row.wrong("factor", f"{plain(bands[-1].factor)} or more, as a ladder never goes down", factor)
            bands.append(Band(start, until, factor))
            end = until
            row.done()
        if bands and end is not None:
            raise fields.wrong(key, "a last band without an end (no until)", f"one that ends at {in_hours(end)} h")
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


def read_minutes(fields: Fields, key: str, default: str = "0") -> int:
    """The hours under `key` (0 to 24) as minutes. Raises BadInput when they make no whole minutes."""
    try:
        return hours_to_minutes(fields.number(key, default, most=24))
    except BadInput as error:
        raise fields.wrong(key, error.wanted, error.got) from None
