"""`bizkit invoice`: issue what is due, credit it, export it, record what is paid."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.einvoice import claims
from bizkit.cli.invoice_options import (
    AddTaxOption,
    AgreedOption,
    DoneBeforeOption,
    FeeTaxOption,
    HomeRateOption,
    HomeRateSourceOption,
    issued_text,
)
from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    day_of,
    said_twice,
    shorten,
    show,
    studio_folder,
    table,
)
from bizkit.domain.errors import BadInput
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.billing.bill_made import BillMade
    from bizkit.services.billing.credit_notes import CreditMade, CreditNoteRow
    from bizkit.services.billing.einvoices import Exported
    from bizkit.services.billing.invoices import InvoiceRow
    from bizkit.services.billing.payment_rows import Paid
    from bizkit.services.billing.pro_forma import ProForma
    from bizkit.services.billing.settling import Settled

app = typer.Typer(
    help="Issue what is due, credit it, export it, record payments.", no_args_is_help=True, add_completion=False
)

NumberArgument = Annotated[str, typer.Argument(metavar="INVOICE", help="The invoice's number.")]
JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]


@app.command()
def issue(
    job: JobArgument,
    stage: Annotated[
        int | None, typer.Option("--stage", help="Which stage; without it the next that is due.")
    ] = None,
    charges: Annotated[
        bool, typer.Option("--charges", help="Instead of a stage, everything in bizkit charge list that is open.")
    ] = False,
    final: Annotated[
        bool, typer.Option("--final", help="Instead of a stage, everything that is left, less earlier invoices.")
    ] = False,
    reason: ReasonOption = "",
    home_rate: HomeRateOption = "",
    home_rate_source: HomeRateSourceOption = "",
    simplified: Annotated[
        bool, typer.Option("--simplified", help="A simplified invoice, where the law allows one.")
    ] = False,
    tax: Annotated[
        str, typer.Option("--tax", help="standard, reduced, zero or exempt, for a client at home.")
    ] = "standard",
    tax_note: Annotated[str, typer.Option("--tax-note", help="Why it is exempt; printed.")] = "",
    add_tax: AddTaxOption = False,
    done_before: DoneBeforeOption = False,
    agreed: AgreedOption = "",
    fee_tax: FeeTaxOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Issue the invoice of a stage: number, document and PDF. Before the stage is due, --reason says why."""
    from bizkit.services.billing.charge_invoice import issue_charges
    from bizkit.services.billing.final_invoice import issue_final
    from bizkit.services.billing.invoices import issue_invoice
    from bizkit.services.billing.issuing import Asked

    if (stage is not None) + charges + final > 1:
        got = "both" if (stage is not None) + charges + final == 2 else "all"
        raise BadInput(wanted="either --stage or --charges or --final", got=got, field="--charges")
    asked = Asked(
        reason, home_rate, home_rate_source, simplified, tax, tax_note, add_tax, agreed, done_before, fee_tax
    )
    folder = studio_folder(studio, reason)
    done: BillMade
    if charges:
        done = issue_charges(folder, job, day(on), asked=asked)
    elif final:
        done = issue_final(folder, job, day(on), asked=asked)
    else:
        done = issue_invoice(folder, job, day(on), stage=stage, asked=asked)
    show(done, as_json, issued_text)


