"""`bizkit deliverable`: look at files, send versions, take and answer notes, agree further rounds, approve."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.progress import progress_bar
from bizkit.cli.remarks import remark, remarks
from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    shorten,
    show,
    studio_folder,
    table,
)
from bizkit.cli.typed_text import LINES
from bizkit.cli.verdicts import verdicts
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.delivery.deliverables import DeliverableRow, Identified
    from bizkit.services.delivery.notes import DeliverableShown, NotesTaken

app = typer.Typer(
    help="Promised cuts and stills: versions, notes, approval.", no_args_is_help=True, add_completion=False
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
KeyArgument = Annotated[str, typer.Argument(metavar="DELIVERABLE", help="The deliverable's key.")]


def deliverable_table(rows: Sequence[Mapping[str, Any]]) -> list[str]:
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
            f"{many(row['days_late'], 'day')} late"
            if row["days_late"]
            else row["approved_on"] and f"on {row['approved_on']}",
        ]
        for row in rows
    ]
    return table([head, *body])


def _one(row: Mapping[str, Any]) -> Iterator[str]:
    yield from deliverable_table([row])
    for each in row["extra_rounds"]:
        if not each["answer"]:
            price = amount(each["price"], row["currency"]) if each["price"] else "no price yet"
            yield (
                f"Look: round {each['number']} goes beyond the {row['rounds_included']} included: {price}. "
                f"It waits for a yes: bizkit deliverable agree {row['job']} {row['key']} --by NAME"
            )
    if row["silence"] == "waiting":
        yield f"An answer is due by {row['answer_by']}."
    elif row["silence"] == "remind":
        yield f"No answer since {row['answer_by']}: remind the client. Silence is no approval."
    elif row["silence"] == "approved":
        yield (
            f"No answer since {row['answer_by']}: by the terms agreed, silence counts as approval. "
            f"Record it: bizkit deliverable approve {row['job']} {row['key']} --by silence"
        )
    for warning in row.get("warnings", []):
        yield f"Look: {warning}"


@app.command("list")
def list_(
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="One job; without it every open one.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Where each deliverable stands, when it is due, what is late."""
    from bizkit.services.delivery.deliverables import list_deliverables

    def text(rows: list[DeliverableRow]) -> Iterator[str]:
        if not rows:
            yield "Nothing is promised in an open job."
        of_job: dict[str, list[DeliverableRow]] = {}
        for row in rows:
            of_job.setdefault(row["job"], []).append(row)
        for number, (name, mine) in enumerate(of_job.items()):
            if number:
                yield ""
            yield name
            yield from deliverable_table(mine)

    show(list_deliverables(studio_folder(studio), day(on), job), as_json, text)


