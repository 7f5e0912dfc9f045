"""`bizkit brief`: a brief copied for the next job."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, day, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.quoting.brief_copy import BriefCopied


app = typer.Typer(help="Briefs: copy one for the next job.", no_args_is_help=True, add_completion=False)


@app.callback()
def root() -> None:
    """Briefs: copy one for the next job."""


@app.command()
def copy(
    brief: Annotated[
        Path, typer.Argument(metavar="BRIEF", help="A file, its name in briefs/, or the key or number of a quote.")
    ],
    key: Annotated[str, typer.Argument(metavar="KEY", help="The key of the new one; also its file's name.")],
    title: Annotated[str, typer.Option("--title", help="Its title; else as in the old one.")] = "",
    client: Annotated[str, typer.Option("--client", metavar="CLIENT", help="Another client, by its key.")] = "",
    first: Annotated[
        str,
        typer.Option(
            "--first", metavar="YYYY-MM-DD", help="Date of its first day; all other dates keep their distance."
        ),
    ] = "",
    out: Annotated[Path | None, typer.Option("--out", help="Another file than briefs/KEY.toml.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy a brief for another job, with a key of its own; comments and everything not named stay as they are."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.quoting.brief_copy import copy_brief

    def text(data: BriefCopied) -> Iterator[str]:
        yield f"{data['file']}: {data['title']} for {data['client']}, key {data['key']}"
        if data["days"]:
            yield f"Days {data['days'][0]} to {data['days'][-1]}"
        for look in data["looks"]:
            yield f"Look: {look}"
        yield f"Price it with: bizkit price {data['key']}"

    starts = iso_date(first, field="--first") if first else None
    done = copy_brief(
        studio_folder(studio, near=brief), brief, key, day(on), title=title, client=client, first=starts, out=out
    )
    show(done, as_json, text)
