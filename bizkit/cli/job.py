"""`bizkit job`: jobs being carried out."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.deliverable import deliverable_table
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

if TYPE_CHECKING:
    from bizkit.services.billing.job_money import JobMoneyShown
    from bizkit.services.job.job_client import ClientTaken, OrderSaid
    from bizkit.services.overview.jobs import JobRow, JobShown

app = typer.Typer(
    help="Jobs being carried out: what is done, what is missing.", no_args_is_help=True, add_completion=False
)


@app.command("list")
def list_(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every job with what is invoiced, owed and delivered."""
    from bizkit.services.overview.jobs import list_jobs

    def text(rows: list[JobRow]) -> Iterator[str]:
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
                _state(row),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[2, 3, 4])

    show(list_jobs(studio_folder(studio), day(on)), as_json, text)


def _state(row: JobRow) -> str:
    if row["cancelled_on"]:
        return "cancelled"
    return f"{row['late']} late" if row["late"] else "closed" if row["closed_on"] else ""


@app.command("show")
def show_(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """One job whole: days, deliverables, stages, licence, papers on file and what is missing."""
    from bizkit.services.overview.jobs import show_job

    show(show_job(studio_folder(studio), job, day(on)), as_json, _whole)


@app.command()
def money(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Quoted, agreed changes, invoiced, credited, paid, left: it always adds up."""
    from bizkit.services.billing.job_money import show_job_money

    show(show_job_money(studio_folder(studio), job), as_json, _money)


def _money(data: JobMoneyShown) -> Iterator[str]:
    currency = data["currency"]

    def sums(*names: tuple[str, str]) -> list[list[str]]:
        return [[label, amount(sum_, currency)] for label, sum_ in names]

    yield f"{data['job']}: {data['title']}, quote {data['quote']}"
    yield ""
    yield "WITHOUT TAX"
    net = sums(("Quoted", data["quoted"]), ("Changes", data["changes"]), ("In all", data["agreed"]))
    if Decimal(data["late"]):
        net += sums(("Interest and costs of late payment", data["late"]))
    net += sums(
        ("Invoiced", data["invoiced"]), ("Credited", data["credited"]), ("Left to invoice", data["left_to_invoice"])
    )
    yield from table(net, right=[1], indent=2)
    yield ""
    yield "WITH TAX"
    gross = sums(
        ("Invoiced less credited", data["invoiced_gross"]),
        ("Paid", data["paid"]),
        ("Left to pay", data["left_to_pay"]),
    )
    yield from table(gross, right=[1], indent=2)
    if data["agreed_changes"]:
        yield ""
        yield "CHANGES"
        yield from table(
            [
                [shorten(one["what"], 48), amount(one["net"], currency), one["state"], one["source"]]
                for one in data["agreed_changes"]
            ],
            right=[1],
            indent=2,
        )
    if data["papers"]:
        yield ""
        yield "PAPERS"
        yield from table(
            [
                [
                    one["number"],
                    one["issued_on"],
                    shorten(one["what"], 40),
                    amount(f"-{one['gross']}" if one["kind"] == "credit_note" else one["gross"], currency),
                ]
                for one in data["papers"]
            ],
            right=[3],
            indent=2,
        )


@app.command()
def client(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    reason: ReasonOption = "",
    preview: Annotated[bool, typer.Option("--preview", help="Only say what would change.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take the client's file as it stands today into a job: a move, a new address, tax number or order number."""
    from bizkit.services.job.job_client import take_client

    def text(data: ClientTaken) -> Iterator[str]:
        if not data["taken"]:
            yield f"{data['job']}: clients/{data['client']}.toml says what the job has already. Nothing was changed."
            return
        would = "would take" if data["preview"] else "takes"
        yield f"{data['job']} {would} clients/{data['client']}.toml as it stands; issued papers stay as they are:"
        for one in data["changes"]:
            yield f"  {one['field']}: {one['before'] or 'nothing'} -> {one['after'] or 'nothing'}"

    show(take_client(studio_folder(studio, reason), job, day(on), reason=reason, preview=preview), as_json, text)


@app.command()
def order(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    number: Annotated[str, typer.Argument(metavar="[ORDER]", help="The client's order number.")] = "",
    reference: Annotated[str, typer.Option("--reference", help="What finds its invoices their way.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say the client's order number, or reference, of one job: it stands on every invoice from now on."""
    from bizkit.services.job.job_client import say_order

    def text(data: OrderSaid) -> Iterator[str]:
        yield f"{data['job']}: on its invoices from now on; issued papers stay as they are"
        if data["purchase_order"]:
            yield f"  order number: {data['purchase_order']}"
        if data["buyer_reference"]:
            yield f"  reference: {data['buyer_reference']}"

    folder = studio_folder(studio, reason)
    show(say_order(folder, job, day(on), order=number, reference=reference, reason=reason), as_json, text)


@app.command()
def actual(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key, or its quote's number.")],
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Quoted against actual, section by section: charged on top, spent, left."""
    from bizkit.cli.actual import against
    from bizkit.services.shooting.actual import quoted_and_actual

    show(quoted_and_actual(studio_folder(studio), job), as_json, against)


def _whole(data: JobShown) -> Iterator[str]:
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
        for sentence in data["licence_in_words"]["sentences"]:
            yield f"  {sentence}"
        for condition in data["licence_in_words"]["conditions"]:
            yield f"  The client keeps to this: {condition}"
        yield f"  {_clearance(data)}"
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


def _granted(data: JobShown) -> str:
    """The licence granted, how it stands, and its days."""
    grant = data["grants"][-1]
    days = f", from {grant['begins']} until {grant['until']}" if grant["begins"] else ""
    return f"{grant['number']}, {data['clearance']['state']}{days}"


def _clearance(data: JobShown) -> str:
    clearance = data["clearance"]
    said = "cleared" if clearance["cleared"] else f"NOT CLEARED: bizkit rights check {data['key']}"
    state = _granted(data) if clearance["licence"] else "Not granted yet"
    return f"{state}; {said}"
