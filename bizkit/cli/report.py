"""`bizkit report`: the business in figures, as table, JSON, CSV or a page with a chart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.progress import progress_bar
from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, shorten, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.reports.bundle import Bundled


app = typer.Typer(
    help="The business in figures: a table, --json, --csv FILE or --pdf FILE with a chart.",
    no_args_is_help=True,
    add_completion=False,
)

CsvOption = Annotated[Path | None, typer.Option("--csv", help="Write the table there, safe for spreadsheets.")]
PdfOption = Annotated[Path | None, typer.Option("--pdf", help="Write a page with a chart there.")]
FromOption = Annotated[str | None, typer.Option("--from", metavar="YYYY-MM-DD", help="First day.")]
ToOption = Annotated[str | None, typer.Option("--to", metavar="YYYY-MM-DD", help="Last day, included.")]


def _out(studio: Path | None, data: dict[str, Any], csv: Path | None, pdf: Path | None, as_json: bool) -> None:
    """Write the files asked for, and print the report."""
    from bizkit.services.reports.shape import write_report

    written = write_report(studio_folder(studio), data, csv=csv, pdf=pdf)
    data = {**data, "files": written}
    show(data, as_json, _text)


def _text(data: dict[str, Any]) -> Iterator[str]:
    for one in data["figures"]:
        value = amount(one["value"], data["currency"]) if one["kind"] == "money" else one["value"]
        yield f"{one['key'].replace('_', ' ')}: {value}"
    if data["figures"]:
        yield ""
    columns = data["columns"]
    if not data["rows"]:
        yield "Nothing to report."
    else:
        head = [column["key"].replace("_", " ").upper() for column in columns]
        body = [[_cell(row.get(column["key"], "")) for column in columns] for row in data["rows"]]
        if data["totals"]:
            body.append([_cell(data["totals"].get(column["key"], "")) for column in columns])
        flush = [place for place, column in enumerate(columns) if column["kind"] not in ("text", "date")]
        yield from table([head, *body], right=flush)
    if "boxes" in data:
        yield from _return(data)
    if data["tax"]:
        yield ""
        yield "From the studio's own records; no tax advice."
    for name in data["files"]:
        yield f"Written: {name}"


def _return(data: dict[str, Any]) -> Iterator[str]:
    """What the tax of a period rests on, the boxes of its return, and what the statement of services lists."""
    yield ""
    named = "" if data["why"].startswith(data["accounting"]) else f", {data['accounting']}"
    yield f"{data['first']} to {data['last']}{named}: {data['why']}"
    boxes = "; ".join(f"{box}: {value}" for box, value in data["boxes"].items())
    if data["country"] == "DE" and boxes:
        yield f"Kennzahlen of the Umsatzsteuer-Voranmeldung: {boxes}"
        yield "Whole euros without cents; 83 by the tax on them. Purchases under reverse charge are not in the book."
    elif boxes:
        yield f"Boxes of the return: {boxes}"
    if data["union_services"]:
        yield "Services to businesses in the European Union, for the recapitulative statement:"
        for one in data["union_services"]:
            number = one["tax_number"] or "no VAT number known: it cannot be stated without"
            yield f"  {one['client']}, {number}: {amount(one['base'], data['currency'])}"


def _cell(value: object) -> str:
    return shorten("" if value is None else str(value), 48)


def _period(first: str | None, last: str | None) -> Any:
    from bizkit.domain.dates import iso_date
    from bizkit.services.reports.money import check_period

    return check_period(
        iso_date(first, field="--from") if first else None, iso_date(last, field="--to") if last else None
    )


@app.command()
def debtors(
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """What each client owes, by how late it is."""
    from bizkit.services.reports.money import debtors as report

    _out(studio, report(studio_folder(studio), day(on)), csv, pdf, as_json)


@app.command()
def cash(
    weeks: Annotated[int, typer.Option("--weeks", help="How many weeks ahead.")] = 13,
    opening: Annotated[str, typer.Option("--opening", metavar="AMOUNT", help="What is on the account now.")] = "0",
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Money expected in and out, week by week."""
    from bizkit.services.reports.money import cash as report

    _out(studio, report(studio_folder(studio), day(on), weeks=weeks, opening=opening), csv, pdf, as_json)


