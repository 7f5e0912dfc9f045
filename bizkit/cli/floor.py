"""`bizkit floor`: the price below which the studio loses money."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from bizkit.cli.show import JsonOption, StudioOption, amount, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.quoting.floor import FloorShown


app = typer.Typer(add_completion=False)


@app.command()
def floor(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """The break-even day rate from floor.toml, and the rates on the card that fall below it."""
    from bizkit.services.quoting.floor import show_floor

    def text(data: FloorShown) -> Iterator[str]:
        currency = data["currency"]
        yield f"The floor is {amount(data['rate_per_day'], currency)} a day: below it you pay to work."
        for part in data["working"]["parts"]:
            yield f"  {part['text']}"
        yield f"  {data['working']['text']}"
        yield ""
        below = data["roles_below"]
        if not below:
            yield f"None of the {data['roles']} rates on the card is below it."
            return
        yield f"{len(below)} of {data['roles']} rates on the card are below it:"
        rows = [
            [one["title"], amount(one["rate_per_day"], currency), f"{amount(one['short_by'], currency)} short"]
            for one in below
        ]
        yield from table(rows, right=[1, 2], indent=2)

    show(show_floor(studio_folder(studio)), as_json, text)
