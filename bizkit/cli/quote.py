"""`bizkit quote`: draft, send, answer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

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

app = typer.Typer(help="Draft, send, accept or decline quotes.", no_args_is_help=True, add_completion=False)

NameArgument = Annotated[str, typer.Argument(metavar="QUOTE", help="Its number, or the key of its brief.")]
RevisionOption = Annotated[int | None, typer.Option("--revision", help="An older revision.")]


@app.command()
def draft(
    brief: Annotated[Path, typer.Argument(help="The brief, a TOML file; also by name from briefs/.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Price a brief and keep it as a draft; of the next revision when its key was sent before."""
    from bizkit.services.quotes import draft_quote

    def text(data: dict[str, Any]) -> Iterator[str]:
        document = data["document"]
        net, gross = (amount(document[name], document["currency"]) for name in ("net", "gross"))
        yield f"Draft of {data['key']}, revision {data['revision']}: {net} net, {gross} with tax"
        for warning in document["warnings"]:
            yield f"Look: {warning}"
        yield f"Send it with: bizkit quote send {data['key']}"

    show(draft_quote(studio_folder(studio), brief, day(on)), as_json, text)


@app.command("list")
def list_(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every draft and every revision sent, with its state."""
    from bizkit.services.quotes import list_quotes

    def text(rows: list[dict[str, Any]]) -> Iterator[str]:
        if not rows:
            yield "No quotes yet. Draft one with: bizkit quote draft BRIEF.toml"
            return
        head = ["NUMBER", "REV", "STATE", "CLIENT", "TITLE", "TOTAL", "VALID UNTIL"]
        body = [
            [
                row["number"] or row["key"],
                str(row["revision"]),
                row["state"],
                shorten(row["client"], 28),
                shorten(row["title"], 32),
                amount(row["gross"], row["currency"]),
                row["valid_until"],
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[1, 5])

    show(list_quotes(studio_folder(studio), day(on)), as_json, text)


@app.command("show")
def show_(
    quote: NameArgument,
    revision: RevisionOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """One quote whole: lines, reasons, sums, stages, licence."""
    from bizkit.cli.price import priced
    from bizkit.services.quotes import show_quote

    def text(data: dict[str, Any]) -> Iterator[str]:
        document = data["document"]
        name = data["number"] or data["key"]
        client = document["client"]["name"]
        yield f"{name} revision {data['revision']}: {document['title']} for {client} ({data['state']})"
        if data["number"]:
            yield f"Sent {data['issued_on']}, valid until {data['valid_until']}. Paper: {data['file']}"
        yield ""
        yield from priced(document)
        if document["licence"]:
            yield ""
            yield "LICENCE"
            for sentence in document["licence"]["sentences"]:
                yield f"  {sentence}"

    show(show_quote(studio_folder(studio), quote, day(on), revision=revision), as_json, text)


@app.command()
def send(
    key: Annotated[str, typer.Argument(metavar="KEY", help="The key of the drafted brief.")],
    to: Annotated[str, typer.Option("--to", help="Whom it was sent to; kept in the book.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Freeze the draft, draw its number, write its PDF. What was sent never changes; changes are a new revision."""
    from bizkit.services.quotes import send_quote

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield (
            f"{data['number']} revision {data['revision']}: {amount(data['gross'], data['currency'])}, "
            f"valid until {data['valid_until']}"
        )
        yield f"Paper: {data['file']}"

    show(send_quote(studio_folder(studio), key, day(on), to=to), as_json, text)


@app.command()
def accept(
    quote: NameArgument,
    by: Annotated[str, typer.Option("--by", help="Who accepted, on the client's side.")] = "",
    reason: ReasonOption = "",
    revision: RevisionOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's yes and open the job. A lapsed quote needs --reason."""
    from bizkit.services.quotes import accept_quote

    def text(data: dict[str, Any]) -> Iterator[str]:
        yield f"{data['number']} revision {data['revision']} accepted. Job {data['job']} is open."
        yield f"See what is due and missing with: bizkit job show {data['job']}"

    done = accept_quote(studio_folder(studio), quote, day(on), reason=reason, by=by, revision=revision)
    show(done, as_json, text)


@app.command()
def decline(
    quote: NameArgument,
    reason: ReasonOption = "",
    by: Annotated[str, typer.Option("--by", help="Who declined, on the client's side.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's no."""
    from bizkit.services.quotes import decline_quote

    done = decline_quote(studio_folder(studio), quote, day(on), reason=reason, by=by)
    show(done, as_json, lambda data: [f"{data['number']} revision {data['revision']} declined."])
