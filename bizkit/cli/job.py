"""`bizkit job`: jobs being carried out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import typer

from bizkit.cli.deliverable import deliverable_table
from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, shorten, show, studio_folder, table

app = typer.Typer(
    help="Jobs being carried out: what is done, what is missing.", no_args_is_help=True, add_completion=False
)


@app.command("list")
def list_(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every job with what is invoiced, owed and delivered."""
    from bizkit.services.overview import list_jobs

    def text(rows: list[dict[str, Any]]) -> Iterator[str]:
        if not rows:
            yield "No jobs yet: a job opens when a quote is accepted."
            return
        head = ["JOB", "TITLE", "NET", "INVOICED", "OWED", "APPROVED", ""]
        body = [
            [
                row["key"],
                shorten(row["title"], 32),
                amount(row["net"], row["currency"]),
                amount(row["invoiced"], row["currency"]),
                amount(row["owed"], row["currency"]),
                f"{row['approved']} of {row['deliverables']}",
                f"{row['late']} late" if row["late"] else "closed" if row["closed_on"] else "",
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[2, 3, 4])

    show(list_jobs(studio_folder(studio), day(on)), as_json, text)


@app.command("show")
def show_(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """One job whole: days, deliverables, stages, licence, papers on file and what is missing."""
    from bizkit.services.overview import show_job

    show(show_job(studio_folder(studio), job, day(on)), as_json, _whole)


def _whole(data: dict[str, Any]) -> Iterator[str]:
    currency = data["currency"]
    yield f"{data['key']}: {data['title']} for {data['client']}"
    yield (
        f"Quote {data['quote']['number']} revision {data['quote']['revision']}, accepted {data['opened_on']}, "
        f"{amount(data['net'], currency)} net"
    )
    yield ""
    yield "DAYS"
    yield from table(
        [[one["date"] or "open", one["kind"], one["place"], shorten(one["note"], 60)] for one in data["days"]],
        indent=2,
    )
    yield ""
    yield "DELIVERABLES"
    for line in deliverable_table(data["deliverables"]):
        yield f"  {line}"
    yield ""
    yield "STAGES"
    yield from table(
        [
            [one["title"], f"{one['percent']} %", amount(one["net"], currency), one["invoice"] or one["why"]]
            for one in data["stages"]
        ],
        right=[1, 2],
        indent=2,
    )
    if data["licence"]:
        yield ""
        yield "LICENCE"
        for sentence in data["licence"]["sentences"]:
            yield f"  {sentence}"
    if data["holdings"]:
        yield ""
        yield "PAPERS ON FILE"
        yield from table(
            [
                [one["kind"].replace("_", " "), one["subject"], one["status"], one["signed_on"], one["covers"]]
                for one in data["holdings"]
            ],
            indent=2,
        )
    yield ""
    yield "MISSING"
    for missing in data["missing"] or ["nothing"]:
        yield f"  {missing}"
