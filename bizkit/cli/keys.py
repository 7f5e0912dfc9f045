"""`bizkit keys`: what a settings file may say."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bizkit.cli.show import JsonOption, show

if TYPE_CHECKING:
    from bizkit.services.studio.input_files import KeyRow

app = typer.Typer(add_completion=False)

#: Columns of a line, and where what a key means begins.
WIDE, MARGIN = 80, 22


@app.command()
def keys(
    file: Annotated[str, typer.Argument(metavar="[FILE]", help="studio, client... Without it: the files.")] = "",
    table: Annotated[str, typer.Argument(metavar="[TABLE]", help="One table of it, such as tax.")] = "",
    schema: Annotated[bool, typer.Option("--schema", help="Print its JSON Schema, for editors.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Every key a settings file may have: what it means, what may stand there, what holds without it."""
    from dataclasses import asdict

    from bizkit.services.studio.input_files import INPUT_FILES, input_file, key_rows

    if not file:
        show(
            [{"file": one.name, "place": one.place, "about": one.about} for one in INPUT_FILES.values()],
            as_json,
            lambda rows: (f"{row['file']:<8} {row['place']:<18} {row['about']}" for row in rows),
        )
        return
    found = input_file(file)
    if schema:
        from bizkit.services.studio.input_files import schema_of

        typer.echo(schema_of(found), nl=False)
        return
    rows = key_rows(found, table)
    data = {"file": found.name, "place": found.place, "about": found.about, "keys": [asdict(row) for row in rows]}
    show(data, as_json, lambda data: _text(data, rows))


def _text(data: dict[str, Any], rows: list[KeyRow]) -> Iterator[str]:
    yield f"{data['place']}: {data['about']}."
    yield "A key with * must be there, and a table's only where the table is."
    heading = None
    for row in rows:
        if row.table != heading:
            heading = row.table
            yield ""
            if heading:
                yield f"{heading}  {row.about}"
        facts = row.value + (f"; without it {row.default}" if row.default else "")
        name = row.key + (" *" if row.required else "")
        lines = textwrap.wrap(facts, WIDE - MARGIN, break_on_hyphens=False)
        lines += textwrap.wrap(row.meaning, WIDE - MARGIN, break_on_hyphens=False)
        lines += [f"{row.key} = {row.example}"] if row.example else []
        for number, line in enumerate(lines):
            yield f"  {name if number == 0 else '':<{MARGIN - 3}} {line}"
