"""Whether a licence rests because an invoice is unpaid: asked by whatever hands work over or proves a licence.

It rests from the day of a reminder whose step suspends, where the invoice itself says so (`suspends_licence`, frozen
from the studio's terms when it was issued), until nothing is left of the invoice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.billing.reminders import licence_suspended
from bizkit.services.billing.balances import balances
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Suspension:
    """A licence at rest since a day (inclusive) for an invoice."""

    since: date
    invoice: str

    @property
    def text(self) -> str:
        """Why, in one line."""
        return f"the licence rests since {self.since}: {self.invoice} is unpaid after the last reminder"


def suspended(folder: StudioFolder, work: Connection, job: str, on: date) -> Suspension | None:
    """Whether the licence of a job rests on the day `on`, as the book stands now; None where it does not."""
    from bizkit.store.issued import of_kind

    found = []
    now = balances(work, job)
    for one in of_kind(work, "invoice", key=job):
        if one.document.get("suspends_licence"):
            since = licence_suspended(folder.studio.reminders, now[one.number].left, sent_reminders(work, one.number))
            if since is not None and since <= on:
                found.append(Suspension(since, one.number))
    return min(found, key=lambda each: each.since) if found else None


def sent_reminders(work: Connection, invoice: str) -> list[tuple[str, date]]:
    """Reminders of an invoice that went out: name of the step and day."""
    from bizkit.store.letters import letters

    return [
        (one["document"]["step"], date.fromisoformat(one["on"]))
        for one in letters(work, kind="reminder", about=invoice)
    ]
