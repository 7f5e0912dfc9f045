"""`bizkit payment`: money that came in or went back."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
    OwedAgainOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    said_twice,
    shorten,
    show,
    studio_folder,
    table,
)

if TYPE_CHECKING:
    from bizkit.services.billing.payment_rows import PaymentRow, SumBooked
    from bizkit.services.billing.statements import ReceiptWritten
    from bizkit.services.billing.transfers import SetOff

app = typer.Typer(
    help="Money that came in for one invoice or several, or went back.", no_args_is_help=True, add_completion=False
)


@app.command()
def add(
    sum_: Annotated[str, typer.Argument(metavar="AMOUNT", help="What the client's debt goes down by.")],
    client: Annotated[str, typer.Option("--client", help="All it has open, the longest due first.")] = "",
    invoices: Annotated[
        list[str] | None, typer.Option("--invoice", metavar="NUMBER[=AMOUNT]", help="What it pays; repeatable.")
    ] = None,
    currency: Annotated[
        str, typer.Option("--currency", help="Of the amount, where the client owes in several.")
    ] = "",
    fee: Annotated[str, typer.Option("--fee", metavar="AMOUNT", help="What a bank kept of it on the way.")] = "",
    account: Annotated[
        str, typer.Option("--account", metavar="AMOUNT", help="What reached the account, where in other money.")
    ] = "",
    account_currency: Annotated[str, typer.Option("--account-currency", help="Of --account; the studio's own.")] = "",
    reference: Annotated[str, typer.Option("--reference", help="As on the bank statement.")] = "",
    accept_over: Annotated[bool, typer.Option("--accept-over", help="Take more than is left.")] = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record one sum that pays several invoices at once."""
    from bizkit.services.billing.payments import receive

    done = receive(
        studio_folder(studio, reason),
        day(on),
        amount=sum_,
        client=client,
        invoices=invoices or [],
        currency=currency,
        fee=fee,
        account=account,
        account_currency=account_currency,
        reference=reference,
        accept_over=accept_over,
    )
    show(done, as_json, _sum)


@app.command()
def refund(
    invoice: Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice's number.")],
    sum_: Annotated[
        str | None, typer.Argument(metavar="[AMOUNT]", help="What was paid back; without it all that was overpaid.")
    ] = None,
    reference: Annotated[str, typer.Option("--reference", help="As on the bank statement.")] = "",
    owed_again: OwedAgainOption = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record money paid back to the client."""
    from bizkit.services.billing.payments import refund as pay_back

    folder = studio_folder(studio, reason)
    done = pay_back(folder, invoice, day(on), amount=sum_, reference=reference, owed_again=owed_again)
    show(done, as_json, _sum)


@app.command()
def transfer(
    source: Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice on which money is over.")],
    target: Annotated[str, typer.Argument(metavar="NEW", help="The invoice that it is set against.")],
    sum_: Annotated[
        str | None, typer.Argument(metavar="[AMOUNT]", help="How much; without it all that is over, or left of NEW.")
    ] = None,
    reference: Annotated[str, typer.Option("--reference", help="As agreed with the client.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Set money that is over on an invoice against another of the same client; the other way round takes it back."""
    from bizkit.services.billing.transfers import transfer as set_off

    def text(data: SetOff) -> Iterator[str]:
        sum_of = amount(data["amount"], data["currency"])
        back = "set back" if data["taken_back"] else "set"
        yield f"Payment {data['id']} of {data['on']}: {sum_of} {back} against {data['target']} from {data['source']}"
        for part in data["invoices"]:
            yield f"  {part['number']}: {amount(part['balance'], data['currency'])} left ({part['state']})"

    folder = studio_folder(studio, reason)
    show(set_off(folder, source, target, day(on), amount=sum_, reference=reference), as_json, text)


@app.command("list")
def list_(
    client: Annotated[str, typer.Option("--client", help="One client's.")] = "",
    invoice: Annotated[str, typer.Option("--invoice", help="Those for one invoice.")] = "",
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every sum that came in or went back, and what it paid."""
    from bizkit.services.billing.payments import list_payments

    def text(rows: list[PaymentRow]) -> Iterator[str]:
        if not rows:
            yield "No payments yet."
            return
        head = ["NO", "DATE", "CLIENT", "AMOUNT", "FOR", "REFERENCE"]
        body = [
            [
                str(row["id"] or "deposit"),
                row["on"],
                row["client"],
                amount(row["amount"], row["currency"]),
                ", ".join(part["number"] for part in row["parts"]),
                shorten(row["reference"], 40),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[0, 3])

    show(list_payments(studio_folder(studio), client=client, invoice=invoice), as_json, text)


@app.command()
def receipt(
    payment: Annotated[
        str, typer.Argument(metavar="PAYMENT", help="Its number in bizkit payment list; of a deposit, its invoice.")
    ],
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the receipt of a sum that came in, as PDF."""
    from bizkit.services.billing.statements import write_receipt

    def text(data: ReceiptWritten) -> Iterator[str]:
        yield f"{data['name']}: {amount(data['amount'], data['currency'])} received"
        if Decimal(data["to_pay_back"]):
            yield f"To be paid back: {amount(data['to_pay_back'], data['currency'])}"
        yield f"Paper: {data['file']}"

    show(write_receipt(studio_folder(studio, reason), payment, day(on)), as_json, text)


def _sum(data: SumBooked) -> Iterator[str]:
    currency = data["currency"]
    yield f"Payment {data['id']} of {data['on']}: {amount(data['amount'], currency)}"
    for part in data["parts"]:
        difference = part["exchange_difference"]
        more = f", {difference} by the exchange rate" if difference and Decimal(difference) else ""
        yield (
            f"  {part['number']}: {amount(part['amount'], currency)}, "
            f"{amount(part['balance'], currency)} left ({part['state']}){more}"
        )
    if Decimal(data["fee"]):
        yield f"  The bank kept {amount(data['fee'], currency)}"
    yield from said_twice(data, data["parts"][0]["number"], data["parts"][0]["amount"])
