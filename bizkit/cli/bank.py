"""`bizkit bank`: statements of the account, and what each movement pays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import (
    JsonOption,
    OnOption,
    OwedAgainOption,
    ReasonOption,
    StudioOption,
    amount,
    day,
    shorten,
    show,
    studio_folder,
    table,
)
from bizkit.domain.errors import BadInput

if TYPE_CHECKING:
    from bizkit.services.billing.bank_rows import (
        EntryBooked,
        MayBeOf,
        MovementBooked,
        MovementDecided,
        MovementRow,
        SuggestionRow,
        SureBooked,
    )
    from bizkit.services.billing.bank_statements import MovementAlike, MovementSeen, StatementRead
    from bizkit.services.billing.bank_sums import SumRow


app = typer.Typer(
    help="Read bank statements; book what they pay, only when you say so.", no_args_is_help=True, add_completion=False
)

MovementArgument = Annotated[int, typer.Argument(metavar="MOVEMENT", help="Its number in bizkit bank list.")]


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="CSV by your columns in studio.toml, or camt.053 XML.")],
    bank: Annotated[str, typer.Option("--bank", help="Which [statement.NAME] of studio.toml.")] = "",
    currency: Annotated[str, typer.Option("--currency", help="Of the account, where the file does not say.")] = "",
    take: Annotated[
        list[int] | None,
        typer.Option("--take", metavar="LINE", help="This line was left out, and is a movement; repeatable."),
    ] = None,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Read a statement. Nothing is booked, and what was read before is passed over."""
    from bizkit.services.billing.bank_statements import import_statement, refused

    def text(data: StatementRead) -> Iterator[str]:
        if data["refused"]:
            yield f"{data['file']}: refused, nothing of it was read"
            return
        left = f", {len(data['left_out'])} left out" if data["left_out"] else ""
        counts = f"{data['movements']} movements, {data['new']} new, {data['seen_before']} read before{left}"
        yield f"{data['file']}: {counts}"
        yield from _movements(data["rows"])
        yield from _read_before(data["read_before"])
        for one in data["left_out"]:
            yield f"left out, {one['place']}: {one['why']}: {shorten(one['said'], 70)}"
        if any(one["place"].startswith("line ") for one in data["left_out"]):
            yield "If one of these lines is a movement: bizkit bank import FILE --take LINE"
        yield from _alike(data["alike"])
        if data["ahead"]:
            yield f"{len(data['ahead'])} movements are dated after today: is date_format under [statement] right?"
        if data["new"]:
            yield "Nothing is booked yet: bizkit bank book MOVEMENT"

    try:
        done = import_statement(
            studio_folder(studio, reason), file, day(on), bank=bank, currency=currency, take=take or []
        )
    except BadInput as error:
        show(refused(file, error), as_json, text)
        raise
    show(done, as_json, text)


#: Movements read before that are named one by one; of more only how many (`--json` has them all).
SHOWN = 20


def _alike(rows: list[MovementAlike]) -> Iterator[str]:
    for row in rows[:SHOWN]:
        said = f"{row['on']}  {amount(row['amount'], row['currency'])}  {shorten(row['said'], 40)}"
        where = f" ({row['account']})" if row["account"] else ""
        yield f"perhaps read before: movement {row['entry']} has day and sum of movement {row['as']}{where}: {said}"
    if len(rows) > SHOWN:
        yield f"perhaps read before: {len(rows) - SHOWN} more, named with --json"
    if rows:
        yield "If it is the same money: bizkit bank aside MOVEMENT --reason 'read before'"
    if any(row["account"] != row["of"] for row in rows):
        yield "If it is one account, read from CSV and from camt.053: write its iban under [statement.NAME]"


def _read_before(rows: list[MovementSeen]) -> Iterator[str]:
    for row in rows[:SHOWN]:
        said = f"{row['on']}  {amount(row['amount'], row['currency'])}  {shorten(row['said'], 50)}"
        yield f"read before, {row['place']}: {said} is movement {row['entry']}"
    if len(rows) > SHOWN:
        yield f"read before: {len(rows) - SHOWN} more, named with --json"


