"""`bizkit late`: invoices past their day, what it costs, reminders."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.invoice_options import AgreedOption, HomeRateOption, HomeRateSourceOption, issued_text
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
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.billing.late_rows import LateShown, Paused, Reminded

app = typer.Typer(
    help="Invoices past their due date: what it costs, reminders.", no_args_is_help=True, add_completion=False
)


@app.command("list")
def list_(
    paid: Annotated[
        bool, typer.Option("--paid", help="Those paid in the end, but late, of which interest can still be billed.")
    ] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Everything that is late, with interest and compensation by now, and the next reminder."""
    from bizkit.services.billing.late import list_late

    def text(data: LateShown) -> Iterator[str]:
        if not data["late"]:
            yield "Nothing was paid late of which interest can still be billed." if paid else "Nothing is late."
            return
        head = ["INVOICE", "CLIENT", "DUE", "LATE", "LEFT", "INTEREST", "COMPENSATION", "NEXT REMINDER"]
        body = [
            [
                row["number"],
                shorten(row["client_name"], 28),
                row["due_on"],
                f"{many(row['days_late'], 'day')}",
                amount(row["left"], row["currency"]),
                "-" if row["problem"] else row["interest"],
                "-" if row["problem"] else row["compensation"],
                f"{row['next']} {'now' if row['due_now'] else 'from ' + row['next_on']}"
                if row["next"]
                else "all sent",
            ][: 7 if paid else None]
            for row in data["late"]
        ]
        yield from table([head[: 7 if paid else None], *body], right=[3, 4, 5, 6])
        if paid:
            yield "Bill it with: bizkit late charge INVOICE"
        for row in data["late"]:
            if row["problem"]:
                yield f"{row['number']}: interest is not worked out: {row['problem']}"

    show(list_late(studio_folder(studio), day(on), paid=paid), as_json, text)


@app.command()
def charge(
    invoice: Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice that was paid late, or is not yet.")],
    reason: ReasonOption = "",
    home_rate: HomeRateOption = "",
    home_rate_source: HomeRateSourceOption = "",
    agreed: AgreedOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Invoice interest and compensation for late payment, so that they can be paid; no tax is charged on them."""
    from bizkit.services.billing.issuing import Asked
    from bizkit.services.billing.late_charge import charge_lateness

    asked = Asked(reason, home_rate, home_rate_source, agreed=agreed)
    show(charge_lateness(studio_folder(studio, reason), invoice, day(on), asked=asked), as_json, issued_text)


@app.command()
def pause(
    invoice: Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice's number.")],
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day without a reminder.")],
    reason: Annotated[str, typer.Option("--reason", help="A dispute, a promise to pay; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Send no reminder of an invoice up to a day."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.billing.late import pause as rest

    def text(data: Paused) -> Iterator[str]:
        yield f"{data['number']}: no reminder up to {data['until']}: {data['reason']}"

    last = iso_date(until, field="--until")
    show(rest(studio_folder(studio, reason), invoice, day(on), until=last, reason=reason), as_json, text)


@app.command()
def remind(
    invoice: Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice's number.")],
    step: Annotated[str, typer.Option("--step", help="Another step than the ladder's next.")] = "",
    pay_by: Annotated[
        str | None, typer.Option("--pay-by", metavar="YYYY-MM-DD", help="Without it, seven working days.")
    ] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the next reminder of an invoice: PDF and mail text, with interest and its working where the step says."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.billing.late import remind as write_reminder

    def text(data: Reminded) -> Iterator[str]:
        currency = data["currency"]
        yield f"{data['number']}, {data['step']} reminder: {amount(data['total'], currency)} by {data['pay_by']}"
        if Decimal(data["interest"]) or Decimal(data["compensation"]):
            yield (
                f"  {amount(data['left'], currency)} left, {data['interest']} interest, "
                f"{data['compensation']} compensation"
            )
        for line in data["working"]:
            yield f"  {line}"
        if data["licence_suspended"]:
            yield "  The licence rests until it is paid."
        if data["others"]:
            late = f"Look: {', '.join(data['others'])} of this client is late too"
            yield f"{late}: the letter names it, its sum is of {data['number']} alone"
        yield f"Paper: {data['file']}"
        yield f"Mail: bizkit send {data['name']}"
        yield ""
        yield f"Subject: {data['subject']}"
        yield ""
        yield from data["text"].splitlines()

    last = iso_date(pay_by, field="--pay-by") if pay_by else None
    show(write_reminder(studio_folder(studio, reason), invoice, day(on), step=step, pay_by=last), as_json, text)
