"""Journeys of a brief, priced by the card's mileage table."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.mileage import MileageTable


@dataclass(frozen=True, slots=True)
class Journey:
    """Distance driven on a day, in the card's unit. driven_before: in the same business year, which uses up the
    dearer bands.
    """

    distance: Annotated[Decimal, Key("How far, in the unit of the card.", example=120)]
    on: Annotated[date, Key("The day.", example="2027-05-10")]
    field: Annotated[str, Given.PLACE]
    where: Annotated[str, Given.FILE]
    title: Annotated[str, Key("From where to where.", example="Port Skerrow to Selkie Bay and back")] = ""
    driven_before: Annotated[Decimal, Key("Driven for business earlier in the year.")] = Decimal(0)


def journey_lines(table: MileageTable | None, journeys: Sequence[Journey], item: str) -> list[Line]:
    """One line for each band a journey reaches. Raises BadInput where the card has no table, or none for that day."""
    lines: list[Line] = []
    for journey in journeys:
        if table is None:
            raise BadInput(
                wanted="a [mileage] table on the rate card to price it by",
                got="none",
                field=journey.field,
                where=journey.where,
            )
        title = f"{item}: {journey.title}" if journey.title else item
        try:
            lines += table.lines(journey.distance, journey.on, driven_before=journey.driven_before, item=title)
        except BadInput as error:
            raise BadInput(
                wanted=error.wanted, got=error.got, field=f"{journey.field}.on", where=journey.where
            ) from None
    return lines
