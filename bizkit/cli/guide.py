"""`bizkit guide`: a page a task."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.show import JsonOption, show, table

if TYPE_CHECKING:
    from bizkit.services.studio.guide import GuidePage


app = typer.Typer(add_completion=False)


@app.command()
def guide(
    page: Annotated[str, typer.Argument(metavar="[PAGE]", help="A page; without it the list of them.")] = "",
    as_json: JsonOption = False,
) -> None:
    """How a task is done, command by command."""
    from bizkit.services.studio.guide import list_pages, read_page

    def pages(rows: list[dict[str, Any]]) -> Iterator[str]:
        yield from table([[f"bizkit guide {row['page']}", row["title"]] for row in rows])

    def text(data: GuidePage) -> Iterator[str]:
        yield from data["text"].splitlines()

    if page:
        show(read_page(page), as_json, text)
    else:
        show(list_pages(), as_json, pages)
