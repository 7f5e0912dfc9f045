"""A ladder of hour bands, each with a factor of the basic hour: overtime, and rest that was cut short."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.money import plain


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
            start = _minutes(row, "from")
            until = _minutes(row, "until") if "until" in row else None
            factor = row.number("factor")
            if end is None:
                raise row.wrong("from", "no band after one without an end", _hours(start))
            if start < end:
                raise row.wrong("from", f"a band that starts where the one before ends ({_hours(end)} h)",
                                f"{_hours(start)} h, so the two overlap")  # fmt: skip
            if start > end:
                raise row.wrong("from", f"a band that starts where the one before ends ({_hours(end)} h)",
                                f"{_hours(start)} h, which leaves a gap")  # fmt: skip
            if until is not None and until <= start:
                raise row.wrong("until", f"an end after {_hours(start)} h", f"{_hours(until)} h")
            if bands and factor < bands[-1].factor:
                raise row.wrong("factor", f"{plain(bands[-1].factor)} or more, as a ladder never goes down", factor)
            bands.append(Band(start, until, factor))
            end = until
            row.done()
        if bands and end is not None:
            raise fields.wrong(key, "a last band without an end (no until)", f"one that ends at {_hours(end)} h")
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
        raise BadInput(wanted="hours that make whole minutes (7.25, 7.5)", got=plain(hours))
    return int(minutes)


def _minutes(row: Fields, key: str) -> int:
    try:
        return hours_to_minutes(row.number(key, most=24))
    except BadInput as error:
        raise row.wrong(key, error.wanted, error.got) from None


def _hours(minutes: int) -> str:
    """Minutes as text in hours: 90 -> '1.5'."""
    return plain((Decimal(minutes) / 60).quantize(Decimal("0.01")))
