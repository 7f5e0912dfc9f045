"""Who owes what, what comes in and goes out week by week, what jobs and clients bring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.billing.debtors import AGES, TO_PAY_BACK, aged_debtors
from bizkit.domain.billing.forecast import Expected, expected_from_invoices, forecast, typical_days
from bizkit.domain.billing.income import margins
from bizkit.domain.billing.payment import Terms
from bizkit.domain.billing.records import Issued as Paper
from bizkit.domain.billing.records import Period
from bizkit.domain.billing.tax import treatment
from bizkit.domain.errors import BadInput, BizkitError, NotFound
from bizkit.domain.money import Money, percent, round_half_away, total
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.standing import standing
from bizkit.services.job.called_off import cancelled_on
from bizkit.services.job.charges import OPEN, charge_rows
from bizkit.services.job.jobs import SHOOTS
from bizkit.services.reports.books import Books, bank_fees, journey_costs, read_books
from bizkit.services.reports.shape import Report, in_whole, report
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import age_key

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job, JobDay
    from bizkit.store.work_days import MoveRecord


def debtors(folder: StudioFolder, on: date) -> Report:
    """What each client owes at the end of `on`, by how late it is, per currency."""
    with folder.book.read() as work:
        books = read_books(folder, work)
    names = [*(name for name, _ in AGES), TO_PAY_BACK]
    found = aged_debtors(books.papers, books.payments, on)
    rows = [
        {
            "client": one.client,
            "name": books.names.get(one.client, one.client),
            "currency": one.currency,
            **{age_key(name): amount.text for name, amount in zip(names, (*one.ages, one.to_pay_back), strict=True)},
            "total": one.whole.text,
        }
        for one in found
    ]
    sums = [
        {
            "currency": currency,
            **{
                age_key(name): total(
                    (Money(row[age_key(name)], currency) for row in rows if row["currency"] == currency), currency
                ).text
                for name in names
            },
            "total": total(
                (Money(row["total"], currency) for row in rows if row["currency"] == currency), currency
            ).text,
        }
        for currency in dict.fromkeys(row["currency"] for row in rows)
    ]
    home = next((one for one in sums if one["currency"] == books.home), sums[0] if sums else None)
    backs = any(Decimal(one[age_key(TO_PAY_BACK)]) for one in sums)
    shown = names if backs else names[:-1]
    kinds = {"name": "text", "currency": "text", **{age_key(name): "figure" for name in shown}, "total": "figure"}
    return report(
        "debtors",
        on,
        home["currency"] if home else books.home,
        kinds,
        rows,
        totals=home if len(sums) == 1 else None,
        figures=[
            ("owed", _owed(home), "money"),
            ("overdue", _owed(home, overdue=True), "money"),
            *([("to_pay_back", (-Money(home["to_pay_back"], home["currency"])).text, "money")] if backs else []),
        ]
        if home
        else [],
        bars=[(name, home[age_key(name)], home[age_key(name)]) for name, _ in AGES] if home else [],
        values={"on": on.isoformat(), "currency": home["currency"] if home else books.home},
        sums=sums,
    )


def _owed(sums: Mapping[str, str], *, overdue: bool = False) -> str:
    """What clients owe, or are late with; what is to be paid back to others makes it no less."""
    code = sums["currency"]
    return total((Money(sums[age_key(name)], code) for name, most in AGES if most != 0 or not overdue), code).text


def cash(folder: StudioFolder, on: date, *, weeks: int = 13, opening: str = "0") -> Report:
    """Money expected in and out, week by week from `on`, in home money, from what is on the account (`opening`)."""
    with folder.book.read_all() as work:
        books = read_books(folder, work)
        start = amount_of(opening, books.home, "--opening")
        expected, left_out = _expected(folder, work, books, on)
    found = forecast(expected, start, on, weeks)
    rows: list[dict[str, Any]] = [
        {
            "week": one.first.isoformat(),
            "coming_in": one.coming_in.text,
            "going_out": one.going_out.text,
            "balance": one.balance.text,
            "why": "; ".join(each.why for each in one.expected),
            "said": [{"key": each.said, "text": each.why, "values": dict(each.values)} for each in one.expected],
        }
        for one in found
    ]
    lowest = min(found, key=lambda week: week.balance.amount)
    return report(
        "cash",
        on,
        books.home,
        {"week": "date", "coming_in": "figure", "going_out": "figure", "balance": "figure", "why": "said"},
        rows,
        figures=[
            ("at_the_end", rows[-1]["balance"], "money"),
            ("lowest", lowest.balance.text, "money"),
            ("lowest_week", lowest.first.isoformat(), "date"),
        ],
        bars=[(row["week"], row["balance"], in_whole(row["balance"])) for row in rows[:13]],
        bars_kind="number",
        notes=["expected", *(["left_out"] if left_out else [])],
        values={"on": on.isoformat(), "weeks": str(weeks), "left_out": ", ".join(left_out)},
        expected=[
            {"on": one.on.isoformat(), "amount": one.amount.text, "why": one.why}
            for one in sorted(expected, key=lambda each: each.on)
        ],
        left_out=left_out,
    )


def _expected(folder: StudioFolder, work: Connection, books: Books, on: date) -> tuple[list[Expected], list[str]]:
    """What is to come: open invoices, stages to invoice, costs to pay. Second: what no rate leads home from."""
    from bizkit.store.jobs import stages

    typical = typical_days(books.papers, books.payments)
    rate = {one.number: one for one in books.papers}
    expected, left_out = [], []
    for one in expected_from_invoices(books.papers, books.payments, on, typical):
        number = dict(one.values)["number"]
        try:
            expected.append(replace(one, amount=rate[number].at_home(one.amount, books.home)))
        except BizkitError:
            left_out.append(number)
    open_stages = {row.job for row in stages(work) if not row.invoice}
    charged = {row["job"] for row in charge_rows(work) if row["state"] == OPEN}
    invoiced: dict[str, list[Paper]] = {}
    for paper in books.papers:
        if paper.sign > 0:
            invoiced.setdefault(paper.job, []).append(paper)
    for job in books.jobs.values():
        due = []
        if job.key in open_stages and not job.closed_on:
            due += _stages_due(folder, work, job, on)
        if job.key in charged:
            due.append((on, standing(work, job).net, _CHARGES))
        found, missing = _from_job(folder, work, books, job, invoiced.get(job.key, ()), due, typical, on)
        expected += found
        left_out += missing
    for cost in books.costs:
        if cost.paid_on is not None and cost.paid_on > on:
            expected.append(Expected(cost.paid_on, -cost.gross, cost.supplier or cost.kind))
    return expected, left_out


def _stages_due(folder: StudioFolder, work: Connection, job: Job, on: date) -> list[tuple[date | None, Money, str]]:
    """The stages of a job that are not invoiced: the day on which each falls due, its net and title."""
    from bizkit.services.billing.invoices import stage_rows
    from bizkit.services.delivery.deliverables import deliverable_rows

    if cancelled_on(work, job.key):
        return []
    waiting = [row for row in stage_rows(folder, work, job.key, on) if not row["invoice"]]
    if not waiting:
        return []
    deliverables = deliverable_rows(folder, work, job.key, on)
    return [(_due_day(row, deliverables), Money(row["net"], job.currency), row["title"]) for row in waiting]


def _from_job(
    folder: StudioFolder,
    work: Connection,
    books: Books,
    job: Job,
    known: Sequence[Paper],
    due: Sequence[tuple[date | None, Money, str]],
    typical: Mapping[str, int],
    on: date,
) -> tuple[list[Expected], list[str]]:
    """What a job has to invoice, with tax: when it falls due, plus the days the client takes to pay. known: its
    invoices."""
    from bizkit.services.job.job_client import client_of_job

    if not due:
        return [], []
    client = client_of_job(folder, work, job)
    terms = Terms.of(folder.studio, client)
    try:
        factor = treatment(folder.studio, client, on).rate
    except BizkitError:
        factor = Decimal(0)
    result, left_out = [], []
    for day, net, title in due:
        if day is None or (job.currency != books.home and not known):
            left_out.append(f"{job.key}: {title}")
            continue
        invoiced = max(day, on)
        paid = invoiced + timedelta(days=typical[job.client]) if job.client in typical else None
        gross = (net + percent(net, factor)).rounded()
        if job.currency != books.home:
            gross = known[-1].at_home(gross, books.home)
        said, values = ("charges", (("job", job.key),)) if title == _CHARGES else ("", ())
        why = f"{job.key}: {title}"
        result.append(Expected(paid or terms.due_on(invoiced, folder.day_off), gross, why, said, values))
    return result, left_out


#: What is expected of a job beyond its stages; below zero it is to be given back.
_CHARGES: Final = "charges beyond the quote"


def _due_day(stage: Mapping[str, Any], deliverables: Sequence[Mapping[str, Any]]) -> date | None:
    """The day a stage falls due: known, or the day on which the last deliverable is due."""
    if stage["due_on"]:
        return date.fromisoformat(stage["due_on"])
    if stage["when"] != "delivery":
        return None
    days = [one["due"] for one in deliverables]
    return date.fromisoformat(max(days)) if days and all(days) else None


def margin(folder: StudioFolder, on: date, *, by: str = "job", period: Period | None = None) -> Report:
    """What each job or client brought: net invoiced less costs, in home money. by: "job" or "client".

    Costs are what was spent on it, own journeys for it, and what banks kept of its payments.
    """
    if by not in ("job", "client"):
        raise NotFound("sort of margin", by, ("job", "client"), field="--by")
    with folder.book.read() as work:
        books = read_books(folder, work)
        spent = [*books.costs, *bank_fees(books), *journey_costs(folder, work, books.home)]
    papers = [one for one in books.papers if period is None or one.issued_on in period]
    costs = [one for one in spent if one.job and (period is None or one.bought_on in period)]
    if by == "job":
        found = margins(papers, costs, books.home, by=lambda one: one.job, cost_by=lambda one: one.job)
    else:
        found = margins(
            papers, costs, books.home, by=lambda one: one.client, cost_by=lambda one: books.client_of(one.job)
        )
    titles = {key: str(row.title) for key, row in books.jobs.items()} if by == "job" else books.names
    rows = [{**one.data(), "title": titles.get(one.name, one.name)} for one in found]
    sums = {
        name: total((Money(row[name], books.home) for row in rows), books.home).text
        for name in ("income", "costs", "margin")
    }
    share = Decimal(sums["income"]) and round_half_away(Decimal(sums["margin"]) * 100 / Decimal(sums["income"]), 1)
    return report(
        "margin",
        on,
        books.home,
        {
            "name": "text",
            "title": "text",
            "income": "figure",
            "costs": "figure",
            "margin": "figure",
            "percent": "percent",
        },
        rows,
        totals={"name": "", **sums, "percent": str(share) if share else None},
        figures=[("income", sums["income"], "money"), ("margin", sums["margin"], "money")],
        bars=[(_short(row["name"]), row["margin"], in_whole(row["margin"])) for row in rows[:8]],
        bars_kind="number",
        notes=["margin"],
        values=_span(period, on),
        by=by,
    )


def _short(name: str) -> str:
    return name if len(name) <= 16 else name[:15] + "…"


def _span(period: Period | None, on: date) -> dict[str, str]:
    first = period.first.isoformat() if period else ""
    return {"first": first, "last": (period.last if period else on).isoformat()}


def days(folder: StudioFolder, on: date) -> Report:
    """Shoot days of each job: quoted, on the calendar by now, worked, moved."""
    from bizkit.store.issued import each_document
    from bizkit.store.jobs import jobs, shoot_days
    from bizkit.store.work_days import moved_days, worked_days

    rows = []
    with folder.book.read() as work:
        worked: dict[str, set[int]] = {}
        for key, position in worked_days(work):
            worked.setdefault(key, set()).add(position)
        moved: dict[str, list[MoveRecord]] = {}
        for each in moved_days(work):
            moved.setdefault(each.job, []).append(each)
        planned: dict[tuple[str, int], int] = {}
        for quote in each_document(work, "quote"):
            shoots = [int(day["count"]) for day in quote["days"] if day["kind"] in SHOOTS]
            planned[quote["number"], quote["revision"]] = sum(shoots)
        calendar: dict[str, list[JobDay]] = {}
        for day in shoot_days(work):
            if day.kind in SHOOTS:
                calendar.setdefault(day.job, []).append(day)
        for job in jobs(work):
            quoted = planned.get((job.quote_number, job.quote_revision), 0)
            now = calendar.get(job.key, [])
            done = [day for day in now if day.position in worked.get(job.key, set())]
            all_done = len(worked.get(job.key, ()))
            moves = moved.get(job.key, [])
            rows.append(
                {
                    "job": job.key,
                    "title": job.title,
                    "quoted": str(quoted),
                    "planned": str(len(now)),
                    "worked": str(len(done)),
                    "other_worked": str(all_done - len(done)),
                    "moved": str(len(moves)),
                    "held": str(sum(1 for one in moves if one.hold)),
                    "difference": str(len(done) - quoted) if all_done else "",
                }
            )
    kinds = {"job": "text", "title": "text"}
    numbers = ("quoted", "planned", "worked", "other_worked", "moved", "held", "difference")
    sums = {name: str(sum(int(row[name] or 0) for row in rows)) for name in numbers}
    return report(
        "days",
        on,
        folder.studio.currency,
        {**kinds, **dict.fromkeys(numbers, "number")},
        rows,
        totals={"job": "", **sums},
        figures=[("quoted", sums["quoted"], "number"), ("worked", sums["worked"], "number")],
        bars=[(name, sums[name], sums[name]) for name in ("quoted", "planned", "worked", "moved", "held")],
        bars_kind="number",
        values={"on": on.isoformat()},
    )


def check_period(first: date | None, last: date | None) -> Period | None:
    """A period from both days, none from neither. Raises BadInput for one alone."""
    if first is None and last is None:
        return None
    if first is None or last is None:
        raise BadInput(wanted="--from and --to", got="one of them", field="--from" if first is None else "--to")
    return Period(first, last)
