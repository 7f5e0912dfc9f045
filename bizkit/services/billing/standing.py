"""What a job has to invoice or to credit beyond its stages: charges, and the fee of a cancelled job.

The fee of a cancelled job stands in place of the quote. It is set against what was invoiced before once: by an
invoice, or by credit notes where more was invoiced than is owed. After that only later charges are left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.money import Money, total
from bizkit.services.billing.job_money import money_of_job
from bizkit.services.job.called_off import cancelled_on
from bizkit.services.job.charges import OPEN, charge_rows

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.job.charges import ChargeRow
    from bizkit.store.jobs import Job


@dataclass(frozen=True, slots=True)
class Standing:
    """What a job has to invoice beyond its stages, net, in its currency.

    cancelled_on: empty where it was not. charges: those open. before: invoiced for the quote and to be set against
    the fee of a cancelled job; nothing once it is settled. net: to invoice, below zero to credit.
    """

    job: str
    cancelled_on: str
    settled: bool
    charges: tuple[ChargeRow, ...]
    before: Money
    net: Money

    @property
    def settles(self) -> bool:
        """Whether the next invoice or credit note sets the fee against what was invoiced before."""
        return bool(self.cancelled_on) and not self.settled


def standing(work: Connection, job: Job) -> Standing:
    """Where a job stands, given its row."""
    key, currency = job.key, job.currency
    from bizkit.store.register import bills

    gone, papers = cancelled_on(work, key), bills(work, key)
    charges = tuple(one for one in charge_rows(work, key) if one["state"] == OPEN)
    owed = total((Money(one["amount"], currency) for one in charges), currency)
    undone = {one.credits for one in papers if one.undoes}
    settled = any(one.settles for one in papers if one.number not in undone)
    if not gone or settled:
        return Standing(key, gone, settled, charges, Money(0, currency).rounded(), owed.rounded())
    left = money_of_job(work, job).left_to_invoice
    return Standing(key, gone, settled, charges, (owed - left).rounded(), left)


def to_invoice(work: Connection, job: Job, *, stages_left: bool) -> tuple[list[ToInvoice], list[ToInvoice]]:
    """What a job has to invoice now beyond its stages, and what to credit: rows of title, net and why.

    stages_left: whether a stage is still to be invoiced, which less charges can be taken off.
    """
    found = standing(work, job)
    rows = [_row(job, row["item"], row["amount"], f"charge {row['id']}, {row['source']}") for row in found.charges]
    if found.settles and found.before:
        why = f"cancelled on {found.cancelled_on}: the fee stands in place of the quote"
        rows.append(_row(job, "Less what was invoiced before", (-found.before).text, why))
    if found.net.amount < 0 and not stages_left:
        owed = total((Money(row["amount"], job.currency) for row in found.charges), job.currency)
        what = f"cancelled on {found.cancelled_on}" if found.cancelled_on else "given back"
        why = f"{found.before} was invoiced, {owed} is owed" if found.settles else f"{-owed} is given back"
        return [], [_row(job, what, (-found.net).text, why)]
    return rows, []


def _row(job: Job, title: str, net: str, why: str) -> ToInvoice:
    return {"job": job.key, "currency": job.currency, "title": title, "net": net, "why": why}


class ToInvoice(TypedDict):
    """Something to invoice or to credit, net, and why."""

    job: str
    currency: str
    title: str
    net: str
    why: str
