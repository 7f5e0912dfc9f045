"""What reports are worked out from: papers, payments, costs and journeys of the whole book, read once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.home_tax import tax_currency
from bizkit.domain.billing.input_tax import reclaimed
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Cost, money_in
from bizkit.domain.billing.records import Issued as Paper
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, round_half_away
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.registrations import TaxStatus
    from bizkit.store.jobs import Job
    from bizkit.store.spent import Spent


@dataclass(frozen=True, slots=True)
class Books:
    """home: the currency of the tax office. names: client key -> name as last printed.

    costs: in home money, the tax inside apart where it is reclaimed. status: how the studio stands towards the tax.
    """

    home: str
    papers: list[Paper]
    payments: list[Payment]
    costs: list[Cost]
    jobs: dict[str, Job]
    names: dict[str, str]
    status: TaxStatus

    @property
    def money_in(self) -> list[Payment]:
        """All money that came in or went back, deposits too; `payments` are those of issued invoices alone."""
        return money_in(self.papers, self.payments)

    def client_of(self, job: str) -> str:
        """The client of a job, empty when there is no such job."""
        return self.jobs[job].client if job in self.jobs else ""


def read_books(folder: StudioFolder, work: Connection) -> Books:
    """Everything that reports need. Raises RuleBroken for a cost in money that no rate leads home from."""
    from bizkit.store.issued import each_document
    from bizkit.store.jobs import jobs
    from bizkit.store.payments import payments

    home = tax_currency(folder.studio)
    rows = {row.key: row for row in jobs(work)}
    papers: list[Paper] = []
    rates: dict[str, Decimal] = {}
    names: dict[str, str] = {}
    for one in each_document(work, "invoice", "credit_note"):
        papers.append(Paper.from_document(one))
        names[one["client"]["key"]] = one["client"]["name"]
        if one.get("tax_in"):
            rates[one["job"]] = Decimal(one["tax_in"]["rate"])
    return Books(
        home,
        papers,
        payments(work),
        [as_reclaimed(one, folder.studio.tax) for one in job_costs(work, rows, rates, home) + overhead_costs(work)],
        rows,
        names,
        folder.studio.tax,
    )


def as_reclaimed(cost: Cost, status: TaxStatus) -> Cost:
    """The cost with the tax inside it apart only where the studio gets it back: else all of it is a cost.

    Nothing before registration or without one; in the flat-rate scheme only that of large capital goods.
    """
    back = reclaimed(status, cost.bought_on, cost.gross, cost.tax, capital=cost.capital)
    return replace(cost, net=(cost.gross - back).rounded(), tax=back)


def job_costs(work: Connection, jobs: Mapping[str, Job], rates: Mapping[str, Decimal], home: str) -> list[Cost]:
    """Costs of jobs in home money, the tax inside them apart.

    A cost in the home currency counts as on its receipt; another by its amount in the job's currency and the rate of
    the job's newest invoice.
    """
    from bizkit.store.overheads import input_taxes
    from bizkit.store.spent import costs

    inside = input_taxes(work)
    result = []
    for row in costs(work):
        gross = _at_home(row, jobs[row.job], rates, home)
        tax = inside.get(row.id)
        inside_it = Money(tax.tax.amount if tax else 0, home).rounded()
        on = date.fromisoformat(row.on)
        result.append(
            Cost(
                on,
                row.supplier,
                row.kind,
                (gross - inside_it).rounded(),
                inside_it,
                on,
                row.job,
                bool(tax and tax.goods),
                bool(tax and tax.capital),
                f"cost {row.id}",
                row.what,
                row.receipt,
                f"cost {row.reverses}" if row.reverses else "",
            )
        )
    return result


def _at_home(row: Spent, job: Job, rates: Mapping[str, Decimal], home: str) -> Money:
    if row.currency == home:
        return Money(row.amount.text, home)
    in_job = Money.from_minor(row.job_minor, job.currency)
    if job.currency == home:
        return in_job
    if row.job not in rates:
        raise RuleBroken(
            f"cost {row.id} of {row.job} is in {row.currency} and no invoice of the job has a rate "
            f"to {home}: issue one first, with --home-rate"
        )
    digits = len(Money(0, home).text.partition(".")[2])
    return Money(round_half_away(in_job.amount * rates[row.job], digits), home)


def overhead_costs(work: Connection) -> list[Cost]:
    """Costs of the business that belong to no job."""
    from bizkit.store.overheads import overheads

    return [
        Cost(
            date.fromisoformat(row.on),
            row.supplier,
            row.kind,
            Money(row.net.text, row.currency),
            Money(row.tax.text, row.currency),
            date.fromisoformat(row.paid_on),
            "",
            bool(row.goods),
            bool(row.capital),
            f"overhead {row.id}",
            row.what,
            row.receipt,
        )
        for row in overheads(work)
    ]


def bank_fees(books: Books) -> list[Cost]:
    """What banks kept of payments on the way, in home money: a cost of the job on the day of the payment."""
    papers = {one.number: one for one in books.papers}
    nothing = Money(0, books.home).rounded()
    return [
        Cost(
            one.received_on, "bank", "bank fee", papers[one.invoice].fee_of(one, books.home), nothing,
            one.received_on, papers[one.invoice].job, number=f"payment of {one.invoice}", what="kept by the bank",
        )
        for one in books.payments
        if one.fee
    ]  # fmt: skip


def journey_costs(folder: StudioFolder, work: Connection, home: str) -> list[Cost]:
    """Own journeys as the mileage table prices them, those in home money."""
    from bizkit.services.billing.mileage_log import journey_rows

    nothing = Money(0, home).rounded()
    return [
        Cost(
            date.fromisoformat(row["on"]), row["who"], "mileage", Money(row["amount"], home), nothing,
            date.fromisoformat(row["on"]), row["job"], number=f"journey {row['number']}", what=row["purpose"],
        )
        for row in journey_rows(folder, work)
        if row["currency"] == home
    ]  # fmt: skip
