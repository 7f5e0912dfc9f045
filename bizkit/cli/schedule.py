"""`bizkit schedule`: a job planned backwards from the client's date, and what slips when a date moves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, shorten, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.shooting.scheduling import PlanShown, StepMoved


app = typer.Typer(
    help="Plan a job backwards from the client's date; see what slips when a date moves.",
    no_args_is_help=True,
    add_completion=False,
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
DueOption = Annotated[
    str, typer.Option("--due", metavar="YYYY-MM-DD", help="The client's date; without it the last due date.")
]
WhyOption = Annotated[str, typer.Option("--why", help="Why it is so; kept in the book.")]


@app.command("show")
def show_(
    job: JobArgument,
    due: DueOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The plan saved last, or one made now; what does not fit, and who is booked twice."""
    from bizkit.services.shooting.scheduling import show_schedule

    show(show_schedule(studio_folder(studio), job, day(on), due=due), as_json, _plan)


@app.command()
def save(
    job: JobArgument,
    due: DueOption = "",
    why: WhyOption = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Plan backwards anew and save it."""
    from bizkit.services.shooting.scheduling import save_plan

    show(save_plan(studio_folder(studio, reason), job, day(on), due=due, why=why), as_json, _plan)


@app.command()
def move(
    job: JobArgument,
    step: Annotated[str, typer.Argument(metavar="STEP", help="The step's key.")],
    date: Annotated[str, typer.Argument(metavar="DATE", help="The day it begins instead, YYYY-MM-DD.")],
    save: Annotated[bool, typer.Option("--save", help="Keep it; without this it is only shown.")] = False,
    why: WhyOption = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """What slips when one step moves; saved only with --save."""
    from bizkit.services.shooting.scheduling import move_step

    def text(data: StepMoved) -> Iterator[str]:
        yield from data["sentences"]
        yield "Saved." if data["saved"] else "Nothing is saved. Keep it with --save."

    show(move_step(studio_folder(studio, reason), job, step, date, day(on), save=save, why=why), as_json, text)


def _plan(data: PlanShown) -> Iterator[str]:
    saved = f"saved {data['saved_on']}" if data["saved_on"] else "not saved"
    yield f"{data['job']}: {data['title']}, due {data['due']} ({saved})"
    head = ["STEP", "WHAT", "FROM", "TO", "ROOM"]
    body = [
        [
            one["key"],
            shorten(one["title"], 50),
            one["starts"],
            one["ends"],
            "fixed" if one["fixed"] else f"{many(one['slack_days'], 'day')}",
        ]
        for one in data["steps"]
    ]
    yield from table([head, *body], indent=2)
    for one in data["answers"]:
        late = {"remind": ": remind the client", "approved": ": counts as approved by the terms"}.get(
            one["silence"], ""
        )
        yield f"Answer on {one['title']} by {one['answer_by']}{late}"
    yield from (f"Look: {look}" for look in data["looks"])
