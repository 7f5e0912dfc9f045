"""`bizkit here`: where the book of the studio is worked in, and that it is here from now on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.studio.whereabouts import WhereRow

app = typer.Typer(add_completion=False)


@app.command()
def here(
    reason: Annotated[
        str, typer.Option("--reason", help="Why numbers are drawn here from now on: moved, a new computer.")
    ] = "",
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Where the book was worked in. With --reason: it was moved here and goes on here, or two places share it.

    Two copies of a book give the same numbers, so a copy issues nothing until somebody says that it is the one.
    """
    from bizkit.services.studio.whereabouts import place_of_book, take_over

    folder = studio_folder(studio, reason)
    data = take_over(folder, reason.strip()) if reason.strip() else place_of_book(folder)
    show(data, as_json, _text)


def _text(data: WhereRow) -> Iterator[str]:
    if data["places"]:
        rows = [[one["on"], one["by"], one["machine"], one["folder"]] for one in data["places"]]
        yield from table([["DAY", "BY", "ON", "IN"], *rows])
    if data["taken_over"]:
        yield f"From now on numbers are drawn in {data['here']}. Issue nothing from any other copy."
    elif data["settled"]:
        yield f"Numbers are drawn in {data['here']}; nothing stands in the way."
    else:
        yield f"Nothing is issued in {data['here']}: {data['why_not']}"
    if data["taken_over"] and data["lost"]:
        yield (
            f"Look: {', '.join(data['lost'])}: issued by another copy. Before anything else, repeat the command with "
            "the same --on, or record the number as used with bizkit papers lost"
        )
