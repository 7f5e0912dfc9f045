"""`bizkit papers`: papers to be signed or carried on the shoot, and issued PDFs made again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.expanded import expanded
from bizkit.cli.paper_options import TermOptions, read_allowed
from bizkit.cli.progress import progress_bar
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, shorten, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.rights.forms import FormWritten
    from bizkit.services.rights.numbered_forms import FormRow
    from bizkit.services.studio.lost_numbers import LostRow
    from bizkit.services.studio.rebuilding import RebuiltRow

app = typer.Typer(
    help="Papers to be signed or carried on the shoot; issued PDFs made again.",
    no_args_is_help=True,
    add_completion=False,
)

KindArgument = Annotated[str, typer.Argument(metavar="KIND", help="What paper; see bizkit papers kinds.")]


@app.command()
@expanded
def form(
    kind: KindArgument,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    terms: TermOptions,
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
    """Write a paper as a PDF, filled in as far as the job and the file of details know.

    One that is to be signed prints what it asks for - the media and countries of the job's licence, without an end,
    unless said otherwise - and a number, by which the signed one is filed.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.forms import Wanted, write_form

    wanted = Wanted(
        kind, day(on), subject=about, guardian=guardian, minor=under_18,
        day=iso_date(shoot_day, field="--day") if shoot_day else None, details=details, language=language,
        allows=read_allowed(terms), conditions=tuple(terms.condition or ()),
        client_conditions=tuple(terms.client_condition or ()),
    )  # fmt: skip
    show(write_form(studio_folder(studio), job, wanted, out=out), as_json, written)


def written(data: FormWritten) -> Iterator[str]:
    """What was written, what it asks for, what to look at, and the caution that goes with it."""
    yield f"Wrote {data['file']}"
    if data["number"]:
        yield f"It is {data['number']} and asks for {data['asks']}"
        yield f"File it once it is signed with --form {data['number']}: it brings these terms"
    yield from (f"Look: {warning}" for warning in data["warnings"])
    yield "It is a template: have a lawyer check it for your place before you rely on it."


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Forms written to be signed, by number: what each asks for, and the papers filed by it."""
    from bizkit.services.rights.numbered_forms import list_forms

    def text(rows: list[FormRow]) -> list[str]:
        if not rows:
            return ["No form was written yet: bizkit papers form KIND JOB"]
        head = ["FORM", "JOB", "KIND", "ABOUT", "ASKS FOR", "FOR CLIENT", "PAPERS"]
        body = [
            [
                row["number"], row["job"], row["kind"].replace("_", " "), shorten(row["about"] or "anybody", 30),
                row["asks"], row["for_client"] or "any", ", ".join(map(str, row["papers"])),
            ]
            for row in rows
        ]  # fmt: skip
        return table([head, *body])

    show(list_forms(studio_folder(studio), job), as_json, text)


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
def lost(
    number: Annotated[str, typer.Argument(metavar="NUMBER", help="As it stands on the paper.")],
    reason: ReasonOption = "",
    paper: Annotated[
        Path | None, typer.Option("--paper", help="Its PDF, as the client has it; without it the one in papers/.")
    ] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a number as used by a paper that is not in the book, as after an older copy was put back.

    --on is the date of that paper. Its series goes on behind it; the amounts of the paper stand in no list and no
    report: issue it anew, and tell the client that the new one takes its place.
    """
    from bizkit.services.studio.lost_numbers import record_lost

    def text(data: LostRow) -> Iterator[str]:
        yield f"{data['number']} is recorded as used ({data['of'].replace('_', ' ')}): {data['reason']}"
        yield f"  Its paper: {data['paper'] or 'none on file'}"
        yield "  Its amounts are in no list and no report: issue it anew, and say that the new one takes its place"

    show(record_lost(studio_folder(studio, reason), number, day(on), reason=reason, paper=paper), as_json, text)


@app.command()
def rebuild(
    name: Annotated[
        list[str] | None, typer.Argument(metavar="[NUMBER]...", help="Numbers or names of letters; without any, all.")
    ] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make every PDF that is missing or was changed again from its frozen document."""
    from bizkit.services.studio.rebuilding import rebuild_papers

    def text(data: RebuiltRow) -> Iterator[str]:
        yield from (f"Set aside {name}: it was not the paper that was issued" for name in data["set_aside"])
        for name in data["made"]:
            other = ": with other bytes than before, so look at it" if name in data["anew"] else ""
            yield f"Made {name}{other}"
        yield from (f"Cleared away {name}" for name in data["cleared"])
        for name in data["refused"]:
            yield f"Not made: {name}: its record is not what was issued; restore the book from a copy"
        for name in data["others"]:
            yield f"Left alone: {name}: another copy of the book issued it under this number; see bizkit verify"
        if not any(data[key] for key in ("made", "cleared", "refused", "others")):
            yield "No PDF is missing."

    with progress_bar("Looking at papers") as progress:
        done = rebuild_papers(studio_folder(studio), name or (), progress=progress)
    show(done, as_json, text)
    if done["refused"] or done["others"]:
        raise typer.Exit(1)
