"""`bizkit day`: shoot days as they were."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

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
)

app = typer.Typer(
    help="Shoot days as they were: call and wrap, overruns, moves, hold days.", no_args_is_help=True,
    add_completion=False,
)  # fmt: skip

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
DateArgument = Annotated[str, typer.Argument(metavar="DATE", help="The day, as YYYY-MM-DD.")]


@app.command()
def log(
    job: JobArgument,
    date: DateArgument,
    call: Annotated[str, typer.Option("--call", metavar="HH:MM", help="When work began.")],
    wrap: Annotated[
        str, typer.Option("--wrap", metavar="HH:MM", help="When it ended; before the call: the next day.")
    ],
    who: Annotated[
        list[str] | None, typer.Option("--who", help="Only these people (or roles without a name); again for more.")
    ] = None,
    meal_hours: Annotated[str, typer.Option("--meal-hours", help="The unpaid break, where not the card's.")] = "",
    dives: Annotated[int | None, typer.Option("--dives", min=0, help="How often the kit went in.")] = None,
    note: Annotated[str, typer.Option("--note", help="Anything worth keeping.")] = "",
    number: Annotated[int | None, typer.Option("--number", help="Which day, where several fall on the date.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down call and wrap as they were; what it cost over the plan waits to be invoiced."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.shooting.day_log import log_day

    def text(data: dict[str, Any]) -> Iterator[str]:
        people = ", ".join(data["who"]) or "everybody"
        yield f"{data['on']}: {data['call']} to {data['wrap']}, {people}"
        if not data["lines"]:
            yield "Within the plan: nothing more to invoice."
            return
        yield f"Over the plan: {amount(data['overrun'], data['currency'])} net, to invoice:"
        for line in data["lines"]:
            yield f"  {line['item']}: {line['amount']}"
            yield f"    {line['why']}"

    done = log_day(
        studio_folder(studio, reason), job, iso_date(date, field="DATE"), day(on), call=call, wrap=wrap,
        who=who or (), meal_hours=meal_hours, dives=dives, note=note, number=number,
    )  # fmt: skip
    show(done, as_json, text)


@app.command("list")
def list_(job: JobArgument, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Each day: planned and real times, overrun, where it moved from; and the hold days used."""
    from bizkit.services.shooting.day_log import list_days

    def text(data: dict[str, Any]) -> Iterator[str]:
        head = ["NO", "DATE", "KIND", "PLACE", "PLANNED", "LOGGED", "OVER", "MOVED FROM"]
        body = [
            [
                str(row["number"]),
                row["on"] or "open",
                row["kind"],
                shorten(row["place"], 28),
                row["planned"],
                "; ".join(f"{one['call']}-{one['wrap']}" for one in row["logged"]),
                row["overrun"] if row["logged"] else "",
                ", ".join(f"{one['from']} ({one['why']})" for one in row["moved"]),
            ]
            for row in data["days"]
        ]
        yield from table([head, *body], right=[0, 6])
        yield from _holds(data["holds"], data["currency"])

    show(list_days(studio_folder(studio), job), as_json, text)


@app.command()
def move(
    job: JobArgument,
    date: DateArgument,
    to: Annotated[str, typer.Option("--to", metavar="YYYY-MM-DD", help="The new date.")],
    why: Annotated[str, typer.Option("--why", help="weather, client or studio.")] = "weather",
    swap: Annotated[bool, typer.Option("--swap", help="Exchange it with what is planned there.")] = False,
    hold: Annotated[
        bool | None, typer.Option("--hold/--no-hold", help="Whether people waited in vain; with weather they did.")
    ] = None,
    note: Annotated[str, typer.Option("--note", help="Anything worth keeping.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Move a day: hold days are counted, due dates of deliverables follow by themselves."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.shooting.day_moves import move_day

    def text(data: dict[str, Any]) -> Iterator[str]:
        arrow = "<->" if data["swapped"] else "->"
        yield f"{data['job']}: {data['from']} {arrow} {data['to']}"
        if data["charge"]:
            yield f"  to invoice: {data['charge']['item']}: {amount(data['charge']['amount'], data['currency'])}"
        for one in data["due"]:
            yield f"  {one['deliverable']}: due {one['before'] or 'open'} -> {one['after'] or 'open'}"
        if data["hold"]:
            yield from _holds(data["holds"], data["currency"])
        for warning in data["warnings"]:
            yield f"Look: {warning}"

    done = move_day(
        studio_folder(studio, reason), job, iso_date(date, field="DATE"), iso_date(to, field="--to"), day(on),
        why=why, swap=swap, hold=hold, note=note,
    )  # fmt: skip
    show(done, as_json, text)


def _holds(holds: dict[str, Any], currency: str) -> Iterator[str]:
    used = len(holds["used"])
    if holds["rate"]:
        yield (
            f"Hold days: {used} used of {holds['agreed']} agreed, at {amount(holds['rate'], currency)} each "
            f"(charged as {holds['charge']})"
        )
    elif used:
        yield f"Hold days: {used} used; the quote agreed none, so none is charged"
