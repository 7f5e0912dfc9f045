"""`bizkit storage`: cards and drives that a job fills, with the working."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, StudioOption, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.shooting.worksheet import JobStorage


app = typer.Typer(add_completion=False)


@app.command()
def storage(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cards a day and drives for the job from [storage] and [[rushes]] in jobs/JOB.toml: minutes x bit rate."""
    from bizkit.services.shooting.worksheet import job_storage

    show(job_storage(studio_folder(studio), job), as_json, _lines)


def _lines(data: JobStorage) -> Iterator[str]:
    yield f"{data['job']}: {data['gb_total']} GB in all, {data['gb_per_day']} GB on a day when everything runs"
    yield from table([[title, f"{count} cards a day"] for title, count in data["cards"].items()], indent=2)
    yield f"  {data['drives']} drives for each of {data['copies']} copies"
    yield ""
    working = data["working"]
    yield from (f"  {part['text']}" for part in working.get("parts", []))
    yield f"  {working['text']}"
