"""Settling a job: the invoice of what it owes beyond its stages, or the credit notes of what it is owed back."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.lines import CREDIT_NOTE
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.billing.agreed import check_agreed
from bizkit.services.billing.balances import balance_of, find_invoice
from bizkit.services.billing.charge_invoice import issue_charges
from bizkit.services.billing.credit_notes import SETTLES, credited, issue_credit_note
from bizkit.services.billing.fee_tax import refuse_taxed_before
from bizkit.services.billing.given_back import credits_for
from bizkit.services.billing.issuing import Asked, Made
from bizkit.services.billing.job_money import money_of_job
from bizkit.services.billing.standing import Standing, standing
from bizkit.services.job.jobs import the_job
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording, words_of

if TYPE_CHECKING:
    from bizkit.services.billing.bill_made import BillMade
    from bizkit.services.billing.credit_notes import CreditMade


def settle_job(folder: StudioFolder, job: str, on: date, *, reason: str = "", asked: Asked = Asked()) -> Settled:
    """Invoice every open charge of a job, or credit what it comes to below nothing; of a cancelled job, all there is.

    reason: printed on credit notes; without it they say what stays. asked: for an invoice. Raises RuleBroken where
    nothing is left to invoice or to credit.
    """
    from bizkit.services.studio.filing import write_papers
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.charges import set_charge_invoice

    stamp = folder.stamp(on)
    made: list[Made] = []
    rows: list[CreditMade] = []
    with folder.book.work() as work:
        row = the_job(work, job)
        stood = standing(work, row)
        refuse_unwritten(folder, work, kind=CREDIT_NOTE, about=stood.job)
        if not stood.charges and stood.net.amount >= 0:
            raise RuleBroken(f"{stood.job}: nothing is left to invoice or to credit beyond its stages")
        refuse_taxed_before(folder, work, stood.job, stood.charges, stamp.on.isoformat(), asked)
        if stood.net.amount < 0:  # what stays of the invoices bills the charges
            check_agreed(work, stamp, row, stood.charges, asked.agreed)
        for number, lines in credits_for(work, stood) if stood.net.amount < 0 else ():
            invoice = find_invoice(work, number)
            words = words_of(folder, invoice.document)
            note = issue_credit_note(
                folder, work, stamp, invoice, lines,
                reason=reason.strip() or _why(words, stood), effect=SETTLES, notes=_stays(words, stood),
            )  # fmt: skip
            made.append(note)
            rows.append(credited(note, balance_of(work, invoice)))
        for charge in stood.charges if made else ():
            set_charge_invoice(work, charge["id"], made[-1].document["number"])
    write_papers([note.paper for note in made])
    bill = None if made else issue_charges(folder, job, on, asked=asked)
    with folder.book.read() as work:
        left = money_of_job(work, the_job(work, job)).left_to_invoice
    return {
        "job": stood.job,
        "currency": stood.net.currency,
        "invoice": bill,
        "credit_notes": rows,
        "left_to_invoice": left.text,
    }


def _why(words: Wording, stood: Standing) -> str:
    """The reason printed on a credit note, in the client's language."""
    if stood.cancelled_on:
        return words.say("credits.cancelled", date=words.day(stood.cancelled_on))
    return "; ".join(words.dated(row["item"]) for row in stood.charges)


def _stays(words: Wording, stood: Standing) -> list[str]:
    """What the fee of a cancelled job is made of, since it is billed by what stays of the invoices."""
    if not stood.settles:
        return []
    currency = stood.net.currency
    owed = total((Money(row["amount"], currency) for row in stood.charges), currency)
    lines = [f"{words.dated(row['item'])}: {words.money(row['amount'], currency)}" for row in stood.charges]
    return [words.say("credits.stays", amount=words.money(owed.rounded().text, currency)), *lines]


class Settled(TypedDict):
    """What settling a job issued: an invoice or credit notes, and what is left."""

    job: str
    currency: str
    invoice: BillMade | None
    credit_notes: list[CreditMade]
    left_to_invoice: str
