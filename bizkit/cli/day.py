"""`bizkit day`: shoot days as they were."""

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
    day_of,
    shorten,
    show,
    studio_folder,
    table,
)

if TYPE_CHECKING:
    from bizkit.services.shooting.day_log import DayLogged, DaysShown
    from bizkit.services.shooting.day_moves import DayMoved, DayMovedAnswer
    from bizkit.services.shooting.dearer_days import DearerRow
    from bizkit.services.shooting.job_days import Holds
    from bizkit.services.shooting.overruns import RestRow


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
    meal_hours: Annotated[
        str, typer.Option("--meal-hours", metavar="HOURS", help="The unpaid break, where not the card's.")
    ] = "",
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

    def text(data: DayLogged) -> Iterator[str]:
        people = ", ".join(data["who"]) or "everybody"
        yield f"{data['on']}: {data['call']} to {data['wrap']}, {people}"
        yield from _dearer([data["moved"]] if data["moved"] else [], data["currency"])
        yield from _following(data["following"], data["currency"])
        if not data["lines"]:
            yield (
                "Within the hours planned: nothing more to invoice for them."
                if data["moved"]
                else "Within the plan: nothing more to invoice."
            )
            return
        yield f"Over the plan: {amount(data['overrun'], data['currency'])} net, to invoice:"
        for line in data["lines"]:
            yield f"  {line['item']}: {line['amount']}"
            yield f"    {line['why']}"

    folder, worked = studio_folder(studio, reason), iso_date(date, field="DATE")
    done = log_day(
        folder, job, worked, day_of(folder, on, worked), call=call, wrap=wrap,
        who=who or (), meal_hours=meal_hours, dives=dives, note=note, number=number,
    )  # fmt: skip
    show(done, as_json, text)


@app.command("list")
def list_(job: JobArgument, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Each day: planned and real times, overrun, where it moved from; and the hold days used."""
    from bizkit.services.shooting.day_log import list_days

    def text(data: DaysShown) -> Iterator[str]:
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
        bool | None,
        typer.Option(
            "--hold/--no-hold", help="Whether people waited in vain; where weather stopped a shoot they did."
        ),
    ] = None,
    number: Annotated[int | None, typer.Option("--number", help="Which day, where several fall on the date.")] = None,
    waive: Annotated[
        str, typer.Option("--waive", metavar="REASON", help="Let the client's fee go, and why; kept in the book.")
    ] = "",
    note: Annotated[str, typer.Option("--note", help="Anything worth keeping.")] = "",
    reason: ReasonOption = "",
    preview: Annotated[
        bool, typer.Option("--preview", help="Only say what it would cost; nothing is recorded.")
    ] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Move a day (DATE may be `open`): hold days are counted, due dates follow, and what the move costs is charged.

    A dearer date (Saturday, Sunday, holiday) costs the difference to the price agreed: the client's, where client or
    weather moved the day; the studio's, where the studio did, or where hold days were sold at a fixed price. A
    cheaper date gives nothing back by itself (bizkit charge add). Moved by the client, the day left bears the
    postponement fee of the scale quoted; --on is the day of notice.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.services.shooting.day_moves import Move, move_day

    def text(data: DayMovedAnswer) -> Iterator[str]:
        arrow = "<->" if data["swapped"] else "->"
        would = "would move " if data["preview"] else ""
        yield f"{data['job']}: {would}{data['from'] or 'open'} {arrow} {data['to']}"
        if data["charge"]:
            yield f"  to invoice: {data['charge']['item']}: {amount(data['charge']['amount'], data['currency'])}"
        for one in data["given_back"]:
            yield f"  taken back, as nobody waited: {one['item']}: {amount(one['amount'], data['currency'])}"
        yield from _fee(data)
        yield from (f"  {line}" for line in _dearer(data["dearer"], data["currency"]))
        yield from (f"  {line}" for line in _following(data["following"], data["currency"]))
        for row in data["due"]:
            yield f"  {row['deliverable']}: due {row['before'] or 'open'} -> {row['after'] or 'open'}"
        if data["hold"]:
            yield from _holds(data["holds"], data["currency"])
        for warning in data["warnings"]:
            yield f"Look: {warning}"

    wanted = Move(
        None if date == "open" else iso_date(date, field="DATE"), iso_date(to, field="--to"), why=why, hold=hold,
        swap=swap, number=number, waive=waive.strip(), note=note,
    )  # fmt: skip
    show(move_day(studio_folder(studio, reason), job, wanted, day(on), preview=preview), as_json, text)


def _fee(data: DayMoved) -> Iterator[str]:
    """What a move asked for by the client costs by the scale quoted."""
    fee, currency = data["fee"], data["currency"]
    if fee is None:
        return
    if not fee["scale"]:
        yield "  the rate card quoted has no [cancellation] scale: agree a fee with bizkit charge add"
    elif fee["lines"]:
        done = f"waived: {fee['waived']}" if fee["waived"] else "to invoice"
        yield f"  postponement fee, {done}: {amount(fee['amount'], currency)} ({fee['why']})"
    elif data["charge"]:
        yield "  no postponement fee beside the hold day, which is dearer"
    else:
        yield f"  postponement fee: {amount(fee['amount'], currency)} ({fee['why']})"


def _dearer(rows: list[DearerRow], currency: str) -> Iterator[str]:
    """What moved days cost above the price agreed, and who bears it."""
    for row in rows:
        agreed = row["agreed_on"] or "a day without a date"
        if row["borne_by"] == "studio":
            yield f"{row['on']} is dearer than {agreed}, which the studio bears: {row['why']}"
        elif row["borne_by"] == "client":
            yield f"dearer than {agreed}, to the client: {amount(row['difference'], currency)} ({row['why']})"
        if row["to_invoice"] != row["difference"]:
            now = amount(row["to_invoice"], currency)
            yield f"  of it to invoice now: {now}, the rest was billed or waived before"


def _following(rows: list[RestRow], currency: str) -> Iterator[str]:
    """What logged days after this one come to by now, as the rest before them is another one."""
    for row in rows:
        yield (
            f"{row['on']} follows: {amount(row['overrun'], currency)} over the plan by now, "
            f"{row['before']} before, as the rest before it is another one"
        )


def _holds(holds: Holds, currency: str) -> Iterator[str]:
    used = len(holds["used"])
    if holds["rate"]:
        yield (
            f"Hold days: {used} used of {holds['agreed']} agreed, at {amount(holds['rate'], currency)} each "
            f"(charged as {holds['charge']})"
        )
        if used > holds["agreed"]:
            yield f"  {used - holds['agreed']} beyond those agreed: billed only with the client's yes, --agreed"
    elif used:
        yield f"Hold days: {used} used; the quote agreed none, so none is charged"
