"""`bizkit permission`: permissions for places."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.expanded import expanded
from bizkit.cli.holdings import added, holding_table
from bizkit.cli.paper_options import FilingOptions, SignerOptions, TermOptions, read_allowed, read_signed
from bizkit.cli.papers import written
from bizkit.cli.release import JobArgument
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, day_of, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.rights.holdings import HoldingRow

app = typer.Typer(
    help="Permissions for the places where the work was shot.", no_args_is_help=True, add_completion=False
)


@app.command()
@expanded
def add(
    job: JobArgument,
    filing: FilingOptions,
    terms: TermOptions,
    signer: SignerOptions,
    place: Annotated[
        str, typer.Option("--place", help="The place as the job's days name it; as the form has it without.")
    ] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File a signed permission; without --signed and --scan, note that one is still to be signed.

    It holds what it says, as with bizkit release add.
    """
    from bizkit.services.rights.filing import add_holding_paper
    from bizkit.services.rights.holdings import PERMISSION

    paper = read_signed(terms, signer, filing)
    folder = studio_folder(studio, reason)
    done = add_holding_paper(
        folder, PERMISSION, job, place, day_of(folder, on, paper.on if paper else None), signed=paper,
        allows=read_allowed(terms, filing), works=filing.works or (),
    )  # fmt: skip
    show(done, as_json, added)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Permissions on file: place, when signed, what they allow, when they end."""
    from bizkit.services.rights.holdings import PERMISSION, list_holdings

    def text(rows: list[HoldingRow]) -> list[str]:
        return holding_table(rows) or ["No permissions on file."]

    show(list_holdings(studio_folder(studio), (PERMISSION,), day(on), job), as_json, text)


@app.command()
@expanded
def form(
    job: JobArgument,
    terms: TermOptions,
    place: Annotated[str, typer.Option("--place", help="The place as the job's days name it.")] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it in forms/.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the permission as a PDF to be signed, under a number by which the signed one is filed.

    It asks for the media and countries of the job's licence, without an end, unless the options say something else.
    """
    from bizkit.services.rights.forms import Wanted, write_form

    wanted = Wanted(
        "location_permission", day(on), subject=place, allows=read_allowed(terms),
        conditions=tuple(terms.condition or ()), client_conditions=tuple(terms.client_condition or ()),
    )  # fmt: skip
    show(write_form(studio_folder(studio), job, wanted, out=out), as_json, written)
