"""`bizkit release`: releases of the people in the work."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.holdings import ClientConditionOption, ConditionOption, added, holding_table
from bizkit.cli.papers import written
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder

app = typer.Typer(help="Releases signed by the people in the work.", no_args_is_help=True, add_completion=False)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
WhoOption = Annotated[str, typer.Option("--who", help="The person in the work.")]
GuardianOption = Annotated[
    str, typer.Option("--guardian", help="Parent or guardian who signs for somebody under 18.")
]


@app.command()
def add(
    job: JobArgument,
    who: WhoOption,
    signed: Annotated[str, typer.Option("--signed", metavar="YYYY-MM-DD", help="When it was signed.")] = "",
    scan: Annotated[Path | None, typer.Option("--scan", help="The signed paper: PDF, PNG or JPEG.")] = None,
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth, where under 18.")] = "",
    guardian: GuardianOption = "",
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
    """File a signed release; without --signed and --scan, note that one is still to be signed.

    Without --media and --where it allows what the printed release asks for: media and countries of the job's licence,
    without an end.
    """
    from bizkit.services.rights.holdings import RELEASE, add_holding_paper
    from bizkit.services.rights.signed_paper import read_allowed, read_signed

    allows = read_allowed(media=media, where=where, starts=starts, until=until)
    paper = read_signed(
        signed=signed,
        scan=scan,
        allows=allows,
        guardian=guardian,
        born=born,
        conditions=condition,
        client_conditions=client_condition,
    )
    folder = studio_folder(studio, reason)
    show(add_holding_paper(folder, RELEASE, job, who, day(on), signed=paper, allows=allows), as_json, added)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Releases on file: who, when signed, what they allow, when they end."""
    from bizkit.services.rights.holdings import RELEASE, list_holdings

    def text(rows: list[dict[str, Any]]) -> list[str]:
        return holding_table(rows) or ["No releases on file."]

    show(list_holdings(studio_folder(studio), (RELEASE,), day(on), job), as_json, text)


@app.command()
def form(
    job: JobArgument,
    who: WhoOption = "",
    guardian: GuardianOption = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="With the part that a guardian signs.")] = False,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it in forms/.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the release as a PDF to be signed, filled in as far as the job knows."""
    from bizkit.services.rights.forms import write_form

    folder = studio_folder(studio)
    done = write_form(folder, "model_release", job, subject=who, guardian=guardian, minor=under_18, out=out)
    show(done, as_json, written)


@app.command()
def sign(
    job: JobArgument,
    who: WhoOption,
    signature: Annotated[Path, typer.Option("--signature", help="The drawn signature: PNG or JPEG.")],
    guardian: GuardianOption = "",
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth.")] = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="Under 18 on this day.")] = False,
    witness: Annotated[str, typer.Option("--witness", help="Who saw it signed.")] = "",
    condition: ConditionOption = None,
    client_condition: ClientConditionOption = None,
    details: Annotated[Path | None, typer.Option("--details", help="A TOML file with the rest of the paper.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fill in the release on screen, place a drawn signature on it, and file the signed PDF by its SHA-256."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.holdings import RELEASE
    from bizkit.services.rights.signing import sign_paper

    done = sign_paper(
        studio_folder(studio, reason), RELEASE, job, who, day(on), signature=signature, guardian=guardian,
        witness=witness, born=iso_date(born, field="--born") if born else None, under_18=under_18, details=details,
        conditions=condition or (), client_conditions=client_condition or (),
    )  # fmt: skip
    show(done, as_json, added)
