"""Income by kind, the tax of a period, running totals for income tax, the mileage log. None of it is tax advice."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from dateutil.relativedelta import relativedelta

from bizkit.domain.billing.flat_rate import first_year_of, flat_rate_due
from bizkit.domain.billing.income import income_by_kind, quarterly_totals
from bizkit.domain.billing.received import received_net
from bizkit.domain.billing.records import Issued, Period
from bizkit.domain.billing.return_boxes import OUTSIDE
from bizkit.domain.billing.tax_period import tax_period
from bizkit.domain.billing.tax_point import BY_PERFORMANCE
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, round_half_away, total
from bizkit.services.reports.books import Books, bank_fees, journey_costs, read_books
from bizkit.services.reports.shape import Report, in_whole, report
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import wording

if TYPE_CHECKING:
    from bizkit.services.billing.mileage_log import JourneyRow

#: First month and day of the tax year where it is not 1 January. United Kingdom: 6 April, gov.uk, from memory.
TAX_YEAR = {"GB": (4, 6), "IM": (4, 6)}


def tax_year_of(country: str, day: date) -> date:
    """First day of the tax year that `day` falls in.

    >>> tax_year_of("GB", date(2027, 4, 5))
    datetime.date(2026, 4, 6)
    """
    month, first = TAX_YEAR.get(country, (1, 1))
    start = date(day.year, month, first)
    return start if day >= start else date(day.year - 1, month, first)


def income(folder: StudioFolder, on: date, period: Period | None = None) -> Report:
    """Net income by kind of the papers issued in a period, the tax year up to `on` without one."""
    span = period or Period(tax_year_of(folder.studio.country, on), on)
    with folder.book.read() as work:
        books = read_books(folder, work)
    kinds = income_by_kind(books.papers, span, books.home)
    whole = total(kinds.values(), books.home)
    rows = [
        {
            "kind": kind,
            "income": amount.text,
            "percent": str(round_half_away(amount.amount * 100 / whole.amount, 1)) if whole else "",
        }
        for kind, amount in kinds.items()
    ]
    return report(
        "income",
        on,
        books.home,
        {"kind": "word", "income": "figure", "percent": "percent"},
        rows,
        totals={"kind": "", "income": whole.text, "percent": "100" if whole else ""},
        figures=[("income", whole.text, "money")],
        bars=[(row["kind"], row["income"], in_whole(row["income"])) for row in rows[:8]],
        bars_kind="number",
        notes=["by_issue"],
        values=_span(span),
        tax=True,
        **_days(span),
    )


def tax(folder: StudioFolder, on: date, period: Period) -> Report:
    """The tax of a period by the studio's scheme: per category and rate, what is due, the boxes of the return."""
    from bizkit.services.billing.supplied import performed_on

    status, country = folder.studio.tax, folder.studio.country
    with folder.book.read_all() as work:
        books = read_books(folder, work)
        performed: dict[str, date] = {}
        for job in {paper.job for paper in books.papers} if country in BY_PERFORMANCE else ():
            done = performed_on(work, job)
            if done is not None:
                performed[job] = done
    found = tax_period(
        books.papers,
        books.payments,
        books.costs,
        period,
        home=books.home,
        accounting=status.accounting,
        flat_rate=status.flat_rate,
        registered=status.registered,
        registered_from=status.registered_from,
        country=country,
        performed=performed,
    )
    data = found.data()
    words = wording(folder, folder.studio.language, folder.studio.locale)
    rows = data["taxes"]
    sums = {name: total((Money(row[name], books.home) for row in rows), books.home).text for name in ("base", "tax")}
    return report(
        "tax",
        on,
        books.home,
        {"category": "word", "rate": "percent", "base": "figure", "tax": "figure"},
        rows,
        totals={"category": "", **sums},
        figures=[
            ("tax_on_sales", data["tax_on_sales"], "money"),
            ("tax_reclaimed", data["tax_reclaimed"], "money"),
            ("tax_due", data["due"], "money"),
        ],
        bars=[
            (name, data[key], data[key])
            for name, key in (("tax on sales", "tax_on_sales"), ("reclaimed", "tax_reclaimed"), ("due", "due"))
        ],
        notes=[
            *([f"boxes_{'DE' if country == 'DE' else 'GB'}"] if data["boxes"] else []),
            *(["union_services"] if data["union_services"] else []),
            f"accounting_{data['accounting'].replace(' ', '_')}",
        ],
        values={
            **_span(period),
            "boxes": "; ".join(f"{name}: {words.number(value)}" for name, value in data["boxes"].items()),
            "services": "; ".join(
                f"{one['client']} ({one['tax_number'] or '?'}): {words.number(one['whole'])}"
                for one in data["union_services"]
            ),
        },
        tax=True,
        **{name: data[name] for name in ("first", "last", "accounting", "sales", "tax_on_sales", "purchases")},
        **{name: data[name] for name in ("tax_reclaimed", "due", "why", "boxes", "country", "union_services")},
    )


