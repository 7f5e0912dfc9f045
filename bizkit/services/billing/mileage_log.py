"""The log of journeys by own vehicle, priced at the flat rate of each day."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import plain
from bizkit.domain.pricing.mileage import MileageTable
from bizkit.domain.tables.mileage import TERMS
from bizkit.domain.typed_numbers import number_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def add_journey(
    folder: StudioFolder,
    distance: str,
    on: date,
    *,
    origin: str,
    destination: str,
    purpose: str,
    who: str = "",
    vehicle: str = "car",
    job: str = "",
) -> JourneyAdded:
    """Log one journey, in the unit of the country's table. A negative distance takes a wrong entry back.

    who: whose vehicle, the first of the studio's people without it; the bands of the year count for each of them.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record
    from bizkit.store.journeys import add_journey as write_journey

    table = table_of(folder, vehicle)
    unfit = f"a distance in {table.unit}s of one journey, up to 5000"
    exact = number_of(
        distance, field="DISTANCE", wanted="a distance such as 42.5", unfit=unfit, least=-5000, most=5000
    )
    if not exact:
        raise BadInput(wanted=unfit, got=distance, field="DISTANCE")
    for name, said in (("--from", origin), ("--to", destination), ("--purpose", purpose)):
        if not said.strip():
            raise BadInput(wanted="what a tax office asks for", got="nothing", field=name)
    table.period(on)
    people = folder.studio.people
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        key = the_job(work, job).key if job else ""
        row = {
            "on": on.isoformat(),
            "who": who.strip() or (people[0] if people else folder.studio.name),
            "vehicle": vehicle,
            "distance": plain(exact),
            "unit": table.unit,
            "origin": origin.strip(),
            "destination": destination.strip(),
            "purpose": purpose.strip(),
            "job": key,
        }
        same = _said_before(work, row)
        number = write_journey(work, stamp, row)
        record(work, stamp, "drove", key or "studio", journey=number, distance=row["distance"], unit=table.unit)
        (priced,) = [one for one in journey_rows(folder, work) if one["number"] == number]
    return {**priced, "same": same}


def _said_before(work: Connection, new: dict[str, str]) -> list[int]:
    """The journeys of that day that say just what a new one says, those taken back left out."""
    from bizkit.store.journeys import journeys

    names = ("on", "who", "vehicle", "origin", "destination")
    alike = [one for one in journeys(work) if all(getattr(one, name) == new[name] for name in names)]
    gone = sum(Decimal(one.distance) == -Decimal(new["distance"]) for one in alike)
    return [one.id for one in alike if Decimal(one.distance) == Decimal(new["distance"])][gone:]


def table_of(folder: StudioFolder, vehicle: str) -> MileageTable:
    """The flat rates of the studio's country; where none are shipped, those of the rate card's [mileage] for a car.

    Raises NotFound where neither has any.
    """
    own = folder.card.mileage if folder.studio.country not in TERMS else None
    if own is None:
        return MileageTable.of(folder.studio.country, vehicle)
    if vehicle != "car":
        raise NotFound("vehicle", vehicle, ("car",), field="--vehicle", hint="The rate card's [mileage] is for a car")
    return own


def journey_rows(folder: StudioFolder, work: Connection) -> list[JourneyRow]:
    """Every journey in order of date with its amount; the bands of a year are used up in that order."""
    from bizkit.store.journeys import journeys

    driven: dict[tuple[str, str, date], Decimal] = {}
    rows: list[JourneyRow] = []
    for row in sorted(journeys(work), key=lambda row: (row.on, row.id)):
        table = table_of(folder, row.vehicle)
        on = date.fromisoformat(row.on)
        key = (row.who, row.vehicle, table.business_year(on))
        before = driven.get(key, Decimal(0))
        distance = Decimal(row.distance)
        driven[key] = max(before + distance, Decimal(0))
        if distance >= 0:
            amount, working = table.price(distance, on, driven_before=before)
        else:
            taken, working = table.price(min(-distance, before), on, driven_before=driven[key])
            amount = -taken
        rows.append(
            {
                "number": row.id,
                "on": row.on,
                "who": row.who,
                "vehicle": row.vehicle,
                "distance": row.distance,
                "unit": row.unit,
                "origin": row.origin,
                "destination": row.destination,
                "purpose": row.purpose,
                "job": row.job,
                "amount": amount.text,
                "currency": amount.currency,
                "why": "; ".join(part.text for part in working.parts),
            }
        )
    return rows


def list_journeys(folder: StudioFolder) -> list[JourneyRow]:
    """Every journey in order of date."""
    with folder.book.read() as work:
        return journey_rows(folder, work)


class JourneyRow(TypedDict):
    """A journey with its amount at the flat rate of its day."""

    number: int
    on: str
    who: str
    vehicle: str
    distance: str
    unit: str
    origin: str
    destination: str
    purpose: str
    job: str
    amount: str
    currency: str
    why: str


class JourneyAdded(JourneyRow):
    """A new journey. same: those of its day that say just the same."""

    same: list[int]
