"""What to look at again before a quote goes out: slips in its brief, and what its invoice would lack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.contents import Missing, missing_contents, no_account
from bizkit.domain.parties import Client
from bizkit.domain.pricing.second_look import look_at_brief, look_at_day, look_at_lines
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.estimate import Estimate


def look_at(
    folder: StudioFolder,
    client: Client,
    card: RateCard,
    brief: Brief,
    estimate: Estimate,
    document: Mapping[str, Any],
    on: date,
) -> list[str]:
    """A sentence for each thing to look at in a brief that is priced on a day, its client and the studio."""
    found = look_at_brief(brief, card, on, people=folder.studio.people, sector=client.sector)
    return [*found, *look_at_lines(estimate.lines), *lacking(document)]


def lacking(document: Mapping[str, Any]) -> list[str]:
    """What an invoice of a quote would be refused for, or could not be paid by: better known before the yes."""
    invoice = {**_SAID, **{name: document[name] for name in ("studio", "client", "taxes", "job")}}
    found = [
        f"an invoice of it would be refused, as it lacks {_before_the_yes(one)}"
        for one in missing_contents(invoice)
        if one.field.startswith(("studio.", "client."))
    ]
    return [*found, *no_account(document["studio"])]


def _before_the_yes(missing: Missing) -> Missing:
    """The same with what to do about it while nothing is agreed yet."""
    write = missing.write.partition(", then")[0]
    return replace(missing, write=f"{write}, then draft it again" if write else "")


#: What an invoice says of itself, as far as the parties have no part in it.
_SAID: Mapping[str, Any] = {
    "kind": "invoice",
    "number": "1",
    "tax_point": "1",
    "issued_on": "1",
    "lines": [{"item": "1", "quantity": "1", "rate": "1", "tax_rate": "1", "amount": "1"}],
    "net": "1",
    "tax": "0",
    "currency": "",
}


def look_at_dates(document: Mapping[str, Any], on: date) -> list[str]:
    """A sentence where a quote goes out, or is accepted, on a day after its work began."""
    from datetime import timedelta

    days = [(date.fromisoformat(day["date"]), day["count"]) for day in document["days"] if day["date"]]
    first = min((day for day, _ in days), default=None)
    last = max((day + timedelta(days=count - 1) for day, count in days), default=None)
    return look_at_day(first, last, on)
