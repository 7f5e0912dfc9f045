"""`bizkit status`: the whole business on one screen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, shorten, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.overview.status import Status


app = typer.Typer(add_completion=False)


@app.command()
def status(
    within: Annotated[
        int, typer.Option("--within", min=0, max=3650, help="Days ahead to look for what ends or falls due.")
    ] = 60,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """One screen: owed to me, due from me, papers missing, papers ending."""
    from bizkit.services.overview.status import studio_status

    show(studio_status(studio_folder(studio), day(on), within), as_json, _screen)


def _screen(data: Status) -> Iterator[str]:
    yield f"{data['studio']}, {data['on']}"
    if data["practice"]:
        yield "A practice studio (studio.toml): dates after today are taken without a reason. Not for real business."
    yield ""
    totals = ", ".join(amount(one["owed"], one["currency"]) for one in data["owed_totals"]) or "nothing"
    yield f"OWED TO ME: {totals}"
    yield from table(
        [
            [
                row["number"],
                shorten(row["client"], 30),
                amount(row["balance"], row["currency"]),
                f"{many(row['days_late'], 'day')} late" if row["days_late"] else f"to pay by {row['due_on']}",
            ]
            for row in data["owed"]
        ],
        right=[2],
        indent=2,
    )
    if data["to_invoice"]:
        yield ""
        yield "TO INVOICE NOW"
        yield from table(
            [
                [row["job"], row["title"], amount(row["net"], row["currency"]), row["why"]]
                for row in data["to_invoice"]
            ],
            right=[2],
            indent=2,
        )
    if data["to_credit"]:
        yield ""
        yield "TO CREDIT NOW: bizkit invoice settle JOB"
        yield from table(
            [
                [row["job"], row["title"], amount(row["net"], row["currency"]), row["why"]]
                for row in data["to_credit"]
            ],
            right=[2],
            indent=2,
        )
    if data["to_pay_back"]:
        yield ""
        yield "TO PAY BACK: bizkit payment refund INVOICE, once it has left your account"
        yield "  or, set against a new bill of the same client: bizkit payment transfer INVOICE NEW"
        yield from table(
            [
                [row["number"], shorten(row["client"], 30), amount(row["sum"], row["currency"]), row["job"]]
                for row in data["to_pay_back"]
            ],
            right=[2],
            indent=2,
        )
    yield ""
    yield "DUE FROM ME" if data["due"] else "DUE FROM ME: nothing"
    yield from table(
        [
            [
                row["job"],
                shorten(row["title"], 34),
                row["state"],
                f"{many(row['days_late'], 'day')} late" if row["days_late"] else row["due"] or "no date yet",
            ]
            for row in data["due"]
        ],
        indent=2,
    )
    if data["waiting"]:
        yield ""
        yield "WAITING FOR THE CLIENT'S WORD"
        yield from table([[row["job"], row["what"]] for row in data["waiting"]], indent=2)
    if data["quotes"]:
        yield ""
        yield "QUOTES WAITING FOR AN ANSWER"
        yield from table(
            [
                [row["number"], shorten(row["client"], 30), amount(row["gross"], row["currency"]), row["until"]]
                for row in data["quotes"]
            ],
            right=[2],
            indent=2,
        )
    yield ""
    if data["licences"]:
        yield "LICENCES"
        yield from table(
            [
                [row["job"], row["licence"] or "-", row["state"], "cleared" if row["cleared"] else "NOT CLEARED"]
                for row in data["licences"]
            ],
            indent=2,
        )
        yield ""
    yield "PAPERS MISSING" if data["missing"] else "PAPERS MISSING: none"
    yield from table([[row["job"], row["missing"]] for row in data["missing"]], indent=2)
    yield ""
    yield (
        f"ENDING WITHIN {data['within']} DAYS" if data["ending"] else f"ENDING WITHIN {data['within']} DAYS: nothing"
    )
    yield from table([[row["on"], row["job"], row["what"]] for row in data["ending"]], indent=2)
