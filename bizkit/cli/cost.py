"""`bizkit cost`: money spent on jobs, with receipts."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    receipt_filed,
    same_paper,
    shorten,
    show,
    studio_folder,
    table,
    tax_without_paper,
    typed_twice,
)

if TYPE_CHECKING:
    from bizkit.services.shooting.cost_reversal import CostReversed
    from bizkit.services.shooting.cost_rows import CostAdded, CostRow

app = typer.Typer(help="Money spent on jobs, with receipts on file.", no_args_is_help=True, add_completion=False)


@app.command()
def add(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    kind: Annotated[str, typer.Option("--kind", help="A kind of cost on the rate card, or a section such as kit.")],
    sum_: Annotated[
        str, typer.Option("--amount", metavar="AMOUNT", help="As on the receipt; negative for what came back of it.")
    ],
    what: Annotated[str, typer.Option("--what", help="What it was for.")] = "",
    supplier: Annotated[str, typer.Option("--supplier", help="Who was paid.")] = "",
    currency: Annotated[str, typer.Option("--currency", help="Of the amount, where not the job's.")] = "",
    rate: Annotated[str, typer.Option("--rate", metavar="RATE", help="The job's money for one unit of it.")] = "",
    rate_source: Annotated[str, typer.Option("--rate-source", help="Who says so; never fetched.")] = "",
    tax: Annotated[str, typer.Option("--tax", metavar="AMOUNT", help="The tax inside it, as on the receipt.")] = "",
    tax_rate: Annotated[str, typer.Option("--tax-rate", metavar="PERCENT", help="Or its percent.")] = "",
    receipt: Annotated[Path | None, typer.Option("--receipt", help="The receipt: PDF, PNG or JPEG.")] = None,
    to_client: Annotated[
        bool,
        typer.Option(
            "--to-client", help="Charge it on, less the tax reclaimed, with the card's markup; the quote has it not."
        ),
    ] = False,
    agreed: Annotated[
        str, typer.Option("--agreed", metavar="WHO", help="Who said yes to being charged for it, and when.")
    ] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record money spent on a job and file its receipt by checksum."""
    from bizkit.services.shooting.costs import add_cost

    def text(data: CostAdded) -> Iterator[str]:
        yield f"Cost {data['number']}: {data['what']}, {amount(data['amount'], data['currency'])}"
        if data["rate"]:
            yield f"  {amount(data['in_job'], data['job_currency'])} at {data['rate']} ({data['rate_source']})"
        if Decimal(data["tax"]):
            tax_part, net = amount(data["tax"], data["tax_currency"]), amount(data["net"], data["job_currency"])
            yield (
                f"  Of it {tax_part} tax, which is reclaimed: it costs {net}"
                if Decimal(data["reclaimed"])
                else f"  Of it {tax_part} tax, which stays a cost: {data['why_not']}"
            )
        if data["file"]:
            yield f"  Receipt: {data['file']}"
        yield from same_paper(data["same_paper"])
        undo = f"bizkit cost reverse {data['number']} --reason WHY"
        yield from tax_without_paper(data, f"bizkit cost receipt {data['number']} FILE")
        yield from typed_twice(data, "cost", undo)
        if data["cancelled_on"] and not data["charged"]:
            yield f"  The job was cancelled on {data['cancelled_on']}: nobody is charged for it without --to-client"
        if data["charged"]:
            yield f"  To invoice: {amount(data['charged']['amount'], data['job_currency'])}: {data['charged']['why']}"
        for one in data["quoted"]:
            yield f"  Look: the quote holds this already: {one}. Charge on what goes beyond it alone"

    done = add_cost(
        studio_folder(studio, reason), job, kind, sum_, day(on), what=what, supplier=supplier, currency=currency,
        rate=rate, rate_source=rate_source, tax=tax, tax_rate=tax_rate, receipt=receipt, to_client=to_client,
        agreed=agreed,
    )  # fmt: skip
    show(done, as_json, text)


@app.command()
def reverse(
    cost: Annotated[int, typer.Argument(metavar="COST", help="Its number in the list.")],
    reason: Annotated[str, typer.Option("--reason", help="Why it is taken back; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take a cost recorded wrongly back, with its tax and with what the client is charged for it."""
    from bizkit.services.shooting.cost_reversal import reverse_cost

    def text(data: CostReversed) -> Iterator[str]:
        sum_ = amount(data["amount"], data["currency"])
        yield f"Cost {data['reverses']} is taken back by cost {data['number']}: {data['what']}, {sum_}"
        if Decimal(data["given_back"]):
            back = amount(data["given_back"], data["job_currency"])
            yield f"  The client was billed for it: {back} net is given back. Bill that with: {_BILL} {data['job']}"

    show(reverse_cost(studio_folder(studio, reason), cost, day(on), reason=reason), as_json, text)


#: What brings open charges to the client.
_BILL = "bizkit invoice settle"


def _what_became(row: CostRow) -> str:
    if row["reverses"]:
        return f"takes {row['reverses']} back"
    if row["reversed_by"]:
        return f"taken back by {row['reversed_by']}"
    return "charged on" if row["charged_on"] else ""


@app.command()
def receipt(
    cost: Annotated[int, typer.Argument(metavar="COST", help="Its number in the list.")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The receipt: PDF, PNG or JPEG.")],
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File the receipt of a cost that is recorded already."""
    from bizkit.services.shooting.late_receipts import file_receipt

    show(file_receipt(studio_folder(studio, reason), "cost", cost, file, day(on)), as_json, receipt_filed)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every cost with its receipt, and whether the client is charged for it."""
    from bizkit.services.shooting.costs import list_costs

    def text(rows: list[CostRow]) -> Iterator[str]:
        if not rows:
            yield "No costs yet. Record one with: bizkit cost add JOB"
            return
        head = ["NO", "JOB", "DATE", "KIND", "WHAT", "AMOUNT", "TAX IN IT", "RECEIPT", ""]
        body = [
            [
                str(row["number"]),
                row["job"],
                row["on"],
                row["kind"],
                shorten(row["what"], 32),
                amount(row["amount"], row["currency"]),
                row["tax"] if Decimal(row["tax"]) else "",
                row["receipt"][:12] or "none",
                _what_became(row),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[0, 5, 6])

    show(list_costs(studio_folder(studio), job), as_json, text)
