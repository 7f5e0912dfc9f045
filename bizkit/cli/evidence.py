"""`bizkit evidence`: what shows that a client abroad is a business."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.job.evidence import EvidenceNoted, EvidenceRow

app = typer.Typer(
    help="What shows that a client abroad is a business, for its tax.", no_args_is_help=True, add_completion=False
)


@app.command()
def add(
    client: Annotated[str, typer.Argument(metavar="CLIENT", help="The client's key.")],
    what: Annotated[str, typer.Option("--what", help="Such as an extract of a company register.")],
    scan: Annotated[Path | None, typer.Option("--scan", help="Its copy: PDF, PNG or JPEG.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Note evidence that a client is a business, and file its copy."""
    from bizkit.services.job.evidence import add_evidence

    def text(data: EvidenceNoted) -> Iterator[str]:
        yield f"{data['client']}: {data['what']}, seen {data['on']}" + (f", filed as {data['file']}" if scan else "")

    show(add_evidence(studio_folder(studio, reason), client, what, day(on), scan=scan), as_json, text)


@app.command("list")
def list_(
    client: Annotated[str | None, typer.Argument(metavar="[CLIENT]", help="One client; without it all.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every piece of evidence on file."""
    from bizkit.services.job.evidence import list_evidence

    def text(rows: list[EvidenceRow]) -> Iterator[str]:
        if not rows:
            yield "No evidence on file."
        yield from table([[row["client"], row["on"], row["what"], row["paper"][:12] or "no copy"] for row in rows])

    show(list_evidence(studio_folder(studio), client), as_json, text)