@app.command("list")
def list_(
    everything: Annotated[bool, typer.Option("--all", help="Those that are decided too.")] = False,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Movements that wait for a decision, each with what it may pay and why."""
    from bizkit.services.billing.bank import list_bank

    def text(rows: list[MovementRow]) -> Iterator[str]:
        yield from _movements(rows) if rows else ["No movement waits for a decision."]

    show(list_bank(studio_folder(studio), everything=everything), as_json, text)


def _movements(rows: Sequence[MovementRow]) -> Iterator[str]:
    for row in rows:
        original = f" ({amount(row['original'], row['original_currency'])})" if row["original"] else ""
        said = " ".join(part for part in (row["name"], row["reference"], row["text"]) if part)
        state = "" if row["state"] == "open" else f"  {row['state']}: {row['reason']}"
        head = f"{row['entry']:>4}  {row['on']}  {amount(row['amount'], row['currency'])}{original}"
        yield f"{head}  {shorten(said, 60)}{state}"
        yield from _same(row)
        if row["names"]:
            yield f"        names {row['names']['invoice']}, which is {row['names']['state']}"
        yield from _suggestions(row["suggestions"])


def _same(row: EntryBooked | MayBeOf | MovementRow) -> Iterator[str]:
    for group in ([one] for one in row["same"]):
        yield _may_be(row["entry"], group)
    for group in row["together"]:
        yield _may_be(row["entry"], group)


def _may_be(movement: int, sums: Sequence[SumRow]) -> str:
    said = [
        f"payment {one['payment']} of {one['on']}, {amount(one['amount'], one['currency'])} for "
        f"{', '.join(one['invoices'])}"
        for one in sums
    ]
    options = " ".join(f"--payment {one['payment']}" for one in sums)
    return f"        may be {' and '.join(said)}, recorded by hand: bizkit bank book {movement} {options}"


def _suggestions(suggestions: Sequence[SuggestionRow]) -> Iterator[str]:
    for one in suggestions:
        parts = ", ".join(f"{part['invoice']} {amount(part['amount'], part['currency'])}" for part in one["parts"])
        yield f"        may pay {parts}: {'; '.join(one['why'])} ({one['score']} of 100)"


@app.command()
def book(
    movement: Annotated[
        int | None, typer.Argument(metavar="[MOVEMENT]", help="Its number; without it see --sure.")
    ] = None,
    invoices: Annotated[
        list[str] | None, typer.Option("--invoice", metavar="NUMBER[=AMOUNT]", help="What it pays; repeatable.")
    ] = None,
    sure: Annotated[
        bool, typer.Option("--sure", help="Every movement that names an invoice and has exactly its sum.")
    ] = False,
    yes: Annotated[
        bool, typer.Option("--yes", help="Book what is suggested, where more than the amount speaks for it.")
    ] = False,
    payments: Annotated[
        list[str] | None,
        typer.Option(
            "--payment", metavar="PAYMENT", help="The sum, recorded by hand, that it is; again where it is several."
        ),
    ] = None,
    another: Annotated[
        bool, typer.Option("--another", help="It is another sum than the equal one recorded by hand.")
    ] = False,
    fee: Annotated[
        str, typer.Option("--fee", metavar="AMOUNT", help="What a bank kept on the way, in the invoice's currency.")
    ] = "",
    accept_over: Annotated[bool, typer.Option("--accept-over", help="Take more than is left.")] = False,
    owed_again: OwedAgainOption = False,
    reason: ReasonOption = "",
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Book a movement on invoices. Without --invoice, --payment or --yes it only shows what would be booked."""
    from bizkit.services.billing.bank import book_entry, book_sure

    def text(data: EntryBooked) -> Iterator[str]:
        if "is" in data:
            same = " and ".join(f"payment {one['payment']} of {one['on']}" for one in data["is"])
            yield f"Movement {data['entry']} is {same}: nothing is booked twice"
            return
        if data["booked"] is None:
            yield from _same(data)
            yield from _suggestions(data["suggestions"])
            found = bool(data["suggestions"])
            yield f"Nothing is booked: say {'--yes, or ' if found else ''}which with --invoice"
            return
        yield from _booked(data["booked"])

    def all_text(data: SureBooked) -> Iterator[str]:
        for left in data["same"]:
            yield f"{left['entry']:>4}  is left:"
            yield from _same(left)
        for late in data["ahead"]:
            yield f"{late['entry']:>4}  is left: {late['why']}"
        if not yes:
            for found in data["found"]:
                yield f"{found['entry']:>4}"
                yield from _suggestions([found])
            yield f"{len(data['found'])} can be booked: say --yes" if data["found"] else "None is sure enough."
            return
        for done in data["booked"]:
            yield from _booked(done)
        yield f"{len(data['booked'])} booked"

    folder = studio_folder(studio, reason)
    if sure:
        if movement is not None or invoices or payments:
            raise BadInput(wanted="either a movement or --sure", got="both", field="--sure")
        show(book_sure(folder, day(on), yes=yes), as_json, all_text)
        return
    if movement is None:
        raise BadInput(wanted="a movement or --sure", got="neither", field="MOVEMENT")
    if payments and (invoices or fee):
        raise BadInput(wanted="either --payment or what is to be booked", got="both", field="--payment")
    done = book_entry(
        folder,
        movement,
        day(on),
        invoices=invoices or [],
        payments=payments or [],
        fee=fee,
        accept_over=accept_over,
        owed_again=owed_again,
        another=another,
        yes=yes,
    )
    show(done, as_json, text)


def _booked(done: MovementBooked) -> Iterator[str]:
    currency = done["currency"]
    for part in done["parts"]:
        yield (
            f"{part['number']}: {amount(part['amount'], currency)} booked, "
            f"{amount(part['balance'], currency)} left ({part['state']})"
        )


@app.command()
def aside(
    movement: MovementArgument,
    reason: Annotated[str, typer.Option("--reason", help="What it is; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Note that a movement is no client's payment."""
    from bizkit.services.billing.bank import set_aside

    show(set_aside(studio_folder(studio, reason), movement, day(on), reason=reason), as_json, _decided)


@app.command()
def reopen(
    movement: MovementArgument,
    reason: Annotated[str, typer.Option("--reason", help="Why; kept in the book.")],
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back what was decided about a movement; its payments are taken back too."""
    from bizkit.services.billing.bank_reopening import reopen as take_back

    show(take_back(studio_folder(studio, reason), movement, day(on), reason=reason), as_json, _decided)


def _decided(data: MovementDecided) -> Iterator[str]:
    yield from table([[f"Movement {data['entry']}", data["state"], data["reason"]]])
