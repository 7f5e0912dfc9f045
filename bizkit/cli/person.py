"""`bizkit person`: whose personal data is kept, why, and until when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, shorten, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.rights.erasing import Erasure
    from bizkit.services.rights.person_file import PersonExported
    from bizkit.services.rights.person_list import PersonRow
    from bizkit.services.rights.person_set import PersonSet

app = typer.Typer(
    help="Whose personal data is kept, on what basis, for what, until when.",
    no_args_is_help=True,
    add_completion=False,
)

PersonArgument = Annotated[str, typer.Argument(metavar="PERSON", help="The name, or person-NUMBER.")]


@app.command("list")
def list_(
    due: Annotated[bool, typer.Option("--due", help="Only those kept longer than was said.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Everybody on record: lawful basis, purpose, until when, the papers that name them."""
    from bizkit.services.rights.person_list import list_persons

    def text(rows: list[PersonRow]) -> Iterator[str]:
        if not rows:
            yield "Nobody." if not due else "Nobody is kept longer than was said."
            return
        head = ["", "NAME", "BASIS", "PURPOSE", "KEEP UNTIL", "PAPERS"]
        yield from table([head, *map(_cells, rows)])

    rows = [row for row in list_persons(studio_folder(studio), day(on)) if not due or row["overdue"]]
    show(rows, as_json, text)


def _cells(row: Mapping[str, Any]) -> list[str]:
    kept = "as long as a licence runs" if row["keep_until"] is None else row["keep_until"]
    until = f"erased {row['erased_on']}" if row["erased_on"] else kept
    return [
        f"person-{row['id']}",
        shorten(row["name"], 30),
        row["basis"],
        shorten(row["purpose"], 48),
        until + (", overdue" if row["overdue"] else ""),
        ", ".join(str(one) for one in row["papers"]),
    ]


@app.command("set")
def set_(
    person: PersonArgument,
    basis: Annotated[
        str, typer.Option("--basis", help="Lawful basis: consent, contract, legitimate interests...")
    ] = "",
    purpose: Annotated[str, typer.Option("--purpose", help="What it is kept for.")] = "",
    keep_until: Annotated[str, typer.Option("--keep-until", metavar="YYYY-MM-DD", help="When to look again.")] = "",
    born: Annotated[str, typer.Option("--born", metavar="YYYY-MM-DD", help="Date of birth, where needed.")] = "",
    email: Annotated[str, typer.Option("--email", help="How to reach them.")] = "",
    phone: Annotated[str, typer.Option("--phone", help="How to reach them.")] = "",
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put somebody on record, or change on what basis, for what and how long they are kept.

    A date of birth decides about every paper they signed or that is about them, also those filed before. Another one
    than is on record needs --reason.
    """
    from bizkit.domain.dates import iso_date
    from bizkit.services.rights.person_set import set_person_by_hand

    done = set_person_by_hand(
        studio_folder(studio, reason), person, day(on), basis=basis, purpose=purpose, email=email, phone=phone,
        reason=reason,
        until=iso_date(keep_until, field="--keep-until") if keep_until else None,
        born=iso_date(born, field="--born") if born else None,
    )  # fmt: skip

    def text(row: PersonSet) -> Iterator[str]:
        yield from table([_cells(row)])
        yield from (f"Look: {one}" for one in row["look"])

    show(done, as_json, text)


@app.command()
def export(
    person: PersonArgument,
    to: Annotated[Path, typer.Option("--to", metavar="FOLDER", help="Where to write; made when it is not there.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put together everything kept about somebody, filed papers included, for them to have."""
    from bizkit.services.rights.person_file import export_person

    def text(data: PersonExported) -> Iterator[str]:
        yield from (f"Wrote {name}" for name in data["files"])
        found = data["person"]
        yield f"{many(len(found['papers']), 'paper')}; also named in {len(found['also_named_in'])} other records"
        yield from _not_looked_into(data)

    show(export_person(studio_folder(studio), person, to, day(on)), as_json, text)


@app.command()
def erase(
    person: PersonArgument,
    reason: Annotated[
        str, typer.Option("--reason", help="Why, such as: asked by letter; kept without the name.")
    ] = "",
    yes: Annotated[bool, typer.Option("--yes", help="Do it. Without this, only say what would happen.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Erase somebody: keep what the law requires and say why, take out the rest, files included."""
    from bizkit.services.rights.erasing import erase_person, plan_erasure

    folder = studio_folder(studio, reason)
    done = erase_person(folder, person, day(on), reason=reason) if yes else plan_erasure(folder, person, day(on))
    show(done, as_json, _erased)


def _erased(data: Erasure) -> Iterator[str]:
    done = data.get("done", False)
    yield f"{data['name']} ({data['person']}): {'erased' if done else 'this would happen'}"
    for row in data["kept"]:
        yield f"  stays: {row['what']}: {row['why']}"
    if data["kept_until"] != "":
        until = "as long as the licence runs" if data["kept_until"] is None else f"until {data['kept_until']}"
        yield f"  {until}; date of birth and contacts go now"
    for number in data["papers_erased"]:
        yield f"  {'taken out' if done else 'goes'}: paper {number}"
    for name in data["files_deleted"]:
        yield f"  {'deleted' if done else 'goes'}: {name}"
    for name in data["change_by_hand"]:
        yield f"  change by hand: {name}"
    if data["change_by_hand"]:
        yield "  These name them and may hold somebody else or another thing: look at each, then change or delete it."
    yield from _not_looked_into(data)
    if done:
        yield "Copies outside this folder (backups, mail, what was handed over) are yours to deal with."
    else:
        yield "Do it with --yes --reason WHY. Check with whoever advises you on data protection first."


def _not_looked_into(data: PersonExported | Erasure) -> Iterator[str]:
    from bizkit.domain.how_many import how_many

    many = {"link to another place": "links to other places"}
    kinds = [how_many(number, kind, many.get(kind, "")) for kind, number in data["not_looked_into"].items()]
    if kinds:
        yield f"  could not be looked into: {', '.join(kinds)}: open those that may name or show them"
