"""`bizkit release`: releases of the people in the work."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.expanded import expanded
from bizkit.cli.holdings import added, holding_table
from bizkit.cli.paper_options import FilingOptions, SignerOptions, TermOptions, as_signed, read_allowed, read_signed
from bizkit.cli.papers import written
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, day_of, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.rights.holdings import HoldingRow

app = typer.Typer(help="Releases signed by the people in the work.", no_args_is_help=True, add_completion=False)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
WhoOption = Annotated[str, typer.Option("--who", help="The person in the work; as the form has it without.")]


@app.command()
@expanded
def add(
    job: JobArgument,
    filing: FilingOptions,
    terms: TermOptions,
    signer: SignerOptions,
    who: WhoOption = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """File a signed release; without --signed and --scan, note that one is still to be signed.

    It holds what it says: --form brings what our form of that number asked for; otherwise type what it allows, with
    --media, --where and --until, --months or --without-end. Where neither is said it holds nothing.
    """
    from bizkit.services.rights.filing import add_holding_paper
    from bizkit.services.rights.holdings import RELEASE

    paper = read_signed(terms, signer, filing)
    folder = studio_folder(studio, reason)
    done = add_holding_paper(
        folder, RELEASE, job, who, day_of(folder, on, paper.on if paper else None), signed=paper,
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
    """Releases on file: who, when signed, what they allow, when they end."""
    from bizkit.services.rights.holdings import RELEASE, list_holdings

    def text(rows: list[HoldingRow]) -> list[str]:
        return holding_table(rows) or ["No releases on file."]

    show(list_holdings(studio_folder(studio), (RELEASE,), day(on), job), as_json, text)


@app.command()
@expanded
def form(
    job: JobArgument,
    terms: TermOptions,
    who: Annotated[str, typer.Option("--who", help="The person in the work; a line to write on without.")] = "",
    guardian: Annotated[str, typer.Option("--guardian", help="Parent or guardian, for somebody under 18.")] = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="With the part that a guardian signs.")] = False,
    shoot_day: Annotated[
        str, typer.Option("--day", metavar="YYYY-MM-DD", help="The one shoot day they are there; without it all.")
    ] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it in forms/.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the release as a PDF to be signed, under a number by which the signed one is filed.

    It asks for the media and countries of the job's licence, without an end, unless the options say something else.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.forms import Wanted, write_form

    wanted = Wanted(
        "model_release", day(on), subject=who, guardian=guardian, minor=under_18, allows=read_allowed(terms),
        day=iso_date(shoot_day, field="--day") if shoot_day else None,
        conditions=tuple(terms.condition or ()), client_conditions=tuple(terms.client_condition or ()),
    )  # fmt: skip
    show(write_form(studio_folder(studio), job, wanted, out=out), as_json, written)


@app.command()
@expanded
def sign(
    job: JobArgument,
    terms: TermOptions,
    signer: SignerOptions,
    who: Annotated[str, typer.Option("--who", help="The person in the work.")],
    signature: Annotated[Path, typer.Option("--signature", help="The drawn signature: PNG or JPEG.")],
    works: Annotated[
        list[str] | None, typer.Option("--for", metavar="DELIVERABLE", help="Only for this; again for more.")
    ] = None,
    details: Annotated[Path | None, typer.Option("--details", help="A TOML file with the rest of the paper.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fill in the release on screen, place a drawn signature on it, and file the signed PDF by its SHA-256."""
    from bizkit.services.rights.holdings import RELEASE
    from bizkit.services.rights.signing import sign_paper

    signed = as_signed(terms, signer, day(on), signature, read_allowed(terms), how="drawn")
    done = sign_paper(
        studio_folder(studio, reason), RELEASE, job, who, day(on), signed, works=works or (), details=details
    )
    show(done, as_json, added)
