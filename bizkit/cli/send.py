"""`bizkit send`: a mail that is ready to go."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.einvoice import claims
from bizkit.cli.show import JsonOption, OnOption, ReasonOption, StudioOption, day, show, studio_folder

if TYPE_CHECKING:
    from bizkit.services.billing.mailing import MailWritten


app = typer.Typer(add_completion=False)


@app.command()
def send(
    name: Annotated[
        str, typer.Argument(metavar="NUMBER", help="Of a quote, invoice or credit note, or a letter's name.")
    ],
    out: Annotated[Path | None, typer.Option("--out", help="The .eml file; without it mail/ in the studio.")] = None,
    to: Annotated[list[str] | None, typer.Option("--to", help="Addresses; without it the client's.")] = None,
    einvoice: Annotated[
        str, typer.Option("--einvoice", help="Attach it as cii, ubl or hybrid; the client's own wish without it.")
    ] = "",
    by_server: Annotated[
        bool, typer.Option("--by-server", help="Send it too, by the server of studio.toml.")
    ] = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the mail that carries a paper, to open and send with your own mail program."""
    from bizkit.services.billing.mailing import write_mail

    def text(data: MailWritten) -> Iterator[str]:
        yield f"To {', '.join(data['to'])}: {data['subject']}"
        yield f"With {', '.join(one['name'] for one in data['attached'])}"
        if data["claims"]:
            yield from claims(data)
        yield f"{'Sent, kept as' if data['sent'] else 'Open it with your mail program:'} {data['file']}"

    done = write_mail(
        studio_folder(studio, reason), name, day(on), out=out, to=to or [], electronic=einvoice, by_server=by_server
    )
    show(done, as_json, text)
