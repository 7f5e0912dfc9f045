"""What of earlier credit notes falls away when a job is cancelled: a lower price of what was quoted goes with it.

The fee stands in place of the quote and of what was agreed to be less of it. It is worked out from the prices of the
quote, and is set against what the invoices came to once the credit notes were taken off. What falls away is written
down with the cancelling, by credit note; of later credit notes nothing does.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from bizkit.domain.money import Money, total
from bizkit.services.billing.earlier import bills_quote, papers_of
from bizkit.services.job.charges import WAIVED, charge_rows, of_charge, of_late_payment

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp

_NAME = "fell away with the quote: "


def let_fall(work: Connection, stamp: Stamp, job: Job) -> dict[str, str]:
    """Give up what credit notes of the quote's invoices left to invoice again; what falls away, for the working."""
    from bizkit.store.charges import charges, waive_charge

    papers, rows = papers_of(work, job.key), charges(work, job.key)
    quoted = {one["number"] for one in papers if one["kind"] == "invoice" and bills_quote(one)}
    fell: dict[str, str] = {}
    for note in papers:
        if note["kind"] != "credit_note" or note["credits"]["number"] not in quoted:
            continue
        left = [row for row in rows if row.source == f"credit note {note['number']}" and not of_charge(row)]
        again = [row for row in left if not row.invoice and not row.waived]
        for row in again:
            waive_charge(work, stamp, row.id, f"the job was cancelled on {stamp.on}: the fee stands in its place")
        stays = [row for row in left if row not in again and not row.waived]
        lowered = -total((Money(row.amount.text, job.currency) for row in stays), job.currency)
        if lowered.amount > 0:
            fell[f"{_NAME}{note['number']}"] = lowered.text
    return fell


def fell_away(work: Connection, job: Job) -> dict[str, Money]:
    """Credit note -> what of it fell away when the job was cancelled, net; nothing of a job that was not."""
    from bizkit.store.spent import called_off_jobs

    for one in called_off_jobs(work, job.key):
        if one.kind == "cancel":
            inputs: Mapping[str, str] = one.working.get("inputs", {})
            return {
                name.removeprefix(_NAME): Money(sum_, job.currency)
                for name, sum_ in inputs.items()
                if name.startswith(_NAME)
            }
    return {}


def charged_by_section(work: Connection, job: Job, *, lateness: bool = True) -> list[tuple[str, Money]]:
    """Section and net of every charge that stands, without what credit notes lowered of a quote that fell away.

    lateness: with what late payment costs, which is the price of no work.
    """
    fell = {f"credit note {number}": sum_ for number, sum_ in fell_away(work, job).items()}
    found = []
    rows = charge_rows(work, job.key)
    interest = set() if lateness else of_late_payment(rows)
    for row in rows:
        amount = Money(row["amount"], job.currency)
        if row["state"] != WAIVED and row["id"] not in interest:
            found.append((row["section"], amount))
        if row["source"] in fell and row["kind"] == "credit" and not row["working"].get("inputs"):
            part = min(fell[row["source"]], -amount)
            found.append((row["section"], part))
            fell[row["source"]] = fell[row["source"]] - part
    return found
