"""`bizkit mileage`: the log of journeys by own vehicle."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    shorten,
    show,
    studio_folder,
    table,
    typed_twice,
)

if TYPE_CHECKING:
    from bizkit.services.billing.mileage_log import JourneyAdded, JourneyRow

app = typer.Typer(help="The log of journeys by own vehicle.", no_args_is_help=True, add_completion=False)


@app.command()
def add(
    distance: Annotated[str, typer.Argument(metavar="DISTANCE", help="In miles or km, as your country's table.")],
    origin: Annotated[str, typer.Option("--from", help="Where it began.")],
    destination: Annotated[str, typer.Option("--to", help="Where it went.")],
    purpose: Annotated[str, typer.Option("--purpose", help="Why, as a tax office asks.")],
    who: Annotated[str, typer.Option("--who", help="Whose vehicle; the first of the studio's people.")] = "",
    vehicle: Annotated[str, typer.Option("--vehicle", help="car, motorcycle or bicycle.")] = "car",
    job: Annotated[str, typer.Option("--job", help="The job it was for.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Log one journey. A negative distance takes a wrong entry back."""
    from bizkit.services.billing.mileage_log import add_journey

    def text(row: JourneyAdded) -> Iterator[str]:
        yield f"Journey {row['number']}: {row['distance']} {row['unit']}, {amount(row['amount'], row['currency'])}"
        yield f"  {row['why']}"
        yield from typed_twice(row, "journey")

    done = add_journey(
        studio_folder(studio, reason),
        distance,
        day(on),
        origin=origin,
        destination=destination,
        purpose=purpose,
        who=who,
        vehicle=vehicle,
        job=job,
    )
    show(done, as_json, text)


@app.command("list")
def list_(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every journey with its amount; bizkit report mileage adds a tax year up."""
    from bizkit.services.billing.mileage_log import list_journeys

    def text(rows: list[JourneyRow]) -> Iterator[str]:
        if not rows:
            yield "No journeys yet."
            return
        head = ["NO", "DATE", "WHO", "FROM", "TO", "WHY", "DISTANCE", "AMOUNT"]
        body = [
            [
                str(row["number"]),
                row["on"],
                shorten(row["who"], 18),
                shorten(row["origin"], 20),
                shorten(row["destination"], 20),
                shorten(row["purpose"], 30),
                f"{row['distance']} {row['unit']}",
                amount(row["amount"], row["currency"]),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[0, 6, 7])

    show(list_journeys(studio_folder(studio)), as_json, text)
