"""`bizkit archive`: what of a job is kept where, and until when that was promised."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.delivery.archive import ArchiveRow

app = typer.Typer(
    help="What is kept where, and until when that was promised.", no_args_is_help=True, add_completion=False
)


def _rows(rows: list[ArchiveRow]) -> Iterator[str]:
    if not rows:
        yield "Nothing is archived. Write it down with: bizkit archive add JOB --what WHAT --place PLACE --months 24"
        return
    head = ["ENTRY", "JOB", "WHAT", "WHERE", "KEPT UNTIL", "STATE"]
    body = [
        [
            str(row["id"]),
            row["job"],
            row["what"],
            row["place"],
            row["keep_until"],
            f"gone {row['gone_on']}" if row["gone_on"] else row["state"],
        ]
        for row in rows
    ]
    yield from table([head, *body])


@app.command()
def add(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    what: Annotated[str, typer.Option("--what", help="Masters, project, rushes...")],
    place: Annotated[str, typer.Option("--place", help="The drive, tape or store it lies on.")],
    until: Annotated[str, typer.Option("--until", metavar="YYYY-MM-DD", help="The last day promised.")] = "",
    months: Annotated[int | None, typer.Option("--months", help="Or for how many months from that day.")] = None,
    note: Annotated[str, typer.Option("--note", help="Anything else to know.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down that something is kept, where, and until when."""
    from bizkit.services.delivery.archive import add_to_archive

    done = add_to_archive(
        studio_folder(studio, reason), job, what, place, day(on), until=until, months=months, note=note
    )
    show(done, as_json, lambda row: _rows([row]))


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Everything kept, by the day the promise ends."""
    from bizkit.services.delivery.archive import list_archive

    show(list_archive(studio_folder(studio), day(on), job), as_json, _rows)


@app.command()
def remove(
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="The number from bizkit archive list.")],
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write down that something is gone; before the promise ends, --reason says why."""
    from bizkit.services.delivery.archive import remove_from_archive

    show(
        remove_from_archive(studio_folder(studio, reason), entry, day(on), reason=reason),
        as_json,
        lambda row: _rows([row]),
    )