@app.command()
def deposit(
    job: JobArgument,
    sum_: Annotated[str, typer.Argument(metavar="AMOUNT", help="What came in; the tax is inside it.")],
    received: Annotated[str, typer.Option("--received", metavar="YYYY-MM-DD", help="The day it came in.")],
    reference: Annotated[str, typer.Option("--reference", help="As on the bank statement.")] = "",
    reason: ReasonOption = "",
    home_rate: HomeRateOption = "",
    home_rate_source: HomeRateSourceOption = "",
    add_tax: AddTaxOption = False,
    done_before: DoneBeforeOption = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Invoice a deposit that came in before any invoice: it makes a tax point on the day it came."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.billing.deposits import invoice_deposit
    from bizkit.services.billing.issuing import Asked

    folder, received_on = studio_folder(studio, reason), iso_date(received, field="--received")
    done = invoice_deposit(
        folder,
        job,
        sum_,
        day_of(folder, on, received_on),
        received_on=received_on,
        reference=reference,
        asked=Asked(reason, home_rate, home_rate_source, add_tax=add_tax, done_before=done_before),
    )
    show(done, as_json, issued_text)


@app.command()
def proforma(
    job: JobArgument,
    stage: Annotated[int | None, typer.Option("--stage", help="Which stage; without it the next open one.")] = None,
    add_tax: AddTaxOption = False,
    done_before: DoneBeforeOption = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write a pro forma: what a stage will come to, to be paid in advance. It takes no number and is no invoice."""
    from bizkit.services.billing.issuing import Asked
    from bizkit.services.billing.pro_forma import write_pro_forma

    def text(data: ProForma) -> Iterator[str]:
        yield f"{data['number']}: {data['stage']}, {amount(data['gross'], data['currency'])}; no tax invoice"
        yield f"Paper: {data['file']}"
        yield from (f"Look: {one}" for one in data["warnings"])

    done = write_pro_forma(
        studio_folder(studio, reason),
        job,
        day(on),
        stage=stage,
        asked=Asked(reason, add_tax=add_tax, done_before=done_before),
    )
    show(done, as_json, text)


@app.command()
def credit(
    invoice: NumberArgument,
    reason: Annotated[str, typer.Option("--reason", help="Why; printed on the credit note.")],
    sum_: Annotated[
        str, typer.Option("--amount", metavar="AMOUNT", help="Net; without it and --line, all that is left.")
    ] = "",
    lines: Annotated[
        list[str] | None, typer.Option("--line", metavar="N[=AMOUNT]", help="A line of the invoice; can be repeated.")
    ] = None,
    lower_price: Annotated[
        bool, typer.Option("--lower-price", help="A lower price was agreed: it is not to be invoiced again.")
    ] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Credit an invoice, whole or in part, with a credit note of its own series. Never beyond what it came to."""
    from bizkit.services.billing.credit_notes import credit_invoice

    def text(data: CreditMade) -> Iterator[str]:
        currency = data["currency"]
        yield f"{data['number']}: {amount(data['gross'], currency)} credited on {data['credits']}: {data['reason']}"
        yield f"{data['credits']}: {amount(data['balance'], currency)} left ({data['state']})"
        if data["open_again"]:
            yield "What it billed is open to be invoiced again."
        if data["state"] == "overpaid":
            yield f"Pay it back, then: bizkit payment refund {data['credits']}"
        yield f"Paper: {data['file']}"

    done = credit_invoice(
        studio_folder(studio, reason),
        invoice,
        day(on),
        reason=reason,
        amount=sum_,
        lines=lines or [],
        lower_price=lower_price,
    )
    show(done, as_json, text)


@app.command()
def settle(
    job: JobArgument,
    reason: Annotated[
        str, typer.Option("--reason", help="Why, printed on a credit note; without it the cancellation says so.")
    ] = "",
    home_rate: HomeRateOption = "",
    home_rate_source: HomeRateSourceOption = "",
    add_tax: AddTaxOption = False,
    done_before: DoneBeforeOption = False,
    agreed: AgreedOption = "",
    fee_tax: FeeTaxOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Invoice every open charge, or credit what they give back; a cancelled job less what was invoiced before."""
    from bizkit.services.billing.issuing import Asked
    from bizkit.services.billing.settling import settle_job

    def text(data: Settled) -> Iterator[str]:
        currency = data["currency"]
        if data["invoice"]:
            yield from issued_text(data["invoice"])
        for note in data["credit_notes"]:
            gross = amount(note["gross"], currency)
            yield f"{note['number']}: {gross} credited on {note['credits']}: {note['reason']}"
            yield f"{note['credits']}: {amount(note['balance'], currency)} left ({note['state']})"
            if note["to_refund"] != "0.00":
                yield f"Pay it back, then: bizkit payment refund {note['credits']}"
            yield f"Paper: {note['file']}"
        yield f"Left to invoice: {amount(data['left_to_invoice'], currency)}"

    asked = Asked(
        reason, home_rate, home_rate_source, add_tax=add_tax, agreed=agreed, done_before=done_before, fee_tax=fee_tax
    )
    show(settle_job(studio_folder(studio, reason), job, day(on), reason=reason, asked=asked), as_json, text)


@app.command()
def export(
    invoice: Annotated[str, typer.Argument(metavar="INVOICE", help="Number of an invoice or credit note.")],
    format_: Annotated[
        str, typer.Option("--format", help="cii or ubl (EN 16931 XML), or hybrid (PDF with XML inside).")
    ],
    out: Annotated[Path | None, typer.Option("--out", help="The file; without it beside the issued PDF.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write an issued invoice or credit note as an electronic one."""
    from bizkit.services.billing.einvoices import export_invoice

    def text(data: Exported) -> Iterator[str]:
        yield f"{data['number']} as {data['format']}: {data['file']}"
        yield from claims(data)

    show(export_invoice(studio_folder(studio), invoice, format_, out), as_json, text)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    credits: Annotated[bool, typer.Option("--credits", help="The credit notes instead.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every invoice with what is paid and what is left."""
    from bizkit.services.billing.credit_notes import list_credit_notes
    from bizkit.services.billing.invoices import list_invoices

    def notes(rows: list[CreditNoteRow]) -> Iterator[str]:
        head = ["CREDIT NOTE", "JOB", "FOR", "ISSUED", "TOTAL", "WHY"]
        body = [
            [
                row["number"],
                row["job"],
                row["credits"],
                row["issued_on"],
                amount(row["gross"], row["currency"]),
                shorten(row["reason"], 48),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[4]) if rows else ["No credit notes yet."]

    if credits:
        show(list_credit_notes(studio_folder(studio), job), as_json, notes)
        return

    def text(rows: list[InvoiceRow]) -> Iterator[str]:
        if not rows:
            yield "No invoices yet. Issue one with: bizkit invoice issue JOB"
            return
        credited = any(Decimal(row["credited"]) for row in rows)
        head = ["INVOICE", "JOB", "STAGE", "ISSUED", "TO PAY BY", "TOTAL", *["CREDITED"] * credited, "LEFT", "STATE"]
        body = [
            [
                row["number"],
                row["job"],
                shorten(row["stage"], 28),
                row["issued_on"],
                row["due_on"],
                amount(row["gross"], row["currency"]),
                *[amount(row["credited"], row["currency"]) if Decimal(row["credited"]) else ""] * credited,
                amount(row["balance"], row["currency"]),
                row["state"] + (f", {many(row['days_late'], 'day')} late" if row["days_late"] else ""),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[5, 6, 7] if credited else [5, 6])
        if credited:
            yield "The credit notes: bizkit invoice list --credits"

    show(list_invoices(studio_folder(studio), day(on), job), as_json, text)


@app.command("show")
def show_(
    invoice: NumberArgument, on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False
) -> None:
    """One invoice whole: lines, tax, payments, what is left; or one credit note."""
    from bizkit.services.billing.invoices import show_invoice

    def text(data: dict[str, Any]) -> Iterator[str]:
        document, currency = data["document"], data["currency"]
        credit = data["kind"] == "credit_note"
        stands = f"credit note of {data['credits']}: {data['reason']}" if credit else data["state"]
        yield f"{data['number']} to {document['client']['name']}: {stands}"
        deposit = document.get("deposit")
        until = "" if credit or deposit else f", to pay by {data['due_on']}"
        yield f"Issued {data['issued_on']}{until}. Paper: {data['file']}"
        yield ""
        lines = [[line["item"], f"{line['quantity']} {line['unit']}", line["amount"]] for line in document["lines"]]
        yield from table(lines, right=[2], indent=2)
        yield ""
        sums = [["Net", document["net"]]]
        for tax in document["taxes"]:
            label = f"{tax['name']} {tax['rate']} %" if tax["category"] == "S" else tax["note"] or tax["name"]
            sums.append([label, tax["amount"]])
        sums.append(["Total credited" if credit else "Total", document["gross"]])
        if Decimal(document["prepaid"]):
            sums.append(["Received before", document["prepaid"]])
        if not credit:
            sums += [[f"Credited {one['issued_on']} {one['number']}", one["gross"]] for one in data["credit_notes"]]
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
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record money received: all that is left, or a part. Money paid back: bizkit payment refund."""
    from bizkit.services.billing.payments import record_payment

    def text(data: Paid) -> Iterator[str]:
        yield (
            f"{data['number']}: {amount(data['received'], data['currency'])} recorded, "
            f"{amount(data['balance'], data['currency'])} left ({data['state']})"
        )
        yield from said_twice(data, data["number"], data["received"])

    done = record_payment(
        studio_folder(studio, reason),
        invoice,
        day(on),
        amount=sum_,
        currency=currency,
        reference=reference,
        accept_over=accept_over,
    )
    show(done, as_json, text)
