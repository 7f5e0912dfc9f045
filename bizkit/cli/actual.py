"""How quoted against actual is shown."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.cli.show import amount, short, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.shooting.actual import Actual


def against(data: Actual) -> Iterator[str]:
    """Sections: quoted, charged on top, spent, left; costs by kind; the margin where a floor is known."""
    currency = data["currency"]
    rows = [["", "QUOTED", "CHARGED ON TOP", "SPENT", "LEFT"]]
    for row in (*data["sections"], data["total"]):
        rows.append([row["section"], row["quoted"], row["charged"], row["spent"], row["left"]])
    yield f"{data['job']}, {currency} net"
    yield from table(rows, right=[1, 2, 3, 4], indent=2)
    if data["costs"]:
        yield ""
        yield "COSTS BY KIND"
        head = ["", "QUOTED", "SPENT", "LEFT"]
        body = [[one["kind"], one["quoted"], one["spent"], one["difference"]] for one in data["costs"]]
        yield from table([head, *body], right=[1, 2, 3], indent=2)
    if Decimal(data["late"]):
        yield f"  beside it, for late payment: {amount(data['late'], currency)}"
    yield ""
    yield f"Shoot days logged: {data['days']['logged']} of {data['days']['planned']}"
    if data["margin"]:
        for name, margin in (("as quoted", data["margin"]["quoted"]), ("so far", data["margin"]["so_far"])):
            yield (
                f"Margin {name}: {amount(margin['margin'], currency)}"
                + (f" ({margin['percent']} %)" if margin["percent"] else "")
                + f", {many(short(margin['days']), 'day')} at the floor of "
                + amount(margin["floor_per_day"], currency)
            )
