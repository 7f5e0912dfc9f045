"""When licences rest because an invoice is unpaid: asked whenever a licence is read, so that all doors say the same.

It rests from the day of a reminder that says so - whose step suspends, of an invoice whose own terms let it, both
frozen in the reminder - until nothing is left of the invoice, and again while money for it is taken back.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.rights.rest import Rest
from bizkit.services.billing.paid import owed, read_account

if TYPE_CHECKING:
    from sqlalchemy import Connection


def rests(work: Connection, job: str | None = None) -> dict[str, tuple[Rest, ...]]:
    """Job -> the times at which its licence rests, of one job or all; those that never do are left out."""
    from bizkit.store.letters import suspending_reminders

    said = suspending_reminders(work)
    if not said:
        return {}
    account = read_account(work, job)
    found: dict[str, list[Rest]] = {}
    for key, bills in account.bills.items():
        for bill in bills:
            if bill.kind == "invoice" and bill.number in said:
                reminded = date.fromisoformat(said[bill.number])
                for since, settled in owed(bill, account.payments[bill.number], bills):
                    if settled is None or settled > reminded:
                        rest = Rest(max(since, reminded), settled, bill.number)
                        found.setdefault(key, []).append(rest)
    return {key: tuple(sorted(each, key=lambda rest: rest.since)) for key, each in found.items()}


def suspended(work: Connection, job: str, on: date) -> Rest | None:
    """Why the licence of a job rests on the day `on`, the longest rest; None where it does not."""
    return next((rest for rest in rests(work, job).get(job, ()) if on in rest), None)


def sent_reminders(work: Connection, invoice: str) -> list[tuple[str, date]]:
    """Reminders of an invoice that went out: name of the step and day."""
    from bizkit.store.letters import letters

    return [
        (one.document["step"], date.fromisoformat(one.on)) for one in letters(work, kind="reminder", about=invoice)
    ]
