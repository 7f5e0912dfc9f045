"""`bizkit quote`: draft, send, answer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.called_off import cancelled, postponed
from bizkit.cli.show import (
    JsonOption,
    OnOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    short,
    shorten,
    show,
    studio_folder,
    table,
)
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.quoting.comparing import Compared
    from bizkit.services.quoting.drafts import Discarded
    from bizkit.services.quoting.floor import Margins
    from bizkit.services.quoting.quotes import AcceptedQuote, Drafted, Sent, ShownQuote
    from bizkit.services.quoting.reopening import Reopened
    from bizkit.services.quoting.states import QuoteRow

app = typer.Typer(help="Draft, send, accept or decline quotes.", no_args_is_help=True, add_completion=False)

NameArgument = Annotated[str, typer.Argument(metavar="QUOTE", help="Its number, or the key of its brief.")]
RevisionOption = Annotated[int | None, typer.Option("--revision", help="An older revision.")]


def margin_lines(data: Margins | None) -> Iterator[str]:
    """What a quote leaves the studio, for the studio alone; nothing without a floor."""
    if data is None:
        return
    for name, margin in (("Margin", data["margin"]), ("With the weather", data["with_weather"])):
        if margin:
            currency = margin["currency"]
            percent = f" ({margin['percent']} %)" if margin["percent"] else ""
            each = f"; {amount(margin['per_day'], currency)} a day" if margin["per_day"] else ""
            yield (
                f"{name}, for you alone: {amount(margin['margin'], currency)}{percent} over "
                f"{many(short(margin['days']), 'day')} at the floor of "
                f"{amount(margin['floor_per_day'], currency)}{each}"
            )
    if data["warning"]:
        yield f"Look: {data['warning']}"


@app.command()
def draft(
    brief: Annotated[Path, typer.Argument(help="The brief, a TOML file; also by name from briefs/.")],
    as_revision: Annotated[
        str,
        typer.Option(
            "--as-revision",
            metavar="REASON",
            help="Why it revises the quote of its key though client, or title and dates, are others.",
        ),
    ] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Price a brief and keep it as a draft; of the next revision when its key was sent before."""
    from bizkit.services.quoting.quotes import draft_quote

    def text(data: Drafted) -> Iterator[str]:
        document = data["document"]
        net, gross = (amount(document[name], document["currency"]) for name in ("net", "gross"))
        yield f"Draft of {data['key']}, revision {data['revision']}: {net} net, {gross} with tax"
        yield from margin_lines(data["margin"])
        for warning in (*document["warnings"], *data["clashes"]):
            yield f"Look: {warning}"
        yield f"Send it with: bizkit quote send {data['key']}"

    show(draft_quote(studio_folder(studio, near=brief), brief, day(on), as_revision=as_revision), as_json, text)


