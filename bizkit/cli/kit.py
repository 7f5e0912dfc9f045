"""`bizkit kit`: who and what is booked, clashes, service, pay-back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.quoting.bookings import BookingRow
    from bizkit.services.quoting.kit import ClashesShown, PayBack, ServiceDue

app = typer.Typer(
    help="Who and what is booked, where jobs clash, kit due for service, kit paid back.", no_args_is_help=True,
    add_completion=False,
)  # fmt: skip


@app.command()
def bookings(
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="The last day to show.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """People and kit by date: open jobs, quotes waiting for an answer, drafts, days held for weather."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.quoting.bookings import list_bookings

    def text(rows: list[BookingRow]) -> Iterator[str]:
        if not rows:
            yield "Nothing is booked."
        body = [
            [
                row["on"],
                row["resource"] if row["kind"] == "person" else f"{row['quantity']} x {row['resource']}",
                row["job"],
                "hold" if row["hold"] else "",
            ]
            for row in rows
        ]
        yield from table(body)

    last = iso_date(until, field="--until") if until else None
    show(list_bookings(studio_folder(studio), day(on), last), as_json, text)


@app.command()
def clashes(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Where two jobs, quotes or drafts need the same person or item, and in-water kit that cannot be ready."""
    from bizkit.services.quoting.kit import list_clashes

    def text(data: ClashesShown) -> Iterator[str]:
        yield from (row["text"] for row in data["clashes"])
        yield from data["care"]
        if not data["clashes"] and not data["care"]:
            yield "Nothing clashes."

    show(list_clashes(studio_folder(studio), day(on)), as_json, text)


@app.command()
def payback(
    item: Annotated[
        str | None, typer.Argument(metavar="[ITEM]", help="One item of the card; without it all.")
    ] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """How many hire days until each item has paid for itself at its rate, from its use in the book."""
    from bizkit.services.quoting.kit import kit_pay_back

    def text(rows: list[PayBack]) -> Iterator[str]:
        head = ["ITEM", "VALUE", "A DAY", "NEEDED", "HIRED", "EARNED", "TO GO"]
        body = [
            [
                (f"{row['owned']} x " if row["owned"] > 1 else "") + row["title"],
                amount(row["value"], row["currency"]),
                row["rate_per_day"],
                str(row["days_needed"]),
                row["days_hired"],
                row["earned"],
                "paid back" if row["paid_back"] else str(row["days_left"]),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[1, 2, 3, 4, 5, 6])

    show(kit_pay_back(studio_folder(studio), day(on), item), as_json, text)


@app.command()
def service(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """When in-water kit is due for service, by date and by dives, counted from the book."""
    from bizkit.services.quoting.kit import kit_service

    def text(rows: list[ServiceDue]) -> Iterator[str]:
        if not rows:
            yield "No item on the card has a service interval."
            return
        head = ["ITEM", "SERVICED", "DUE", "DIVES", "PLANNED", "ALLOWED", ""]
        body = [
            [
                row["title"],
                row["serviced_on"],
                row["due_on"],
                str(row["dives"]),
                str(row["dives_planned"]),
                str(row["dives_allowed"] or ""),
                row["state"],
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[3, 4, 5])

    show(kit_service(studio_folder(studio), day(on)), as_json, text)
