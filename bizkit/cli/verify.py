"""`bizkit verify`: is everything as it was issued and filed?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from bizkit.cli.progress import progress_bar
from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.overview.verifying import Verified


app = typer.Typer(add_completion=False)


@app.command()
def verify(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Check every issued document and every filed paper against the book. Exit code 1 when something is wrong."""
    from bizkit.services.overview.verifying import verify_book

    def text(data: Verified) -> Iterator[str]:
        yield f"{many(data['documents'], 'issued document')} and {many(data['papers'], 'filed paper')} checked"
        if data["documents"]:
            yield f"They end in {data['head'][:16]}: noted elsewhere, it shows later whether the book was replaced"
        yield from (f"Look: {line}" for line in data["looks"])
        yield from data["faults"] or ["Nothing is wrong"]

    with progress_bar("Checking papers") as progress:
        data = verify_book(studio_folder(studio), progress)
    show(data, as_json, text)
    if data["faults"]:
        raise typer.Exit(1)
