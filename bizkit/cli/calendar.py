"""`bizkit calendar`: days and deadlines as a file that calendars read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, day, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.overview.calendars import CalendarWritten


app = typer.Typer(add_completion=False)


@app.command()
def calendar(
    job: Annotated[str, typer.Argument(metavar="[JOB]", help="One job; without it every open one.")] = "",
    out: Annotated[
        Path | None, typer.Option("--out", help="The file; without it JOB.ics or studio.ics here.")
    ] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Shoot days, holds, steps of the plan, due dates, answers expected and licences as an iCalendar file."""
    from bizkit.services.overview.calendars import write_calendar

    def text(data: CalendarWritten) -> Iterator[str]:
        yield f"{data['events']} entries of {', '.join(data['jobs']) or 'no job'}: {data['file']}"

    target = out or Path(f"{job or 'studio'}.ics")
    show(write_calendar(studio_folder(studio), target, day(on), job=job), as_json, text)
