"""`bizkit init`: a new studio folder."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, show

if TYPE_CHECKING:
    from bizkit.services.studio.starting import Started


app = typer.Typer(add_completion=False)


@app.command()
def init(
    folder: Annotated[Path, typer.Argument(help="A new or empty folder.")],
    starter: Annotated[str, typer.Option("--starter", help="gbp-uk or eur-de.")] = "gbp-uk",
    book: Annotated[str, typer.Option("--book", metavar="URL", help="Make the book there instead of a file.")] = "",
    practice: Annotated[
        bool, typer.Option("--practice", help="To try things out: dates after today are taken without a reason.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Make a studio folder with a starter rate card, a sample brief and an empty book."""
    from bizkit.services.studio.starting import init_studio

    def text(data: Started) -> Iterator[str]:
        yield f"Made the studio in {data['folder']}:"
        for name in data["files"]:
            yield f"  {name}"
        yield "All names and figures in it are invented: put your own into studio.toml and rate-card.toml."
        yield f"Then: cd {shlex.quote(str(folder))} && bizkit price {data['brief']}"

    show(init_studio(folder, starter, book_url=book, practice=practice), as_json, text)
