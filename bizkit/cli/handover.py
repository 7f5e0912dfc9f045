"""`bizkit handover`: files leave with their checksums and a delivery note, and are checked again later."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.progress import progress_bar
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.delivery.handovers import FolderHeld, HandedOver, HandoverRow

app = typer.Typer(
    help="Hand files over with checksums and a delivery note; check them later.",
    no_args_is_help=True,
    add_completion=False,
)


@app.command()
def make(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")],
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder or drive with the files.")],
    to: Annotated[str, typer.Option("--to", help="Whom it goes to.")] = "",
    how: Annotated[str, typer.Option("--how", help="The way it goes: a drive, a link.")] = "",
    mhl: Annotated[bool, typer.Option("--mhl", help="Write an ASC media hash list too.")] = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write SHA256SUMS and a delivery note into a folder of final files, and record it."""
    from bizkit.services.delivery.handovers import hand_over

    def text(data: HandedOver) -> Iterator[str]:
        files = f"{many(data['files'], 'file')} handed over, the note among them"
        yield f"{data['number']}: {files}: {', '.join(data['deliverables'])}"
        yield f"Checksums: {data['manifest']}"
        yield f"Paper: {data['note']}"
        yield from (f"Look: {warning}" for warning in data["warnings"])

    with progress_bar(f"Reading {folder.name}") as progress:
        done = hand_over(
            studio_folder(studio, reason),
            job,
            folder,
            day(on),
            to=to,
            how=how,
            reason=reason,
            media_hash_list=mhl,
            progress=progress,
        )
    show(done, as_json, text)


@app.command()
def verify(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder that was handed over.")],
    note: Annotated[
        str, typer.Option("--note", help="A delivery note's number: its list is taken from the book.")
    ] = "",
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Read every file again and hold it against the list. Exit code 1 when something is not as it left."""
    from bizkit.domain.errors import BadInput
    from bizkit.services.delivery.handovers import verify_folder

    try:
        book = studio_folder(studio)
    except BadInput:
        if studio is not None or note:
            raise
        book = None  # the client's machine: the list beside the files is all there is

    def text(data: FolderHeld) -> Iterator[str]:
        for word in ("changed", "missing", "extra"):
            yield from (f"{word}: {name}" for name in data[word])
        yield from (f"moved: {name} lies at {found}" for name, found in data["moved"])
        if data["state"] == "list changed":
            yield "The list itself is not the one that was handed over: name its delivery note with --note"
        if data["state"] == "not recorded":
            yield "No handover of it is on record: it was stopped before, or this is an older copy of the book"
        whose = f" as handed over in {data['number']} on {data['on']}" if data["in_book"] else ""
        if data["state"] == "whole":
            are = "is" if len(data["intact"]) == 1 else "are"
            yield f"{many(len(data['intact']), 'file')} {are} intact{whose}."

    with progress_bar(f"Reading {folder.name}") as progress:
        done = verify_folder(folder, folder=book, note=note, progress=progress)
    show(done, as_json, text)
    if done["state"] != "whole":
        raise typer.Exit(1)


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it all of them.")] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """What was handed over when, to whom and how."""
    from bizkit.services.delivery.handovers import list_handovers

    def text(rows: list[HandoverRow]) -> Iterator[str]:
        if not rows:
            yield "Nothing was handed over yet. Do it with: bizkit handover make JOB FOLDER"
            return
        yield from table(
            [
                [
                    row["number"],
                    row["job"],
                    row["on"],
                    f"{many(row['files'], 'file')}",
                    row["folder"],
                    row["how"],
                    row["sent_to"],
                ]
                for row in rows
            ]
        )
        for row in rows:
            if row["reason"] and row["against"]:
                yield f"{row['number']} left all the same, because {row['reason']}: {'; '.join(row['against'])}"

    show(list_handovers(studio_folder(studio), job), as_json, text)
