"""Journeys of a brief, priced by the card's mileage table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.mileage import MileageTable


@dataclass(frozen=True, slots=True)
class Journey:
    """Distance driven on a day, in the card's unit. driven_before: in the same business year, which uses up the
    dearer bands.
    """

    title: str
    distance: Decimal
    on: date
    driven_before: Decimal
    field: str
    where: str

    @classmethod
    def read(cls, fields: Fields) -> Journey:
        """One [[mileage]] table of the brief."""
        journey = cls(
            fields.text("title", ""),
            fields.number("distance"),
            fields.day("on"),
            fields.number("driven_before", 0),
            fields.path,
            fields.where,
        )
        fields.done()
        return journey


def read_mileage(fields: Fields, currency: str) -> MileageTable | None:
    """The card's [mileage]: `country` (and `vehicle`) for a table bizkit ships, or the studio's own; None if absent.

    Raises BadInput where the shipped table is in another currency than the card.
    """
    if "mileage" not in fields:
        return None
    table = fields.table("mileage")
    if "country" not in table:
        return MileageTable.read(table, currency)
    try:
        found = MileageTable.of(table.text("country"), table.text("vehicle", "car"))
    except NotFound as error:
        raise BadInput(
            wanted=error.wanted,
            got=error.got,
            field=table.field(error.field or "country"),
            where=table.where,
            hint=error.hint,
        ) from None
    table.done()
    if found.currency != currency:
        raise table.wrong("country", f"a country whose rates are in {currency}", f"rates in {found.currency}")
    return found


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
