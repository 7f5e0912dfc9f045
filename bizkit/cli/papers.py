"""`bizkit papers`: issued PDFs made again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer

from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder

app = typer.Typer(help="Make issued PDFs again.", no_args_is_help=True, add_completion=False)


@app.callback()
def papers() -> None:
    """Make issued PDFs again."""


@app.command()
def rebuild(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Make every missing PDF again from its frozen document."""
    from bizkit.services.verifying import rebuild_papers

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield from (f"Made {name}" for name in data["made"])
        if not data["made"]:
            yield "No PDF is missing."

    show(rebuild_papers(studio_folder(studio)), as_json, text)
