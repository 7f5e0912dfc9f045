"""`bizkit invoice`: issue what is due, record what is paid."""

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
from bizkit.domain.errors import BadInput

app = typer.Typer(help="Issue the stage that is due, record payments.", no_args_is_help=True, add_completion=False)

NumberArgument = Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice's number.")]


@app.command()
def issue(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    stage: Annotated[
        int | None, typer.Option("--stage", help="Which stage; without it the next that is due.")
    ] = None,
    charges: Annotated[
        bool, typer.Option("--charges", help="Instead of a stage, everything in bizkit charge list that is open.")
    ] = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Issue the invoice of a stage: number, document and PDF. Before the stage is due, --reason says why."""
    from bizkit.services.charge_invoice import issue_charges
    from bizkit.services.invoices import issue_invoice

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield (
            f"{data['number']}: {data['stage']}, {amount(data['gross'], data['currency'])} with tax, "
            f"to pay by {data['due_on']}"
        )
        yield f"Paper: {data['file']}"

    if charges:
        if stage is not None:
            raise BadInput(wanted="either --stage or --charges", got="both", field="--charges")
        show(issue_charges(studio_folder(studio), job, day(on)), as_json, text)
        return
    show(issue_invoice(studio_folder(studio), job, day(on), stage=stage, reason=reason), as_json, text)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every invoice with what is paid and what is left."""
    from bizkit.services.invoices import list_invoices

    def text(rows: list[dict[str, Any]]) -> Iterator[str]:
        if not rows:
            yield "No invoices yet. Issue one with: bizkit invoice issue JOB"
            return
        head = ["INVOICE", "JOB", "STAGE", "ISSUED", "TO PAY BY", "TOTAL", "LEFT", "STATE"]
        body = [
            [
                row["number"],
                row["job"],
                shorten(row["stage"], 28),
                row["issued_on"],
                row["due_on"],
                amount(row["gross"], row["currency"]),
                amount(row["balance"], row["currency"]),
                row["state"] + (f", {row['days_late']} days late" if row["days_late"] else ""),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[5, 6])

    show(list_invoices(studio_folder(studio), day(on), job), as_json, text)


@app.command("show")
def show_(
    invoice: NumberArgument, on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False
) -> None:
    """One invoice whole: lines, tax, payments, what is left."""
    from bizkit.services.invoices import show_invoice

    def text(data: dict[str, Any]) -> Iterator[str]:
        document, currency = data["document"], data["currency"]
        yield f"{data['number']} to {document['client']['name']}: {data['state']}"
        yield f"Issued {data['issued_on']}, to pay by {data['due_on']}. Paper: {data['file']}"
        yield ""
        lines = [[line["item"], f"{line['quantity']} {line['unit']}", line["amount"]] for line in document["lines"]]
        yield from table(lines, right=[2], indent=2)
        yield ""
        sums = [["Net", document["net"]]]
        for tax in document["taxes"]:
            label = f"{tax['name']} {tax['rate']} %" if tax["category"] == "S" else tax["note"] or tax["name"]
            sums.append([label, tax["amount"]])
        sums.append(["Total", document["gross"]])
        sums += [[f"Paid {one['on']} {one['reference']}".rstrip(), one["amount"]] for one in data["payments"]]
        sums.append(["Left", data["balance"]])
        yield from table([[label, amount(text, currency)] for label, text in sums], right=[1], indent=2)

    show(show_invoice(studio_folder(studio), invoice, day(on)), as_json, text)


@app.command()
def paid(
    invoice: NumberArgument,
    sum_: Annotated[
        str | None, typer.Argument(metavar="[AMOUNT]", help="What came in; without it all that is left.")
    ] = None,
    currency: Annotated[str, typer.Option("--currency", help="Of the amount; the invoice's own without it.")] = "",
    reference: Annotated[str, typer.Option("--reference", help="As on the bank statement.")] = "",
    accept_over: Annotated[bool, typer.Option("--accept-over", help="Take more than is left.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record money received: all that is left, or a part. A negative amount is a refund."""
    from bizkit.services.invoices import record_payment

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield (
            f"{data['number']}: {amount(data['received'], data['currency'])} recorded, "
            f"{amount(data['balance'], data['currency'])} left ({data['state']})"
        )

    done = record_payment(
        studio_folder(studio),
        invoice,
        day(on),
        amount=sum_,
        currency=currency,
        reference=reference,
        accept_over=accept_over,
    )
    show(done, as_json, text)
