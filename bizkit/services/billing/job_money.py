"""What the money of a job comes to: quoted, agreed changes, invoiced, credited, paid, left. It always adds up."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.job_money import JobMoney, JobMoneyData, job_money
from bizkit.domain.billing.records import Issued as Paper
from bizkit.domain.money import Money, total
from bizkit.services.billing.earlier import papers_of
from bizkit.services.billing.fell_away import fell_away
from bizkit.services.job.charges import WAIVED, charge_rows, of_late_payment
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.store.jobs import Job


def money_of_job(work: Connection, job: Job) -> JobMoney:
    """The sums of a job, given its row."""
    return _money(work, job)[0]


def agreed_of(work: Connection, job: Job) -> Money:
    """What a job comes to by now, net: the quote and all changes, no interest. Without a document being read."""
    changes = (Money(one["net"], job.currency) for one in _changes(work, job)[0])
    return (Money.from_minor(job.net_minor, job.currency) + total(changes, job.currency)).rounded()


#: What changed the price, and what was charged for late payment.
_Changes = tuple[list["ChangeRow"], list["ChangeRow"]]


def _changes(work: Connection, job: Job) -> _Changes:
    """What the job comes to more or less than was quoted: charges that stand, and the quote that fell away.

    Behind it what was charged for late payment, which is no change of the price.
    """
    from bizkit.store.spent import called_off_jobs

    key, currency = job.key, job.currency
    quoted = Money.from_minor(job.net_minor, currency)
    rows = charge_rows(work, key)
    changes: list[ChangeRow] = []
    late: list[ChangeRow] = []
    interest = of_late_payment(rows)
    for row in rows:
        if row["state"] != WAIVED:
            (late if row["id"] in interest else changes).append(
                {
                    "source": row["source"], "what": row["item"], "net": row["amount"], "state": row["state"],
                    "why": row["why"],
                }
            )  # fmt: skip
    for one in called_off_jobs(work, key):
        if one.kind == "cancel":
            less = total(fell_away(work, job).values(), currency)
            changes.append(
                {
                    "source": f"cancelled on {one.notice_on}",
                    "what": "The fee stands in place of the quote",
                    "net": (less - quoted).rounded().text,
                    "state": "",
                    "why": one.reason,
                }
            )
            break
    return changes, late


def _money(work: Connection, job: Job) -> tuple[JobMoney, _Changes, list[BillOnFile]]:
    from bizkit.store.payments import payments

    key, currency, (changes, late) = job.key, job.currency, _changes(work, job)
    quoted = Money.from_minor(job.net_minor, currency)
    documents = papers_of(work, key)
    papers = [Paper.from_document(one) for one in documents]
    paid = [each for one in papers if one.sign > 0 for each in payments(work, one.number)]
    sums = [[Money(one["net"], currency) for one in each] for each in (changes, late)]
    return job_money(quoted, sums[0], papers, paid, sums[1]), (changes, late), documents


def _that_change(changes: list[ChangeRow], currency: str) -> list[ChangeRow]:
    """The changes without those that a credit note took off and left to invoice again, which come to nothing."""
    sums: dict[str, Money] = {}
    for one in changes:
        sums[one["source"]] = sums.get(one["source"], Money(0, currency)) + Money(one["net"], currency)
    return [one for one in changes if not one["source"].startswith("credit note ") or sums[one["source"]]]


def show_job_money(folder: StudioFolder, job: str) -> JobMoneyShown:
    """The money of a job with every change and every paper it is added up from."""
    from bizkit.services.billing.balances import balances
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        row = the_job(work, job)
        sums, (changes, late), documents = _money(work, row)
        now = balances(work, row.key)
    return {
        "job": row.key,
        "title": row.title,
        "quote": row.quote_number,
        **sums.data(),
        "agreed_changes": _that_change(changes, row.currency),
        "late_payments": _that_change(late, row.currency),
        "papers": [
            {
                "number": one["number"],
                "kind": one["kind"],
                "what": one["reason"] if one["kind"] == "credit_note" else one["stage"]["title"],
                "issued_on": one["issued_on"],
                "net": one["net"],
                "gross": one["gross"],
                "left": now[one["number"]].left.text if one["number"] in now else "",
            }
            for one in documents
        ],
    }


class JobMoneyShown(JobMoneyData):
    """The money of a job with every change and paper it is added up from."""

    job: str
    title: str
    quote: str
    agreed_changes: list[ChangeRow]
    late_payments: list[ChangeRow]
    papers: list[PaperOfMoney]


class ChangeRow(TypedDict):
    """What changed what a job comes to, and why."""

    source: str
    what: str
    net: str
    state: str
    why: str


class PaperOfMoney(TypedDict):
    """A paper of a job; left: to pay of it, empty for a credit note."""

    number: str
    kind: str
    what: str
    issued_on: str
    net: str
    gross: str
    left: str
