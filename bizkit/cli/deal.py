"""`bizkit deal`: days bought ahead."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.quoting.deals import DealRow

app = typer.Typer(help="Days bought ahead, drawn down job by job.", no_args_is_help=True, add_completion=False)


@app.callback()
def deal() -> None:
    """Days bought ahead, drawn down job by job."""


@app.command("list")
def list_(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every deal of the rate card: bought, drawn by which jobs, left."""
    from bizkit.services.quoting.deals import list_deals

    def text(rows: list[DealRow]) -> Iterator[str]:
        if not rows:
            yield "The rate card has no [deals]."
            return
        head = ["DEAL", "CLIENT", "BOUGHT", "DRAWN", "LEFT", "BY"]
        body = [
            [
                row["title"],
                row["client"],
                row["bought"],
                row["drawn"],
                row["left"],
                ", ".join(f"{one['job']} {one['days']}" for one in row["jobs"]),
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[2, 3, 4])

    show(list_deals(studio_folder(studio)), as_json, text)