@app.command()
def discard(
    quote: NameArgument,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Throw a draft away; what was sent stays as it is."""
    from bizkit.services.quoting.drafts import discard_draft

    def text(data: Discarded) -> Iterator[str]:
        stays = f"; {data['number']} revision {data['revision']} stays" if data["number"] else ""
        yield f"Draft of {data['key']} thrown away{stays}."

    show(discard_draft(studio_folder(studio), quote, day(on), reason=reason), as_json, text)


@app.command("list")
def list_(on: OnOption = None, studio: StudioOption = None, as_json: JsonOption = False) -> None:
    """Every draft and every revision sent, with its state."""
    from bizkit.services.quoting.quote_list import list_quotes

    def text(rows: list[QuoteRow]) -> Iterator[str]:
        if not rows:
            yield "No quotes yet. Draft one with: bizkit quote draft BRIEF.toml"
            return
        head = ["NUMBER", "KEY", "REV", "STATE", "CLIENT", "TITLE", "TOTAL", "VALID UNTIL"]
        body = [
            [
                row["number"] or "-",
                row["key"],
                str(row["revision"]),
                row["state"],
                shorten(row["client"], 28),
                shorten(row["title"], 32),
                amount(row["gross"], row["currency"]),
                row["valid_until"],
            ]
            for row in rows
        ]
        yield from table([head, *body], right=[2, 6])

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
    from bizkit.services.quoting.quotes import show_quote

    def text(data: ShownQuote) -> Iterator[str]:
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
        if data["margin"]:
            yield ""
            yield from margin_lines(data["margin"])

    show(show_quote(studio_folder(studio), quote, day(on), revision=revision), as_json, text)


@app.command()
def send(
    quote: NameArgument,
    to: Annotated[str, typer.Option("--to", help="Whom it was sent to; kept in the book.")] = "",
    reason: Annotated[str, typer.Option("--reason", help="Why it goes out below the floor; kept in the book.")] = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Freeze the draft, draw its number, write its PDF. What was sent never changes; changes are a new revision."""
    from bizkit.services.quoting.quotes import send_quote

    def text(data: Sent) -> Iterator[str]:
        yield (
            f"{data['number']} revision {data['revision']}: {amount(data['gross'], data['currency'])}, "
            f"valid until {data['valid_until']}"
        )
        yield f"Paper: {data['file']}"
        margin = [data["margin"]["warning"]] if data["margin"] else []
        for warning in (*margin, *data["looks"], *data["clashes"]):
            if warning:
                yield f"Look: {warning}"

    show(send_quote(studio_folder(studio, reason), quote, day(on), to=to, reason=reason), as_json, text)


@app.command()
def accept(
    quote: NameArgument,
    by: Annotated[str, typer.Option("--by", help="Who accepted, on the client's side.")] = "",
    option: Annotated[
        list[str] | None, typer.Option("--option", metavar="KEY", help="The choice or add-on taken; again for more.")
    ] = None,
    reason: ReasonOption = "",
    revision: RevisionOption = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record the client's yes and open the job. A lapsed quote needs --reason, one with open choices --option."""
    from bizkit.services.quoting.quotes import accept_quote

    def text(data: AcceptedQuote) -> Iterator[str]:
        if data["chosen"]:
            document = data["document"]
            yield f"With {', '.join(data['chosen'])}: {amount(document['gross'], document['currency'])} with tax."
        yield f"{data['number']} revision {data['revision']} accepted. Job {data['job']} is open."
        if data["file"]:
            yield f"Paper: {data['file']}"
        for look in data["looks"]:
            yield f"Look: {look}"
        if not data["by"]:
            yield (
                f"Look: the book does not say who accepted. Until something is issued on it: bizkit quote reopen "
                f"{data['key']} --reason WHY, then accept with --by NAME"
            )
        yield f"See what is due and missing with: bizkit job show {data['job']}"

    done = accept_quote(
        studio_folder(studio, reason), quote, day(on), reason=reason, by=by, revision=revision, options=option or ()
    )
    show(done, as_json, text)


@app.command()
def compare(
    quote: NameArgument,
    before: Annotated[int | None, typer.Option("--from", metavar="REVISION", help="The older revision.")] = None,
    after: Annotated[
        int | None, typer.Option("--to", metavar="REVISION", help="The newer one; a draft counts.")
    ] = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """What changed between two revisions, by how much, and why; without numbers the last step."""
    from bizkit.services.quoting.comparing import compare_quotes

    def text(data: Compared) -> Iterator[str]:
        currency = data["currency"]
        name = f"{data['number']} revision {data['from']} to {data['to']}" + (
            " (draft)" if data["to_is_draft"] else ""
        )
        step = amount(data["difference"], currency)
        yield f"{name}: {amount(data['net_before'], currency)} -> {amount(data['net_after'], currency)} net, {step}"
        for line in data["lines"]:
            yield ""
            yield f"  {line['kind']} {line['section']}: {line['item']}: {line['before']} -> {line['after']}"
            yield f"    {line['why']}"
        if data["other"]:
            yield ""
        for one in data["other"]:
            yield f"  {one['what']}: {one['before'] or 'nothing'} -> {one['after'] or 'nothing'}"
        if not data["lines"] and not data["other"]:
            yield "  nothing changed"

    show(compare_quotes(studio_folder(studio), quote, before=before, after=after), as_json, text)


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
    from bizkit.services.quoting.quotes import decline_quote

    done = decline_quote(studio_folder(studio, reason), quote, day(on), reason=reason, by=by)
    show(done, as_json, lambda data: [f"{data['number']} revision {data['revision']} declined."])


@app.command()
def reopen(
    quote: NameArgument,
    reason: Annotated[str, typer.Option("--reason", help="Why it was no answer; kept in the book.")],
    preview: Annotated[bool, typer.Option("--preview", help="Only say whether it can be.")] = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back a yes or no recorded by mistake, while nothing was issued, sent, logged or spent on it."""
    from bizkit.services.quoting.reopening import reopen_quote

    def text(data: Reopened) -> Iterator[str]:
        would = "would be " if data["preview"] else ""
        yield (
            f"{data['number']} revision {data['was_revision']}, {data['was']} on {data['was_answered_on']}, {would}"
            f"taken back. Revision {data['revision']} {'would be' if would else 'is'} {data['state']}, "
            f"valid until {data['valid_until']}."
        )

    done = reopen_quote(studio_folder(studio, reason), quote, day(on), reason=reason, preview=preview)
    show(done, as_json, text)


PreviewOption = Annotated[bool, typer.Option("--preview", help="Only say what it would cost; nothing is recorded.")]
ByOption = Annotated[str, typer.Option("--by", help="Who gave notice, on the client's side.")]


@app.command()
def cancel(
    quote: NameArgument,
    by: ByOption = "",
    reason: ReasonOption = "",
    post_done: Annotated[
        str,
        typer.Option("--post-done", metavar="PERCENT", help="How much of the post-production is done, to be paid."),
    ] = "",
    preview: PreviewOption = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cancel: the job ends with the fee of the card's scale; a quote nobody accepted is taken back without one."""
    from bizkit.services.shooting.calling_off import cancel_quote

    done = cancel_quote(
        studio_folder(studio, reason),
        quote,
        day(on),
        by=by,
        reason=reason,
        post_done=post_done,
        preview=preview,
    )
    show(done, as_json, cancelled)


@app.command()
def postpone(
    quote: NameArgument,
    to: Annotated[
        str, typer.Option("--to", metavar="YYYY-MM-DD", help="New first shoot day; without it the dates are open.")
    ] = "",
    lost: Annotated[
        list[int] | None,
        typer.Option("--lost", metavar="COST", help="A cost spent in vain, by its number; again for more."),
    ] = None,
    by: ByOption = "",
    reason: ReasonOption = "",
    preview: PreviewOption = False,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Postpone a job: the fee of the card's scale, and new dates for the days still to come."""
    from bizkit.domain.dates import iso_date
    from bizkit.services.shooting.calling_off import postpone_quote

    done = postpone_quote(
        studio_folder(studio, reason),
        quote,
        day(on),
        to=iso_date(to, field="--to") if to else None,
        lost=tuple(lost or ()),
        by=by,
        reason=reason,
        preview=preview,
    )
    show(done, as_json, postponed)