def quarter(folder: StudioFolder, on: date, *, starts: date | None = None, basis: str = "cash") -> Report:
    """Income and costs of each quarter of a tax year and the year to date, for income-tax updates.

    basis: "cash" (by payment) or "invoice" (by issue). Costs are net of reclaimed tax; own journeys count at the flat
    rate of the mileage table, and what a bank kept on the way as a cost. What lies after `on` is not counted yet.
    """
    if basis not in ("cash", "invoice"):
        raise NotFound("basis", basis, ("cash", "invoice"), field="--basis")
    start = starts or tax_year_of(folder.studio.country, on)
    with folder.book.read() as work:
        books = read_books(folder, work)
        journeys = journey_costs(folder, work, books.home)
    came = [(day, sum_) for day, sum_ in _income(books, basis) + _exchanged(books) if day <= on]
    went = [
        (day, one.net)
        for one in [*books.costs, *bank_fees(books), *journeys]
        if (day := one.paid_on if basis == "cash" else one.bought_on) is not None and day <= on
    ]
    found = quarterly_totals(came, went, start, books.home)
    rows = [
        {
            **one.data(),
            "profit_to_date": (one.income_to_date - one.costs_to_date).rounded().text,
        }
        for one in found
    ]
    last = found[-1]
    return report(
        "quarter",
        on,
        books.home,
        {
            "first": "date",
            "last": "date",
            "income": "figure",
            "costs": "figure",
            "income_to_date": "figure",
            "costs_to_date": "figure",
            "profit_to_date": "figure",
        },
        rows,
        figures=[
            ("income", last.income_to_date.rounded().text, "money"),
            ("costs", last.costs_to_date.rounded().text, "money"),
            ("profit", rows[-1]["profit_to_date"], "money"),
        ],
        bars=[(row["first"], row["income"], in_whole(row["income"])) for row in rows],
        bars_kind="number",
        notes=[f"basis_{basis}"],
        values={"first": start.isoformat(), "last": (start + relativedelta(years=1) - timedelta(days=1)).isoformat()},
        tax=True,
        basis=basis,
        starts=start.isoformat(),
    )


def _income(books: Books, basis: str) -> list[tuple[date, Money]]:
    """Dated income in home money: without the tax that is paid over."""
    if basis == "invoice":
        return [
            (one.issued_on, _kept(books, one.issued_on, one, one.net, one.gross) * one.sign) for one in books.papers
        ]
    return [
        (day, _kept(books, day, paper, net, gross))
        for day, paper, net, gross in received_net(books.papers, books.payments)
    ]


def _exchanged(books: Books) -> list[tuple[date, Money]]:
    """What payments in other money brought more or less than at the rate of their invoice, dated, in home money."""
    papers = {one.number: one for one in books.papers}
    found = ((one.received_on, papers[one.invoice].exchange_difference(one, books.home)) for one in books.payments)
    return [(day, sum_) for day, sum_ in found if sum_ is not None and sum_]


def _kept(books: Books, day: date, paper: Issued, net: Money, gross: Money) -> Money:
    """What a part of a paper brings in home money: without its tax, on the flat rate less that scheme's share."""
    status, own = books.status, paper.at_home(net, books.home)
    scheme = status.flat_rate is not None and status.registered_on(paper.tax_point)
    if not scheme or paper.late_payment_of or any(tax.category in OUTSIDE for tax in paper.taxes):
        return own
    whole = paper.at_home(gross, books.home)
    ((_, reduced),) = first_year_of(status.registered_from, Period(day, day))
    return whole - flat_rate_due([whole], whole - own, status.flat_rate or Decimal(0), first_year=reduced).due


def _journeys(folder: StudioFolder, work: Any) -> list[JourneyRow]:
    from bizkit.services.billing.mileage_log import journey_rows

    return journey_rows(folder, work)


def mileage(folder: StudioFolder, on: date, period: Period | None = None) -> Report:
    """The mileage log of a period, the tax year up to `on` without one."""
    span = period or Period(tax_year_of(folder.studio.country, on), on)
    with folder.book.read() as work:
        everything = _journeys(folder, work)
    rows = [row for row in everything if date.fromisoformat(row["on"]) in span]
    units = sorted({row["unit"] for row in rows})
    if len(units) > 1:
        raise BadInput(wanted="one unit of distance", got=" and ".join(units), field="mileage")
    currency = rows[0]["currency"] if rows else folder.studio.currency
    distance = sum((Decimal(row["distance"]) for row in rows), Decimal(0))
    amount = total((Money(row["amount"], currency) for row in rows), currency)
    months: dict[str, Decimal] = {}
    for row in rows:
        month = f"{row['on'][:7]}-01"
        months[month] = months.get(month, Decimal(0)) + Decimal(row["distance"])
    return report(
        "mileage",
        on,
        currency,
        {
            "on": "date", "who": "text", "vehicle": "text", "origin": "text", "destination": "text",
            "purpose": "text", "job": "text", "distance": "number", "amount": "figure",
        },
        rows,
        totals={"on": "", "distance": f"{distance:f}", "amount": amount.rounded().text},
        figures=[("distance", f"{distance:f}", "number"), ("amount", amount.rounded().text, "money")],
        bars=[(month, f"{sum_:f}", f"{sum_:f}") for month, sum_ in sorted(months.items())][:12],
        bars_kind="number",
        notes=["mileage"],
        values={**_span(span), "unit": units[0] if units else ""},
        tax=True,
        **_days(span),
    )  # fmt: skip


def _span(period: Period) -> dict[str, str]:
    return {"first": period.first.isoformat(), "last": period.last.isoformat()}


def _days(period: Period) -> dict[str, str]:
    return {"first": period.first.isoformat(), "last": period.last.isoformat()}
