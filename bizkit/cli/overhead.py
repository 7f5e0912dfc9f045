"""`bizkit overhead`: costs of the business that belong to no job."""

from __future__ import annotations

from collections.abc import Iterator
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
    from bizkit.services.billing.overheads import OverheadAdded, OverheadRow
    from bizkit.services.shooting.cost_rows import InputTaxNoted


app = typer.Typer(
    help="Costs of the business that belong to no job, paid or expected.", no_args_is_help=True, add_completion=False
)

GoodsOption = Annotated[bool, typer.Option("--goods", help="Goods used up in the business (flat-rate scheme).")]
CapitalOption = Annotated[bool, typer.Option("--capital", help="A thing kept and used for years.")]


@app.command()
def add(
    what: Annotated[str, typer.Argument(metavar="WHAT", help="What it was for.")],
    sum_: Annotated[str, typer.Argument(metavar="AMOUNT", help="As on the bill, tax included.")],
    kind: Annotated[str, typer.Option("--kind", help="Your own word: insurance, software, kit...")] = "other",
    supplier: Annotated[str, typer.Option("--supplier", help="Who is paid.")] = "",
    tax: Annotated[str, typer.Option("--tax", metavar="AMOUNT", help="The tax inside it, as on the bill.")] = "",
    tax_rate: Annotated[str, typer.Option("--tax-rate", metavar="PERCENT", help="Or its percent.")] = "",
    pay_on: Annotated[
        str | None, typer.Option("--pay-on", metavar="YYYY-MM-DD", help="When it is paid; a coming day is expected.")
    ] = None,
    goods: GoodsOption = False,
    capital: CapitalOption = False,
    receipt: Annotated[Path | None, typer.Option("--receipt", help="The receipt: PDF, PNG or JPEG.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a cost of the business and file its receipt by checksum."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.billing.overheads import add_overhead

    def text(data: OverheadAdded) -> Iterator[str]:
        tax_part = f", of it {data['tax']} tax" if data["tax"] != "0.00" else ""
        yield f"Overhead {data['number']}: {data['what']}, {amount(data['gross'], data['currency'])}{tax_part}"
        if data["tax"] != data["reclaimed"]:
            yield f"  The tax in it stays a cost: {data['why_not']}"
        if data["file"]:
            yield f"  Receipt: {data['file']}"
        yield from same_paper(data["same_paper"])
        yield from tax_without_paper(data, f"bizkit overhead receipt {data['number']} FILE")
        yield from typed_twice(data, "overhead")

    done = add_overhead(
        studio_folder(studio, reason),
        what,
        sum_,
        day(on),
        kind=kind,
        supplier=supplier,
        tax=tax,
        tax_rate=tax_rate,
        pay_on=iso_date(pay_on, field="--pay-on") if pay_on else None,
        goods=goods,
        capital=capital,
        receipt=receipt,
    )
    show(done, as_json, text)


@app.command()
def receipt(
    overhead: Annotated[int, typer.Argument(metavar="OVERHEAD", help="Its number in the list.")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The receipt: PDF, PNG or JPEG.")],
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File the receipt of an overhead that is recorded already."""
    from bizkit.services.shooting.late_receipts import file_receipt

    show(file_receipt(studio_folder(studio, reason), "overhead", overhead, file, day(on)), as_json, receipt_filed)


@app.command("list")
def list_(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every cost of the business."""
    from bizkit.services.billing.overheads import list_overheads

    def text(rows: list[OverheadRow]) -> Iterator[str]:
        if not rows:
            yield "None yet."
            return
        head = ["NO", "DATE", "PAID", "KIND", "WHAT", "NET", "TAX", "RECEIPT"]
        body = [
            [
                str(row["number"]),
                row["on"],
                row["paid_on"],
                row["kind"],
                shorten(row["what"], 36),
                amount(row["net"], row["currency"]),
                row["tax"],
                row["receipt"][:12] or "none",
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[0, 5, 6])

    show(list_overheads(studio_folder(studio)), as_json, text)


@app.command("tax")
def tax_(
    cost: Annotated[int, typer.Argument(metavar="COST", help="Number of a job's cost, in bizkit cost list.")],
    sum_: Annotated[str, typer.Argument(metavar="AMOUNT", help="The tax inside it, as on the receipt.")],
    goods: GoodsOption = False,
    capital: CapitalOption = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Note the tax inside a job's cost, for the tax of the period; what was charged on of it follows."""
    from bizkit.services.shooting.costs import note_input_tax

    def text(data: InputTaxNoted) -> Iterator[str]:
        yield f"Cost {data['cost']}: {data['what']}, of it {amount(data['tax'], data['currency'])} tax"
        if data["tax"] != data["reclaimed"]:
            yield f"  The tax in it stays a cost: {data['why_not']}"
        yield from tax_without_paper(data, f"bizkit cost receipt {data['cost']} FILE")
        if data["charged"]:
            now = amount(data["charged"]["amount"], data["job_currency"])
            yield f"  Charged on: {now} ({data['charged']['why']})"
            if data["to_invoice"] != data["charged"]["amount"]:
                rest = amount(data["to_invoice"], data["job_currency"])
                yield f"  To invoice now: {rest}; the rest was billed or waived before"

    done = note_input_tax(studio_folder(studio, reason), cost, sum_, day(on), goods=goods, capital=capital)
    show(done, as_json, text)
