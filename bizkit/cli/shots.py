"""`bizkit shots`: the shot list of a job, and what it means for papers and the edit."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, shorten, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.shooting.worksheet import ShotsListed


app = typer.Typer(add_completion=False)


@app.command()
def shots(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    carry: Annotated[
        bool, typer.Option("--carry", help="Say by this list who and which places are in each cut, for clearance.")
    ] = False,
    out: Annotated[Path | None, typer.Option("--out", help="Write the list as a PDF to take along.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The shot list in jobs/JOB.toml: dry or in the water, where, who appears, in which cuts."""
    from bizkit.services.shooting.worksheet import carry_shots, list_shots, write_shot_list

    folder = studio_folder(studio, reason)
    data = carry_shots(folder, job, day(on)) if carry else list_shots(folder, job)
    if out is not None:
        data = write_shot_list(folder, job, day(on), out)

    def text(data: ShotsListed) -> Iterator[str]:
        yield from _lines(data)
        if carry:
            yield f"Carried into clearance: see bizkit rights check {data['job']}"
        if out is not None:
            yield f"Paper: {out}"

    show(data, as_json, text)


def _lines(data: ShotsListed) -> Iterator[str]:
    yield f"{data['job']}: {data['title']}"
    head = ["SHOT", "DAY", "KIND", "WHERE", "WHAT", "WHO"]
    body = [
        [
            one["number"],
            one["on"] or "open",
            one["kind"],
            shorten(one["place"], 30),
            shorten(one["title"], 44),
            ", ".join(one["who"]) or "nobody",
        ]
        for one in data["shots"]
    ]
    yield from table([head, *body], indent=2)
    yield ""
    yield "WHO APPEARS IN WHICH CUT"
    yield from table(
        [[one["deliverable"], ", ".join(one["who"]) or "nobody", "; ".join(one["places"])] for one in data["cuts"]],
        indent=2,
    )
    if data["hints"]:
        yield ""
        yield "FRAME RATES"
        yield from (f"  {hint}" for hint in data["hints"])
