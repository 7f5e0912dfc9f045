"""`bizkit rights`: what may be sold, what is sold, and whether one lies inside the other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli import licences
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, amount, day, show, studio_folder, table

if TYPE_CHECKING:
    from bizkit.services.rights.clearance import RightsChecked
    from bizkit.services.rights.needs import ShownRow
    from bizkit.services.rights.uses import LicenceExplained, UseAnswer

app = typer.Typer(
    help="What may be sold, what is sold, and whether one lies inside the other.",
    no_args_is_help=True,
    add_completion=False,
)

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's key.")]
Named = list[str] | None


@app.command()
def link(
    job: JobArgument,
    deliverables: Annotated[
        Named, typer.Argument(metavar="[DELIVERABLE]...", help="What it is in: keys, a clip's title, or all.")
    ] = None,
    who: Annotated[Named, typer.Option("--who", help="Somebody who appears; again for more.")] = None,
    place: Annotated[Named, typer.Option("--place", help="Where it was shot.")] = None,
    music: Annotated[Named, typer.Option("--music", help="A tune in it: composition and recording.")] = None,
    crew: Annotated[Named, typer.Option("--crew", help="Somebody not of the studio who shot or made it.")] = None,
    performer: Annotated[Named, typer.Option("--performer", help="Whose performance is in it.")] = None,
    property_: Annotated[Named, typer.Option("--property", help="Property shown that needs a release.")] = None,
    artwork: Annotated[Named, typer.Option("--artwork", help="A work of art shown.")] = None,
    archive: Annotated[Named, typer.Option("--archive", help="Archive of others in it.")] = None,
    origin: Annotated[
        Named, typer.Option("--from", metavar="JOB/DELIVERABLE", help="What of ours an archive clip comes from.")
    ] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who and what is in each deliverable; without options show what is known.

    Each option gives the whole list of its kind for the deliverables named; "none" for nobody and nothing. A name, or
    the number of a paper on file. While nothing is said, everybody with a paper on file, and every place and all crew
    that the days and the brief name, are in every deliverable. An archive clip brings the needs of what it is --from.
    """
    from bizkit.services.rights.needs import list_shown, say_shown

    given = {
        "who": who, "place": place, "music": music, "crew": crew, "performer": performer, "property": property_,
        "artwork": artwork, "archive": archive, "from": origin,
    }  # fmt: skip
    said = {part: found for part, found in given.items() if found}
    folder = studio_folder(studio, reason)
    done = say_shown(folder, job, deliverables or [], said, day(on)) if said else list_shown(folder, job)
    show(done, as_json, _shown)


def _shown(rows: list[ShownRow]) -> Iterator[str]:
    head = ["DELIVERABLE", "", "IN IT", ""]
    body = [
        [
            row["work"],
            row["part"],
            "; ".join(row["names"]) or ("none" if row["said"] else "nobody has said"),
            "" if row["said"] or not row["names"] else "taken to be all",
        ]
        for row in rows
    ]
    yield from table([head, *body])


@app.command()
def check(job: JobArgument, on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Compare the licence with every paper on file: the exact part that is missing, and what to get."""
    from bizkit.services.rights.clearance import check_rights

    show(check_rights(studio_folder(studio), job, day(on)), as_json, _checked)


def _checked(data: RightsChecked) -> Iterator[str]:
    licence = data["licence"]
    if licence:
        yield f"{data['job']}: licence {licence['number']} of {licence['licensee']}, {licence['state']}"
    elif data["promised"]:
        yield f"{data['job']}: the licence of the quote, not granted yet"
    elif data["state"] == "cancelled":
        yield f"{data['job']}: cancelled; the licence of its quote was never granted"
    else:
        yield f"{data['job']}: the quote licenses nothing"
    if data["wanted"]["scope"]:
        yield f"Must be held: {data['wanted']['text']}"
    if data["promised"] or (licence and licence["state"] != "cancelled"):
        yield "CLEARED: everything granted is held." if data["cleared"] else "NOT CLEARED"
    for title, rows in (
        ("MISSING", data["gaps"]),
        ("NOT SAID YET", [{"text": one} for one in data["questions"]]),
        ("AGAINST OTHER LICENCES", data["conflicts"]),
        ("TO CLOSE IT", data["papers"]),
        ("SHOOT DAYS WITHOUT A PAPER", data["shoot"]),
        ("LOOK AT", [{"text": one} for one in (*data["warnings"], *data["hints"])]),
    ):
        if rows:
            yield ""
            yield title
            yield from (f"  {row['text']}" for row in rows)
    yield from licences.override_lines(data["overrides"])


@app.command()
def use(
    job: JobArgument,
    media: Annotated[list[str], typer.Option("--media", help="A medium; again for more.")],
    where: Annotated[list[str], typer.Option("--where", help="A country or region; again for more.")],
    work: Annotated[str, typer.Option("--work", metavar="DELIVERABLE", help="One work; without it all.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """May the client do this? Yes or no, because; for a no the price of the extension, before tax."""
    from bizkit.services.rights.uses import check_use

    show(check_use(studio_folder(studio), job, media, where, day(on), work_key=work), as_json, _used)


def _used(data: UseAnswer) -> Iterator[str]:
    if data["works"]:
        by_reason: dict[tuple[bool, str], list[str]] = {}
        for one in data["works"]:
            by_reason.setdefault((one["allowed"], one["because"]), []).append(one["title"])
        for (allowed, because), titles in by_reason.items():
            yes = "Yes, because" if data["held"] else "Yes by the licence, but not all it needs is held: "
            yield f"{yes if allowed else 'No, because'} {because} ({', '.join(titles)})".replace(":  ", ": ")
    else:
        yield "No, because nothing is licensed"
    yield from (f"The client keeps to this: {one}" for one in data["conditions"])
    looks = [data["hint"]] if data["hint"] else []
    yield from (f"Look: {look}" for look in [*looks, *data["look"]])
    extension = data["extension"]
    if extension:
        yield ""
        yield f"The extension: {extension['text']}"
        if extension["why_not"]:
            yield f"The rate card names no price: {extension['why_not']}"
        else:
            yield f"costs {amount(extension['net'], extension['currency'])} before tax:"
            for line in extension["lines"]:
                yield f"  {line['item']}: {amount(line['amount'], extension['currency'])}"
                yield f"    {line['why']}"
            yield f"Draft its quote with: {extension['offer']}"


@app.command()
def explain(job: JobArgument, on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """The licence in plain sentences that a client understands."""
    from bizkit.services.rights.uses import explain_licence

    def text(data: LicenceExplained) -> Iterator[str]:
        if not data["sentences"]:
            yield f"{data['job']}: the quote licenses nothing."
            return
        yield f"{data['title']}, for {data['licensee']}"
        yield from (f"  {sentence}" for sentence in data["sentences"])
        yield from (f"  The client keeps to this: {one}" for one in data["conditions"])
        yield ""
        if data["cancelled_on"] and not data["grants"]:
            yield f"The job was cancelled on {data['cancelled_on']}: nothing of this is granted."
        elif not data["grants"]:
            yield f"Not granted yet: bizkit rights grant {data['job']}"
        yield from licences.licence_lines(data["grants"])
        yield from (f"Look: {one}" for one in data["look"])
        yield from licences.override_lines(data["overrides"])

    show(explain_licence(studio_folder(studio), job, day(on)), as_json, text)


for command in licences.COMMANDS:
    app.command(command.__name__.rstrip("_").replace("_", "-"))(command)
