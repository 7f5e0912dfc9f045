"""`bizkit charge`: what a job costs beyond its quote."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
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
    from bizkit.services.job.charges import ChargesShown

app = typer.Typer(
    help="What a job costs beyond its quote: fees, overruns, costs, rounds.",
    no_args_is_help=True,
    add_completion=False,
)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every charge with its working, and whether it is billed."""
    from bizkit.services.job.charges import list_charges

    def text(data: ChargesShown) -> Iterator[str]:
        if not data["charges"]:
            yield "No charges beyond the quotes."
            return
        for row in data["charges"]:
            state = row["invoice"] or (f"waived: {row['waived']}" if row["waived"] else row["state"])
            head = [str(row["id"]), row["job"], row["on"], shorten(row["item"], 44)]
            yield "  ".join([*head, amount(row["amount"], row["currency"]), state])
            yield f"     {row['why']}"
        yield ""
        left = ", ".join(amount(one["net"], one["currency"]) for one in data["open"]) or "nothing"
        yield f"To invoice: {left}. Bill a job's charges with: bizkit invoice issue JOB --charges"

    show(list_charges(studio_folder(studio), job), as_json, text)


@app.command()
def add(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    what: Annotated[str, typer.Option("--what", help="What the client reads on the invoice.")],
    sum_: Annotated[
        str,
        typer.Option("--amount", metavar="AMOUNT", help="Net, in the job's currency; negative gives something back."),
    ],
    reason: Annotated[str, typer.Option("--reason", help="Why; kept in the book.")],
    agreed: Annotated[
        str,
        typer.Option("--agreed", metavar="WHO", help="Who said yes to it, and when; or say it when it is billed."),
    ] = "",
    section: Annotated[str, typer.Option("--section", help="The section of the quote it counts to.")] = "fees",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Charge what no other record explains. As no quote states it, it is billed once the client has said yes."""
    from bizkit.services.job.charges import add_charge_by_hand

    done = add_charge_by_hand(
        studio_folder(studio, reason), job, what, sum_, day(on), section=section, reason=reason, agreed=agreed
    )

    def text(data: Mapping[str, Any]) -> Iterator[str]:
        yield from _one(data)
        yield from typed_twice(data, "charge", f"bizkit charge waive {data['id']} --reason WHY")

    show(done, as_json, text)


@app.command()
def waive(
    charge: Annotated[int, typer.Argument(metavar="CHARGE", help="Its number in the list.")],
    reason: Annotated[str, typer.Option("--reason", help="Why it is given up; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give a charge up: it stays in the book and is never billed."""
    from bizkit.services.job.waiving import waive as give_up

    show(give_up(studio_folder(studio, reason), charge, day(on), reason=reason), as_json, _one)


def _one(row: Mapping[str, Any]) -> Iterator[str]:
    yield from table([[f"Charge {row['id']}", row["item"], amount(row["amount"], row["currency"]), row["state"]]])
    yield f"  {row['why']}"
