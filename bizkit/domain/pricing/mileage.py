"""Distance driven for a job at a dated rate with bands: so much up to a distance in the year, so much past it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, decimal, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.domain.tables.mileage import RATES, TERMS

#: Units of distance a table may count in.
UNITS = ("mile", "km")


@dataclass(frozen=True, slots=True)
class MileageBand:
    """Distance over `over`, up to and including `up_to` (None: no end) of one business year, at `rate` a unit."""

    rate: Annotated[Decimal, Key("What a mile or kilometre is charged at.", example=0.45)]
    over: Annotated[Decimal, Key("Distance of the year past which it counts.")] = Decimal(0)
    up_to: Annotated[Decimal | None, Key("Distance up to which it counts; the last one has no end.")] = None


@dataclass(frozen=True, slots=True)
class PeriodRow:
    """A [[mileage.periods]] table: bands in force from `starts` to `ends`, both included."""

    starts: Annotated[date, Key("First day it holds.", example="2027-01-01")]
    bands: Annotated[tuple[MileageBand, ...], Key("Rates by the distance of the year, from nothing on.")] = ()
    ends: Annotated[date | None, Key("Last day it holds; without it until further notice.")] = None
    source: Annotated[str, Key("Where the rates are from.")] = ""


def _month_day(text: str) -> tuple[int, int]:
    """Month and day; 29 February is refused, as most years have none. Raises BadInput."""
    try:
        day = date.fromisoformat(f"2001-{text}")
    except ValueError:
        raise BadInput(wanted="month and day such as 04-06", got=text) from None
    return day.month, day.day


@dataclass(frozen=True, slots=True)
class MileageKeys:
    """The card's [mileage]: a country whose table bizkit ships, or a table of the studio's own."""

    country: Annotated[str, Key("Whose official rates to use (ISO 3166-1).", example="GB")] = ""
    vehicle: Annotated[str, Key("Of that country's table.", example="car")] = ""
    unit: Annotated[str, Key("Of a table of your own.", choices=UNITS)] = ""
    year_starts: Annotated[
        tuple[int, int] | None,
        Key("When its bands begin anew, 01-01 where not said.", written=str, rule=_month_day, example="04-06"),
    ] = None
    source: Annotated[str, Key("Where its rates are from.")] = ""
    periods: Annotated[tuple[PeriodRow, ...], Key("Its rates, period by period.")] = ()


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
    def of(cls, country: str, vehicle: str = "car") -> "MileageTable":
        """The table bizkit ships for `country` (ISO 3166-1) and `vehicle`. Raises NotFound where there is none.

        >>> MileageTable.of("GB").price(Decimal(11000), date(2025, 6, 1))[0]
        Money('4750.00', 'GBP')
        """
        if country not in TERMS:
            hint = "Give your own table under [mileage] in rate-card.toml"
            raise NotFound("country with mileage rates", country, TERMS, hint=hint)
        vehicles = [name for place, name in RATES if place == country]
        if vehicle not in vehicles:
            raise NotFound("vehicle", vehicle, vehicles, field="vehicle")
        currency, unit, year_starts = TERMS[country]
        periods = tuple(
            MileagePeriod(
                row.starts,
                None,
                tuple(
                    MileageBand(Decimal(band.rate), Decimal(band.over), Decimal(band.up_to) if band.up_to else None)
                    for band in row.bands
                ),
                row.source,
            )
            for row in RATES[country, vehicle]
        )
        return cls(unit, currency, year_starts, periods)

    @classmethod
    def of_card(cls, table: MileageKeys, at: Table) -> "MileageTable | None":
        """From a card's [mileage]: the shipped one of its country, or the studio's own; reports what is wrong."""
        if table.country:
            own = [name for name in ("unit", "year_starts", "periods") if getattr(table, name)]
            if own:
                at.problem(own[0], "either country, or a table of your own", "both")
            try:
                found = cls.of(table.country, table.vehicle or "car")
            except NotFound as error:
                at.problem(error.field or "country", error.wanted, error.got, error.hint)
                return None
            if found.currency != at.currency:
                at.problem("country", f"a country whose rates are in {at.currency}", f"rates in {found.currency}")
            return found
        if table.vehicle:
            at.problem("vehicle", "a country to go with it", "none")
        periods: list[MileagePeriod] = []
        for number, row in enumerate(table.periods, start=1):
            place = at.inside(f"periods[{number}]", {})
            if row.ends is not None and row.ends < row.starts:
                place.problem("ends", f"a day on or after {row.starts}", row.ends)
                return None
            if periods:
                _follows(place, periods[-1], row.starts)
            periods.append(MileagePeriod(row.starts, row.ends, _bands(row, place), row.source or table.source))
        if not periods:
            at.problem("periods", "one [[mileage.periods]] or more", "none")
        return cls(table.unit or "mile", at.currency, table.year_starts or (1, 1), tuple(periods))

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


def _bands(row: PeriodRow, at: Table) -> tuple[MileageBand, ...]:
    """The bands of one period, joined end to end from zero."""
    bands: list[MileageBand] = []
    reached: Decimal | None = Decimal(0)
    for number, band in enumerate(row.bands, start=1):
        place, over, up_to = at.inside(f"bands[{number}]", {}), band.over, band.up_to
        if reached is None:
            place.problem("over", "no band after one without an end", plain(over))
        elif over != reached:
            fault = "a gap" if over > reached else "an overlap"
            place.problem("over", f"{plain(reached)}, where the band before ends", f"{plain(over)}, {fault}")
        elif up_to is not None and up_to <= over:
            place.problem("up_to", f"more than {plain(over)}", plain(up_to))
            return ()
        bands.append(band)
        reached = up_to
    if not bands:
        at.problem("bands", "one band or more such as {over = 0, rate = 0.45}", "none")
    elif reached is not None:
        at.problem("bands", "a last band without up_to", f"one that ends at {plain(reached)}")
    return tuple(bands)


def _follows(at: Table, before: MileagePeriod, starts: date) -> None:
    """Report a period that overlaps the one before, or leaves days between them."""
    if starts <= before.starts:
        at.problem("starts", f"a day after {before.starts}, where the period before begins", starts)
        return
    if before.ends is None:
        return
    wanted = date.fromordinal(before.ends.toordinal() + 1) if before.ends < date.max else before.ends
    if starts != wanted:
        fault = "a gap" if starts > wanted else "an overlap"
        at.problem("starts", f"{wanted}, the day after the period before ends", f"{starts}, {fault}")
