"""Distance driven for a job at a dated rate with bands: so much up to a distance in the year, so much past it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, decimal, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.domain.tables.mileage import RATES, TERMS

#: Units of distance a table may count in.
UNITS = ("mile", "km")


@dataclass(frozen=True, slots=True)
class MileageBand:
    """Distance over `over`, up to and including `up_to` (None: no end) of one business year, at `rate` a unit."""

    over: Decimal
    up_to: Decimal | None
    rate: Decimal


@dataclass(frozen=True, slots=True)
class MileagePeriod:
    """Bands in force from `starts` to `ends`, both included (None: until further notice)."""

    starts: date
    ends: date | None
    bands: tuple[MileageBand, ...]
    source: str


@dataclass(frozen=True, slots=True)
class MileageTable:
    """A dated table. unit: "mile" or "km". year_starts: (month, day) on which the bands begin anew each year."""

    unit: str
    currency: str
    year_starts: tuple[int, int]
    periods: tuple[MileagePeriod, ...]

    @classmethod
    def of(cls, country: str, vehicle: str = "car") -> MileageTable:
        """The table bizkit ships for `country` (ISO 3166-1) and `vehicle`. Raises NotFound where there is none.

        >>> MileageTable.of("GB").price(Decimal(11000), date(2025, 6, 1))[0]
        Money('4750.00', 'GBP')
        """
        if country not in TERMS:
            raise NotFound("country with mileage rates", country, TERMS, hint="Give your own table under [mileage]")
        vehicles = [name for place, name in RATES if place == country]
        if vehicle not in vehicles:
            raise NotFound("vehicle", vehicle, vehicles, field="vehicle")
        currency, unit, year_starts = TERMS[country]
        periods = tuple(
            MileagePeriod(
                row.starts,
                None,
                tuple(
                    MileageBand(Decimal(band.over), Decimal(band.up_to) if band.up_to else None, Decimal(band.rate))
                    for band in row.bands
                ),
                row.source,
            )
            for row in RATES[country, vehicle]
        )
        return cls(unit, currency, year_starts, periods)

    @classmethod
    def read(cls, fields: Fields, currency: str) -> MileageTable:
        """A studio's own table from its [mileage] table.

        Keys: unit ("mile" or "km"), year_starts ("04-06"; default "01-01"), source, and one [[mileage.periods]] a
        period with starts, ends (may be left out in the last) and bands such as
        [{over = 0, up_to = 10000, rate = 0.45}, {over = 10000, rate = 0.25}]. Raises BadInput for a gap or an
        overlap between bands or periods, a last band that ends, or a rate below zero.
        """
        unit = fields.choice("unit", UNITS, "mile")
        year_starts = _month_day(fields)
        source = fields.text("source", "")
        periods: list[MileagePeriod] = []
        for row in fields.rows("periods"):
            starts, ends = row.day("starts"), row.day("ends", None)
            if ends is not None and ends < starts:
                raise row.wrong("ends", f"a day on or after {starts}", ends)
            if periods:
                _follows(row, periods[-1], starts)
            periods.append(MileagePeriod(starts, ends, _bands(row), row.text("source", source)))
            row.done()
        if not periods:
            raise fields.wrong("periods", "one [[mileage.periods]] or more", "none")
        fields.done()
        return cls(unit, currency, year_starts, tuple(periods))

    def business_year(self, day: date) -> date:
        """First day of the business year that `day` falls in."""
        month, first = self.year_starts
        year = day.year if (day.month, day.day) >= (month, first) else day.year - 1
        return date(max(year, date.min.year), month, first)

    def period(self, day: date) -> MileagePeriod:
        """The period in force on `day`. Raises BadInput where the table has none."""
        found = None
        for period in self.periods:
            if period.starts <= day:
                found = period
        if found is None:
            raise BadInput(
                wanted=f"a journey on or after {self.periods[0].starts}, where the mileage table begins",
                got=day,
                field="mileage",
            )
        if found.ends is not None and day > found.ends:
            raise BadInput(
                wanted=f"a journey on or before {found.ends}, where the mileage table ends", got=day, field="mileage"
            )
        return found

    def lines(
        self, distance: Decimal, on: date, *, driven_before: Decimal = Decimal(0), item: str = "Mileage"
    ) -> list[Line]:
        """One line a band reached by `distance` driven on `on`, in section "travel".

        driven_before: distance driven for business earlier in the same business year, which uses up the lower bands.
        """
        distance, driven_before = _distance(distance, "distance"), _distance(driven_before, "driven_before")
        period = self.period(on)
        result = []
        for band in period.bands:
            inside = _overlap(band, driven_before, driven_before + distance)
            if inside:
                result.append(self._line(band, inside, on, driven_before, period.source, item))
        return result

    def _line(
        self, band: MileageBand, inside: Decimal, on: date, driven_before: Decimal, source: str, item: str
    ) -> Line:
        rate = Money(band.rate, self.currency)
        amount = rate * inside
        reach = f"up to {plain(band.up_to)}" if band.up_to is not None else f"past {plain(band.over)}"
        if band.over == 0 and band.up_to is None:
            reach = "any distance"
        units = self.unit if self.unit == "km" or inside == 1 else f"{self.unit}s"
        working = Working(
            text=f"{plain(inside)} {units} x {rate} ({reach} in the business year, "
            f"{plain(driven_before)} driven before)",
            rule="mileage.band",
            amount=amount,
            source=source,
            inputs=(
                ("distance", plain(inside)),
                ("rate", rate.text),
                ("driven_before", plain(driven_before)),
                ("on", on.isoformat()),
            ),
        )
        return Line("travel", item, inside, self.unit, rate, amount.rounded(), working)

    def price(self, distance: Decimal, on: date, *, driven_before: Decimal = Decimal(0)) -> tuple[Money, Working]:
        """What `distance` costs on `on`: the sum of the rounded lines, and its working."""
        lines = self.lines(distance, on, driven_before=driven_before)
        amount = Money(0, self.currency).rounded()
        for line in lines:
            amount = amount + line.amount
        units = self.unit if self.unit == "km" else f"{self.unit}s"
        text = f"{plain(distance)} {units} on {on.isoformat()} = {amount}"
        return amount, Working(text, "mileage", amount, parts=tuple(line.working for line in lines))

    def log(self, journeys: Iterable[tuple[date, Decimal]]) -> list[tuple[date, Decimal, Money]]:
        """Each journey priced in order of date, counting the distance anew in each business year."""
        result = []
        driven: dict[date, Decimal] = {}
        for on, distance in sorted(journeys):
            year = self.business_year(on)
            amount, _ = self.price(distance, on, driven_before=driven.get(year, Decimal(0)))
            driven[year] = driven.get(year, Decimal(0)) + distance
            result.append((on, distance, amount))
        return result


def _overlap(band: MileageBand, low: Decimal, high: Decimal) -> Decimal:
    """Distance between `low` and `high` that lies in `band`."""
    end = high if band.up_to is None else min(high, band.up_to)
    return max(Decimal(0), end - max(low, band.over))


def _distance(value: Decimal, field: str) -> Decimal:
    distance = decimal(value)
    if distance < 0:
        raise BadInput(wanted="a distance of zero or more", got=value, field=field)
    return distance


def _bands(row: Fields) -> tuple[MileageBand, ...]:
    """The bands of one period, joined end to end from zero."""
    bands: list[MileageBand] = []
    reached: Decimal | None = Decimal(0)
    for band in row.rows("bands"):
        over = band.number("over", 0)
        up_to = band.number("up_to") if "up_to" in band else None
        if reached is None:
            raise band.wrong("over", "no band after one without an end", plain(over))
        if over != reached:
            fault = "a gap" if over > reached else "an overlap"
            raise band.wrong("over", f"{plain(reached)}, where the band before ends", f"{plain(over)}, {fault}")
        if up_to is not None and up_to <= over:
            raise band.wrong("up_to", f"more than {plain(over)}", plain(up_to))
        bands.append(MileageBand(over, up_to, band.number("rate")))
        reached = up_to
        band.done()
    if not bands:
        raise row.wrong("bands", "one band or more such as {over = 0, rate = 0.45}", "none")
    if reached is not None:
        raise row.wrong("bands", "a last band without up_to", f"one that ends at {plain(reached)}")
    return tuple(bands)


def _follows(row: Fields, before: MileagePeriod, starts: date) -> None:
    """Refuse a period that overlaps the one before, or leaves days between them."""
    if starts <= before.starts:
        raise row.wrong("starts", f"a day after {before.starts}, where the period before begins", starts)
    if before.ends is None:
        return
    wanted = date.fromordinal(before.ends.toordinal() + 1) if before.ends < date.max else before.ends
    if starts != wanted:
        fault = "a gap" if starts > wanted else "an overlap"
        raise row.wrong("starts", f"{wanted}, the day after the period before ends", f"{starts}, {fault}")


def _month_day(fields: Fields) -> tuple[int, int]:
    """`year_starts` as (month, day); 29 February is refused, as most years have none."""
    text = fields.text("year_starts", "01-01")
    try:
        day = date.fromisoformat(f"2001-{text}")
    except ValueError:
        raise fields.wrong("year_starts", "month and day such as 04-06", text) from None
    return day.month, day.day
