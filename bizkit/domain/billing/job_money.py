"""What a job's money comes to: quoted, agreed changes, invoiced, credited, paid, left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.money import Money, total


@dataclass(frozen=True, slots=True)
class JobMoney:
    """All but `paid` and `left_to_pay` are net of tax; those two are gross. One currency, that of the quote.

    agreed: quoted and changes. late: interest and compensation for late payment, which change no price.
    left_to_invoice: agreed and late less invoiced plus credited; below zero is too much invoiced.
    left_to_pay: gross invoiced less credited, prepaid and paid.
    """

    quoted: Money
    changes: Money
    agreed: Money
    late: Money
    invoiced: Money
    credited: Money
    left_to_invoice: Money
    invoiced_gross: Money
    paid: Money
    left_to_pay: Money

    def data(self) -> JobMoneyData:
        """As JSON-ready data."""
        return {
            "currency": self.quoted.currency,
            "quoted": self.quoted.text,
            "changes": self.changes.text,
            "agreed": self.agreed.text,
            "late": self.late.text,
            "invoiced": self.invoiced.text,
            "credited": self.credited.text,
            "left_to_invoice": self.left_to_invoice.text,
            "invoiced_gross": self.invoiced_gross.text,
            "paid": self.paid.text,
            "left_to_pay": self.left_to_pay.text,
        }


def job_money(
    quoted: Money,
    changes: Sequence[Money],
    papers: Sequence[Issued],
    payments: Sequence[Payment],
    late: Sequence[Money] = (),
) -> JobMoney:
    """Add up a job. papers, payments: those of the job. late: charged for late payment.

    Raises RuleBroken for a second currency.
    """
    currency = quoted.currency
    invoices = [paper for paper in papers if paper.sign > 0]
    notes = [paper for paper in papers if paper.sign < 0]
    changed = total(changes, currency)
    invoiced = total((paper.net for paper in invoices), currency)
    credited = total((paper.net for paper in notes), currency)
    # What an invoice asks for in all: its gross, with the minor unit by which a deposit is rounded.
    asked = total((paper.due + paper.received_before for paper in invoices), currency)
    gross = asked - total((paper.gross for paper in notes), currency)
    prepaid = total((paper.received_before for paper in invoices), currency)
    paid = total((payment.amount for payment in payments), currency) + prepaid
    agreed, interest = quoted + changed, total(late, currency)
    return JobMoney(
        quoted.rounded(),
        changed.rounded(),
        agreed.rounded(),
        interest.rounded(),
        invoiced.rounded(),
        credited.rounded(),
        (agreed + interest - invoiced + credited).rounded(),
        gross.rounded(),
        paid.rounded(),
        (gross - paid).rounded(),
    )


class JobMoneyData(TypedDict):
    """The sums of a job as JSON."""

    currency: str
    quoted: str
    changes: str
    agreed: str
    late: str
    invoiced: str
    credited: str
    left_to_invoice: str
    invoiced_gross: str
    paid: str
    left_to_pay: str
