"""`bizkit permission`: permissions for places."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.holdings import ClientConditionOption, ConditionOption, added, holding_table
from bizkit.cli.papers import written
from bizkit.cli.release import JobArgument
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder

app = typer.Typer(
    help="Permissions for the places where the work was shot.", no_args_is_help=True, add_completion=False
)

PlaceOption = Annotated[str, typer.Option("--place", help="The place as the job's days name it.")]


@app.command()
def add(
    job: JobArgument,
    place: PlaceOption,
    by: Annotated[str, typer.Option("--by", help="Who gives leave.")] = "",
    signed: Annotated[str, typer.Option("--signed", metavar="YYYY-MM-DD", help="When it was signed.")] = "",
    scan: Annotated[Path | None, typer.Option("--scan", help="The signed paper: PDF, PNG or JPEG.")] = None,
    media: Annotated[list[str] | None, typer.Option("--media", help="A medium it allows; again for more.")] = None,
    where: Annotated[list[str] | None, typer.Option("--where", help="A country or region; again for more.")] = None,
    starts: Annotated[str, typer.Option("--from", metavar="YYYY-MM-DD", help="First day it allows.")] = "",
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="Last day it allows.")] = "",
    condition: ConditionOption = None,
    client_condition: ClientConditionOption = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File a signed permission; without --signed and --scan, note that one is still to be signed."""
    from bizkit.services.rights.holdings import PERMISSION, add_holding_paper
    from bizkit.services.rights.signed_paper import read_allowed, read_signed

    allows = read_allowed(media=media, where=where, starts=starts, until=until)
    paper = read_signed(
        signed=signed, scan=scan, allows=allows, by=by, conditions=condition, client_conditions=client_condition
    )
    folder = studio_folder(studio, reason)
    show(add_holding_paper(folder, PERMISSION, job, place, day(on), signed=paper, allows=allows), as_json, added)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Permissions on file: place, when signed, what they allow, when they end."""
    from bizkit.services.rights.holdings import PERMISSION, list_holdings

    def text(rows: list[dict[str, Any]]) -> list[str]:
        return holding_table(rows) or ["No permissions on file."]

    show(list_holdings(studio_folder(studio), (PERMISSION,), day(on), job), as_json, text)


@app.command()
def form(
    job: JobArgument,
    place: PlaceOption = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it in forms/.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the permission as a PDF to be signed, filled in as far as the job knows."""
    from bizkit.services.rights.forms import write_form

    show(write_form(studio_folder(studio), "location_permission", job, subject=place, out=out), as_json, written)