@app.command()
def margin(
    by: Annotated[str, typer.Option("--by", help="job or client.")] = "job",
    first: FromOption = None,
    last: ToOption = None,
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """What each job or client brought: invoiced less costs."""
    from bizkit.services.reports.money import margin as report

    _out(studio, report(studio_folder(studio), day(on), by=by, period=_period(first, last)), csv, pdf, as_json)


@app.command()
def days(
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Shoot days of each job: quoted, planned by now, worked, moved."""
    from bizkit.services.reports.money import days as report

    _out(studio, report(studio_folder(studio), day(on)), csv, pdf, as_json)


@app.command()
def income(
    first: FromOption = None,
    last: ToOption = None,
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Income by kind: crew, kit, licence, post... The tax year so far without --from and --to."""
    from bizkit.services.reports.tax import income as report

    _out(studio, report(studio_folder(studio), day(on), _period(first, last)), csv, pdf, as_json)


@app.command()
def tax(
    first: FromOption = None,
    last: ToOption = None,
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The tax of a period by your scheme, and the boxes of the return. The quarter up to --on without a period."""
    from bizkit.services.reports.tax import tax as report

    today = day(on)
    period = _period(first, last) or _quarter(today)
    _out(studio, report(studio_folder(studio), today, period), csv, pdf, as_json)


def _quarter(today: date) -> Any:
    """The calendar quarter of a day."""
    from dateutil.relativedelta import relativedelta

    from bizkit.domain.billing.records import Period

    start = date(today.year, 3 * ((today.month - 1) // 3) + 1, 1)
    return Period(start, start + relativedelta(months=3, days=-1))


@app.command()
def quarter(
    starts: Annotated[
        str | None, typer.Option("--starts", metavar="YYYY-MM-DD", help="First day of the tax year.")
    ] = None,
    basis: Annotated[str, typer.Option("--basis", help="cash (by payment) or invoice (by issue).")] = "cash",
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Income and costs of each quarter of the tax year, and the year to date."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.reports.tax import quarter as report

    start = iso_date(starts, field="--starts") if starts else None
    _out(studio, report(studio_folder(studio), day(on), starts=start, basis=basis), csv, pdf, as_json)


@app.command()
def mileage(
    first: FromOption = None,
    last: ToOption = None,
    csv: CsvOption = None,
    pdf: PdfOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The mileage log with its amounts. The tax year so far without --from and --to."""
    from bizkit.services.reports.tax import mileage as report

    _out(studio, report(studio_folder(studio), day(on), _period(first, last)), csv, pdf, as_json)


@app.command()
def bundle(
    first: Annotated[str, typer.Option("--from", metavar="YYYY-MM-DD", help="First day.")],
    last: Annotated[str, typer.Option("--to", metavar="YYYY-MM-DD", help="Last day, included.")],
    out: Annotated[Path, typer.Option("--out", help="The zip file.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Everything an accountant asks for, in one zip: papers, tables, an index that adds up."""
    from bizkit.services.reports.bundle import write_bundle

    def text(data: Bundled) -> Iterator[str]:
        yield f"{data['file']}: {many(data['files'], 'file')}, {data['first']} to {data['last']}"
        yield from table(
            [[one["table"], one["column"], one["rows"], amount(one["sum"], one["currency"])] for one in data["sums"]],
            right=[2, 3],
            indent=2,
        )

    with progress_bar("Checking papers") as progress:
        done = write_bundle(studio_folder(studio), _period(first, last), day(on), out, progress=progress)
    show(done, as_json, text)
