"""What a job's costs really cost the studio: in the money of the job, without the tax it gets back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.home_tax import tax_currency
from bizkit.domain.billing.input_tax import reclaimed, why_not
from bizkit.domain.money import Money
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.spent import Spent


@dataclass(frozen=True, slots=True)
class SpentCost:
    """A cost of a job. in_job: as on the receipt, in the job's currency; net: the same without what is reclaimed.

    tax, reclaimed: the tax noted inside it and what the studio's scheme gives back of it, in the tax office's money.
    """

    row: Spent
    in_job: Money
    net: Money
    tax: Money
    reclaimed: Money

    @property
    def number(self) -> int:
        """The number of the cost."""
        return int(self.row.id)


def spent_on(folder: StudioFolder, work: Connection, job: str | None = None) -> list[SpentCost]:
    """Costs in the order recorded, of one job or all, each with what it really costs the studio."""
    from bizkit.store.jobs import jobs
    from bizkit.store.overheads import input_taxes
    from bizkit.store.spent import costs

    currency_of = {row.key: row.currency for row in jobs(work, job)}
    inside, home = input_taxes(work), tax_currency(folder.studio)
    found = []
    rows = costs(work, job)
    bought_on = {row.id: date.fromisoformat(row.on) for row in rows}
    for row in rows:
        in_job = Money.from_minor(row.job_minor, currency_of[row.job])
        tax = inside.get(row.id)
        held = Money(tax.tax.text, tax.currency) if tax else Money(0, home).rounded()
        capital, on = bool(tax and tax.capital), bought_on[row.reverses or row.id]
        found.append(spent_cost(folder, row, in_job, held, capital=capital, on=on))
    return found


def spent_cost(
    folder: StudioFolder, row: Spent, in_job: Money, tax: Money, *, capital: bool = False, on: date | None = None
) -> SpentCost:
    """on: the day whose scheme gives its tax back, where that is another one than the row's own."""
    spent = Money(row.amount.text, row.currency)
    gross = spent if spent.currency == tax.currency else in_job
    bought_on = on or date.fromisoformat(row.on)
    back = reclaimed(folder.studio.tax, bought_on, gross, tax, capital=capital)
    net = in_job
    if back and spent.currency == back.currency:
        rate = Decimal(row.rate or 1)
        net = Money((spent - back).amount * rate, in_job.currency).rounded()
    elif back and in_job.currency == back.currency:
        net = (in_job - back).rounded()
    return SpentCost(row, in_job, net, tax, back)


def tax_data(folder: StudioFolder, cost: SpentCost) -> TaxData:
    """The tax inside a cost: what is reclaimed, why not, and what the cost comes to without that."""
    return {
        "tax": cost.tax.text,
        "tax_currency": cost.tax.currency,
        "reclaimed": cost.reclaimed.text,
        "why_not": why_not(folder.studio.tax, date.fromisoformat(cost.row.on)) if cost.tax else "",
        "net": cost.net.text,
    }


class TaxData(TypedDict):
    """The tax inside a cost, what of it is reclaimed, and the cost without that."""

    tax: str
    tax_currency: str
    reclaimed: str
    why_not: str
    net: str
