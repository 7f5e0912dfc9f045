"""`bizkit rates`: the rate card."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.studio.rates import RatesChecked


app = typer.Typer(help="Look at the rate card and check it.", no_args_is_help=True, add_completion=False)


@app.callback()
def rates() -> None:
    """Look at the rate card and check it."""


@app.command()
def check(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Read the whole rate card and say what is wrong, or what is on it."""
    from bizkit.services.studio.rates import check_rates

    def text(data: RatesChecked) -> Iterator[str]:
        verdict = "it can be priced by, but look" if data["looks"] else "nothing wrong"
        yield f"{data['name']}, in {data['currency']} from {data['from']}: {verdict}"
        for look in data["looks"]:
            yield f"Look: {look}"
        for name, count in data["counts"].items():
            yield f"  {count:>3} {name}"

    show(check_rates(studio_folder(studio)), as_json, text)
