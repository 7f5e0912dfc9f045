"""Income and costs by kind, by job and client, and in running totals of a tax year."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from dateutil.relativedelta import relativedelta

from bizkit.domain.billing.records import Cost, Issued, Period
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, round_half_away, total


def income_by_kind(
    papers: Iterable[Issued], period: Period, home: str, rates: Mapping[str, Decimal] | None = None
) -> dict[str, Money]:
    """Net income by kind of the papers issued in the period, credit notes taken off, in the home currency.

    Papers without a split count as "other". The largest comes first, a kind that comes to nothing is left out.
    """
    sums: dict[str, Money] = {}
    for paper in papers:
        if paper.issued_on not in period:
            continue
        for kind, amount in _split(paper, home, rates):
            sums[kind] = sums.get(kind, Money(0, home)) + amount * paper.sign
    return dict(
        sorted(((kind, sum_) for kind, sum_ in sums.items() if sum_), key=lambda one: (-one[1].amount, one[0]))
    )


def _split(paper: Issued, home: str, rates: Mapping[str, Decimal] | None) -> list[tuple[str, Money]]:
    """The paper's kinds in the home currency, adding up to its converted net exactly."""
    net = paper.at_home(paper.net, home, rates)
    positive = [(kind, amount) for kind, amount in paper.income if amount.amount > 0]
    if not positive or not net or any(amount.amount < 0 for _, amount in paper.income):
        kinds = list(paper.income) or [("other", paper.net)]
        return [(kind, paper.at_home(amount, home, rates)) for kind, amount in kinds]
    parts = net.allocate([amount.amount for _, amount in positive])
    return [(kind, part) for (kind, _), part in zip(positive, parts, strict=True)]


@dataclass(frozen=True, slots=True)
class Margin:
    """What a job or client brought: net income less costs. percent: of income, one decimal, None without income."""

    name: str
    income: Money
    costs: Money

    @property
    def margin(self) -> Money:
        """Income less costs."""
        return self.income - self.costs

    @property
    def percent(self) -> Decimal | None:
        """The margin as a share of income."""
        if self.income.amount <= 0:
            return None
        return round_half_away(self.margin.amount * 100 / self.income.amount, 1)

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "name": self.name,
            "income": self.income.text,
            "costs": self.costs.text,
            "margin": self.margin.text,
            "percent": None if self.percent is None else str(self.percent),
        }


def margins(
    papers: Iterable[Issued],
    costs: Iterable[Cost],
    home: str,
    *,
    by: Callable[[Issued], str],
    cost_by: Callable[[Cost], str],
    rates: Mapping[str, Decimal] | None = None,
) -> list[Margin]:
    """Margin per name, the largest first. by, cost_by: the name a paper or cost counts under ("" is left out).

    For jobs: `by=lambda paper: paper.job`. For clients, `cost_by` looks up the client of the cost's job.
    """
    zero = Money(0, home)
    income: dict[str, Money] = {}
    spent: dict[str, Money] = {}
    for paper in papers:
        name = by(paper)
        if name:
            income[name] = income.get(name, zero) + paper.at_home(paper.net, home, rates) * paper.sign
    for cost in costs:
        name = cost_by(cost)
        if name:
            spent[name] = spent.get(name, zero) + cost.net
    names = dict.fromkeys([*income, *spent])
    rows = [Margin(name, income.get(name, zero).rounded(), spent.get(name, zero).rounded()) for name in names]
    return sorted(rows, key=lambda row: (-row.margin.amount, row.name))


@dataclass(frozen=True, slots=True)
class Quarter:
    """Totals from the start of the tax year to `period.last`, and of the quarter alone."""

    period: Period
    income: Money
    costs: Money
    income_to_date: Money
    costs_to_date: Money

    def data(self) -> dict[str, str]:
        """As JSON-ready data."""
        return {
            "first": self.period.first.isoformat(),
            "last": self.period.last.isoformat(),
            "income": self.income.text,
            "costs": self.costs.text,
            "income_to_date": self.income_to_date.text,
            "costs_to_date": self.costs_to_date.text,
        }


def tax_year_quarters(start: date) -> tuple[Period, ...]:
    """The four quarters of the tax year that starts on `start` (6 April, or another day the studio's country has).

    >>> [str(quarter.last) for quarter in tax_year_quarters(date(2027, 4, 6))]
    ['2027-07-05', '2027-10-05', '2028-01-05', '2028-04-05']
    """
    if start.day > 28:
        raise BadInput(wanted="a tax year that starts on day 1 to 28 of a month", got=start, field="tax_year")
    edges = [start + relativedelta(months=3 * number) for number in range(5)]
    return tuple(Period(edges[n], edges[n + 1] - timedelta(days=1)) for n in range(4))


def quarterly_totals(
    income: Sequence[tuple[date, Money]], costs: Sequence[tuple[date, Money]], start: date, home: str
) -> list[Quarter]:
    """Running totals for income-tax updates: each quarter alone and the year to date.

    income, costs: dated amounts in the home currency, on the basis the studio uses (by payment for cash basis, by
    issue for traditional accounting; without the tax a registered studio charges). Updates by year to date: quarterly
    updates of Making Tax Digital for Income Tax, from memory.
    """
    result: list[Quarter] = []
    for quarter in tax_year_quarters(start):
        came = total((amount for day, amount in income if day in quarter), home)
        went = total((amount for day, amount in costs if day in quarter), home)
        before = result[-1] if result else None
        result.append(
            Quarter(
                quarter,
                came,
                went,
                came + before.income_to_date if before else came,
                went + before.costs_to_date if before else went,
            )
        )
    return result
