"""`bizkit papers`: papers to be signed or carried on the shoot, and issued PDFs made again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, day, show, studio_folder

app = typer.Typer(
    help="Papers to be signed or carried on the shoot; issued PDFs made again.",
    no_args_is_help=True,
    add_completion=False,
)

KindArgument = Annotated[str, typer.Argument(metavar="KIND", help="What paper; see bizkit papers kinds.")]


@app.command()
def form(
    kind: KindArgument,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    about: Annotated[str, typer.Option("--about", help="The person, place, thing or title it is about.")] = "",
    guardian: Annotated[str, typer.Option("--guardian", help="Who signs for somebody under 18.")] = "",
    under_18: Annotated[bool, typer.Option("--under-18", help="With the part that a guardian signs.")] = False,
    shoot_day: Annotated[str, typer.Option("--day", metavar="YYYY-MM-DD", help="The shoot day it is about.")] = "",
    details: Annotated[
        Path | None, typer.Option("--details", help="A TOML file with the rest; see bizkit papers details.")
    ] = None,
    language: Annotated[str, typer.Option("--language", help="Of the wording: en, de or your own.")] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it in forms/.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write a paper as a PDF, filled in as far as the job and the file of details know."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.forms import write_form

    chosen = iso_date(shoot_day, field="--day") if shoot_day else None
    done = write_form(
        studio_folder(studio), kind, job, subject=about, guardian=guardian, minor=under_18, day=chosen,
        details=details, language=language, on=day(on), out=out,
    )  # fmt: skip
    show(done, as_json, written)


def written(data: dict[str, Any]) -> Iterator[str]:
    """What was written, what to look at, and the caution that goes with it."""
    yield f"Wrote {data['file']}"
    yield from (f"Look: {warning}" for warning in data["warnings"])
    yield "It is a template: have a lawyer check it for your place before you rely on it."


@app.command()
def kinds(as_json: JsonOption = False) -> None:
    """Kinds of paper that can be written for a job."""
    from bizkit.services.rights.form_kinds import FORMS

    show(list(FORMS), as_json, lambda rows: rows)


@app.command()
def details(kind: KindArgument) -> None:
    """Print an empty file of details for a kind of paper, to fill in and give back with --details."""
    from bizkit.cli.show import say
    from bizkit.services.rights.details import sample_details

    for line in sample_details(kind).splitlines():
        say(line)


@app.command()
def rebuild(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Make every missing PDF again from its frozen document."""
    from bizkit.services.studio.verifying import rebuild_papers

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield from (f"Made {name}" for name in data["made"])
        if not data["made"]:
            yield "No PDF is missing."

    show(rebuild_papers(studio_folder(studio)), as_json, text)
