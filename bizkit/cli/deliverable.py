"""`bizkit deliverable`: versions, notes, approval."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, shorten, show, studio_folder, table

app = typer.Typer(
    help="Promised cuts and stills: versions, notes, approval.", no_args_is_help=True, add_completion=False
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
KeyArgument = Annotated[str, typer.Argument(metavar="DELIVERABLE", help="The deliverable's key.")]


def deliverable_table(rows: list[dict[str, Any]]) -> list[str]:
    """Deliverables as aligned text."""
    head = ["DELIVERABLE", "TITLE", "STATE", "VERSION", "ROUNDS", "DUE", ""]
    body = [
        [
            row["key"],
            shorten(row["title"], 34),
            row["state"],
            f"v{row['version']}" if row["version"] else "-",
            f"{row['rounds_used']} of {row['rounds_included']}",
            row["due"] or "open",
            f"{row['days_late']} days late"
            if row["days_late"]
            else row["approved_on"] and f"on {row['approved_on']}",
        ]
        for row in rows
    ]
    return table([head, *body])


def _one(row: dict[str, Any]) -> Iterator[str]:
    yield from deliverable_table([row])
    if row["rounds_extra"]:
        yield (
            f"Look: {row['rounds_extra']} of these rounds go beyond the {row['rounds_included']} included: "
            "agree the extra price before the work."
        )


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it every open one.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Where each deliverable stands, when it is due, what is late."""
    from bizkit.services.deliverables import list_deliverables

    def text(rows: list[dict[str, Any]]) -> Iterator[str]:
        if not rows:
            yield "Nothing is promised in an open job."
        for number, name in enumerate(dict.fromkeys(row["job"] for row in rows)):
            if number:
                yield ""
            yield name
            yield from deliverable_table([row for row in rows if row["job"] == name])

    show(list_deliverables(studio_folder(studio), day(on), job), as_json, text)


@app.command()
def send(
    job: JobArgument,
    deliverable: KeyArgument,
    file: Annotated[Path, typer.Argument(help="The file sent; its checksum is kept.")],
    to: Annotated[str, typer.Option("--to", help="Whom it was sent to.")] = "",
    note: Annotated[str, typer.Option("--note", help="What is in this version.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that a file was sent as the next version."""
    from bizkit.services.deliverables import send_version

    done = send_version(studio_folder(studio), job, deliverable, file, day(on), to=to, note=note, reason=reason)
    show(done, as_json, _one)


@app.command()
def notes(
    job: JobArgument,
    deliverable: KeyArgument,
    text: Annotated[str, typer.Option("--text", help="The client's notes.")] = "",
    file: Annotated[Path | None, typer.Option("--file", help="A text file with the client's notes.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record one round of client notes on the newest version."""
    from bizkit.domain.errors import BadInput
    from bizkit.services.deliverables import take_notes

    if bool(text) == bool(file):
        raise BadInput(wanted="the notes with --text or with --file", got="both" if text else "neither")
    if file is not None:
        try:
            text = file.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError):
            raise BadInput(wanted="a readable text file", got=file, field="--file") from None
    show(take_notes(studio_folder(studio), job, deliverable, text, day(on)), as_json, _one)


@app.command()
def approve(
    job: JobArgument,
    deliverable: KeyArgument,
    by: Annotated[str, typer.Option("--by", help="Who approved, on the client's side.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's approval of the newest version."""
    from bizkit.services.deliverables import approve_deliverable

    show(approve_deliverable(studio_folder(studio), job, deliverable, day(on), by=by), as_json, _one)