@app.command("show")
def show_(
    job: JobArgument,
    deliverable: KeyArgument,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """One deliverable whole: versions, notes with their answers, rounds, deadline."""
    from bizkit.services.delivery.notes import show_deliverable

    show(show_deliverable(studio_folder(studio), job, deliverable, day(on)), as_json, _whole)


@app.command()
def send(
    job: JobArgument,
    deliverable: KeyArgument,
    file: Annotated[Path, typer.Argument(help="The file or folder sent; its checksum is kept.")],
    to: Annotated[str, typer.Option("--to", help="Whom it was sent to.")] = "",
    how: Annotated[str, typer.Option("--how", help="The way it went: a link, a drive.")] = "",
    note: Annotated[str, typer.Option("--note", help="What is in this version.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that a file was sent as the next version."""
    from bizkit.services.delivery.sending import send_version

    with progress_bar(f"Reading {file.name}") as progress:
        done = send_version(
            studio_folder(studio, reason), job, deliverable, file, day(on),
            to=to, how=how, note=note, reason=reason, progress=progress,
        )  # fmt: skip
    show(done, as_json, _one)


@app.command()
def notes(
    job: JobArgument,
    deliverable: KeyArgument,
    text: Annotated[str, typer.Option("--text", metavar=LINES, help="The client's notes.")] = "",
    file: Annotated[
        Path | None, typer.Option("--file", help="A text file, or a table as CSV, with the client's notes.")
    ] = None,
    who: Annotated[str, typer.Option("--who", help="Whose notes they are.")] = "",
    ours: Annotated[bool, typer.Option("--ours", help="About our own mistakes only: they use up no round.")] = False,
    re_edit: Annotated[bool, typer.Option("--re-edit", help="Changes to what was approved: one more round.")] = False,
    version: Annotated[int | None, typer.Option("--version", help="The version they are about.")] = None,
    rate: Annotated[
        str, typer.Option("--rate", metavar="FPS", help="Frames a second of the timecodes: 25 or 30000/1001.")
    ] = "",
    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="WHAT=HEADING", help="Of a table: from, to, text or who is under HEADING."),
    ] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record client notes, with their timecodes. All notes between two sendings are one round.

    In a text each line is a note. A line right below one goes on with it where it is indented further, begins with
    a small letter, or the line above is 60 letters or longer and ends no sentence. Greetings, signatures (below "--")
    and quoted mail ("> ...", "On ... wrote:") are left out and shown. What is on record for the version is not taken
    again.
    """
    from bizkit.domain.errors import BadInput
    from bizkit.domain.work.notes import named_columns
    from bizkit.services.delivery.notes import read_notes_file, take_notes

    if bool(text) == bool(file):
        raise BadInput(wanted="the notes with --text or with --file", got="both" if text else "neither")
    table = False
    if file is not None:
        text, table = read_notes_file(file)
    done = take_notes(
        studio_folder(studio, reason), job, deliverable, text, day(on), who=who, ours=ours, re_edit=re_edit,
        version=version, rate=rate, columns=named_columns(column or []), table=table, where=file.name if file else "",
    )  # fmt: skip

    def lines(row: NotesTaken) -> Iterator[str]:
        yield from map(remark, row["taken"])
        yield from (f"Look: taken as a note on the whole: {line}" for line in row["unplaced"])
        if row["taken_before"]:
            yield f"Taken before, so not again: {' / '.join(row['taken_before'])}"
        if row["left_out"]:
            yield f"Left out, as no notes: {' / '.join(row['left_out'])}"
        if row["rate_from"] == "a guess":
            yield f"Look: timecodes are read at {row['rate']} frames a second, as nothing says: else give --rate"
        yield ""
        yield from _one(row)

    show(done, as_json, lines)


@app.command()
def answer(
    job: JobArgument,
    deliverable: KeyArgument,
    note: Annotated[
        list[int] | None, typer.Argument(metavar="[NOTE]...", help="Numbers of notes; without one all that are open.")
    ] = None,
    how: Annotated[str, typer.Option("--as", metavar="WHAT", help="done, declined or asked.")] = "done",
    text: Annotated[str, typer.Option("--text", metavar=LINES, help="What is said to the client.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Answer client notes one by one."""
    from bizkit.services.delivery.notes import answer_notes

    done = answer_notes(studio_folder(studio, reason), job, deliverable, note or [], day(on), answer=how, text=text)
    show(done, as_json, lambda row: remarks(row["remarks"]))


@app.command()
def agree(
    job: JobArgument,
    deliverable: KeyArgument,
    by: Annotated[str, typer.Option("--by", help="Who said so, on the client's side.")],
    no: Annotated[bool, typer.Option("--no", help="The client said no.")] = False,
    number: Annotated[int | None, typer.Option("--round", help="Which round; without it the first waiting.")] = None,
    price: Annotated[
        str, typer.Option("--price", metavar="AMOUNT", help="Another price than agreed; say why with --reason.")
    ] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's yes (or no) to a round beyond those included; a yes becomes a charge."""
    from bizkit.services.delivery.further_rounds import answer_round

    def text(row: DeliverableRow) -> Iterator[str]:
        done = next(each for each in reversed(row["extra_rounds"]) if each["answer"])
        if done["answer"] == "yes":
            yield f"Round {done['number']} of {row['key']} is agreed: see bizkit charge list {row['job']}"
        else:
            yield f"Round {done['number']} of {row['key']} is declined: it stays undone and uncharged."
        yield from _one(row)

    done = answer_round(
        studio_folder(studio, reason), job, deliverable, day(on),
        yes=not no, by=by, number=number, price=price, reason=reason,
    )  # fmt: skip
    show(done, as_json, text)


@app.command()
def approve(
    job: JobArgument,
    deliverable: KeyArgument,
    by: Annotated[str, typer.Option("--by", help="Who approved, on the client's side.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's approval of the newest version."""
    from bizkit.services.delivery.deliverables import approve_deliverable

    show(approve_deliverable(studio_folder(studio, reason), job, deliverable, day(on), by=by), as_json, _one)


@app.command()
def reopen(
    job: JobArgument,
    deliverable: KeyArgument,
    reason: Annotated[str, typer.Option("--reason", help="Why it was no approval; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back an approval recorded by mistake, while nothing was handed over or invoiced on it."""
    from bizkit.services.delivery.deliverables import reopen_deliverable

    done = reopen_deliverable(studio_folder(studio, reason), job, deliverable, day(on), reason=reason)
    show(done, as_json, _one)


@app.command()
def check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files, or folders of stills.")],
    job: Annotated[str, typer.Option("--job", help="The job whose deliverable it is.")] = "",
    deliverable: Annotated[str, typer.Option("--deliverable", help="The deliverable's key.")] = "",
    spec: Annotated[str, typer.Option("--spec", help="A delivery spec by name, in place of the one promised.")] = "",
    sheet: Annotated[Path | None, typer.Option("--sheet", help="Write a contact sheet here (.jpg or .png).")] = None,
    frames: Annotated[int, typer.Option("--frames", help="Pictures on the contact sheet.")] = 12,
    time_limit: Annotated[int | None, typer.Option("--time-limit", help="Seconds a file may take.")] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Look at files before the client does. Exit code 1 when something is wrong."""
    from bizkit.services.delivery.checking import check_files

    with progress_bar("Looking") as progress:
        done = check_files(
            studio_folder(studio, reason), files, day(on), job=job, key=deliverable, spec=spec, sheet=sheet,
            frames=frames, time_limit_s=time_limit, progress=progress,
        )  # fmt: skip
    show(done, as_json, verdicts)
    if done["wrong"] or done["no_sheet"]:
        raise typer.Exit(1)


@app.command()
def specs(studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """The delivery specs that briefs and checks may name: those shipped, and the studio's own in specs/."""

    def text(rows: list[dict[str, Any]]) -> Iterator[str]:
        head = ["SPEC", "KIND", "TITLE", "ASKS FOR"]
        yield from table([head, *([row["name"], row["kind"], row["title"], row["summary"]] for row in rows)])

    rows = [
        {"name": name, "kind": spec.kind, "title": spec.title, "summary": spec.summary, "about": spec.about}
        for name, spec in sorted(studio_folder(studio).specs.items())
    ]
    show(rows, as_json, text)


@app.command()
def verify(
    file: Annotated[Path, typer.Argument(help="A file, or a folder of stills.")],
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Which version a file is, by its checksum. Exit code 1 when it is none, or changed under the same name."""
    from bizkit.services.delivery.deliverables import identify_file

    def text(data: Identified) -> Iterator[str]:
        yield f"{data['name']}  {data['sha256']}"
        for one in data["is"]:
            what = "the final version" if one["final"] else "the newest" if one["newest"] else "not the newest"
            yield f"Version {one['version']} of {one['job']} {one['deliverable']}, sent {one['sent_on']}: {what}"
        for one in data["named"]:
            yield (
                f"NOT the file that was sent under this name on {one['sent_on']} as version {one['version']} of "
                f"{one['job']} {one['deliverable']}: its content changed"
            )
        if data["state"] == "unknown":
            yield "No version has this content or this name."

    with progress_bar(f"Reading {file.name}") as progress:
        done = identify_file(studio_folder(studio), file, progress)
    show(done, as_json, text)
    if done["state"] in ("changed", "unknown"):
        raise typer.Exit(1)


def _whole(row: DeliverableShown) -> Iterator[str]:
    yield from _one(row)
    yield f"Spec: {row['spec'] or 'none'}"
    if row["versions"]:
        yield ""
        yield "VERSIONS"
        yield from table(
            [
                [
                    f"v{one['number']}" + (" final" if one["number"] == row["final"] else ""),
                    one["file"],
                    f"sent {one['sent_on']}"
                    + (f" to {one['sent_to']}" if one["sent_to"] else "")
                    + (f" by {one['how']}" if one["how"] else ""),
                    one["sha256"][:12],
                    "not looked at"
                    if one["wrong"] is None
                    else f"{one['wrong']} wrong"
                    if one["wrong"]
                    else f"as asked by {one['against']}"
                    if one["against"]
                    else "as asked",
                    shorten(one["note"], 40),
                ]
                for one in row["versions"]
            ],
            indent=2,
        )
    if row["remarks"]:
        yield ""
        yield f"NOTES, {row['notes_open']} open"
        yield from remarks(row["remarks"])
