"""`bizkit statement`: a client's account."""

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
    day_of,
    show,
    studio_folder,
    table,
)

if TYPE_CHECKING:
    from bizkit.services.billing.statements import StatementWritten


app = typer.Typer(add_completion=False)


@app.command()
def statement(
    client: Annotated[str, typer.Argument(metavar="CLIENT", help="The client's key.")],
    first: Annotated[
        str | None, typer.Option("--from", metavar="YYYY-MM-DD", help="First day; without it the start of the year.")
    ] = None,
    currency: Annotated[str, typer.Option("--currency", help="Where the client owes in several.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write a client's statement of account up to a day, as PDF."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.billing.statements import write_statement

    def text(data: StatementWritten) -> Iterator[str]:
        code = data["currency"]
        yield f"{data['client']}, {data['opened_on']} to {data['issued_on']}"
        rows = [["", "Brought forward", "", "", data["opening"]]]
        rows += [
            [
                one["date"],
                f"{one['what'].replace('_', ' ')} {one['number']}",
                one["charged"],
                one["paid"],
                one["balance"],
            ]
            for one in data["entries"]
        ]
        yield from table(rows, right=[2, 3, 4], indent=2)
        yield f"Open: {amount(data['closing'], code)}, of it overdue {amount(data['overdue'], code)}"
        yield f"Paper: {data['file']}"

    since = iso_date(first, field="--from") if first else None
    folder = studio_folder(studio, reason)
    done = write_statement(folder, client, day_of(folder, on, since), first=since, currency=currency)
    show(done, as_json, text)
