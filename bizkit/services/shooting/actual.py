"""What was quoted against what it came to, section by section."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.money import Money, total
from bizkit.services.shooting.costs import section_of
from bizkit.services.shooting.job_days import JobDays
from bizkit.services.shooting.spent_costs import SpentCost, spent_on
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.floor import Floor, MarginData


def quoted_and_actual(folder: StudioFolder, job: str) -> Actual:
    """What was quoted, what came on top, and what was spent, for each section; for costs also kind by kind.

    Spent is without the tax that is reclaimed. `left`: quoted and charged less spent, what the section leaves the
    studio for its own work. Of a cancelled job nothing counts as quoted: its fee stands in place of the quote. With a
    floor.toml the margin as quoted, and as it stands by what was spent and logged so far.
    """
    from bizkit.domain.pricing.line import SECTIONS
    from bizkit.services.billing.fell_away import charged_by_section
    from bizkit.services.billing.job_money import money_of_job
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.quoting.floor import floor_as_sent
    from bizkit.services.shooting.job_days import job_days

    with folder.book.read() as work:
        days = job_days(folder, work, job)
        key, currency = days.job.key, days.job.currency
        charged = charged_by_section(work, days.job, lateness=False)
        late = money_of_job(work, days.job).late
        spent = spent_on(folder, work, key)
        floor = floor_as_sent(folder, work, days.quote)
        cancelled = bool(cancelled_on(work, key))
    nothing = Money(0, currency)
    quoted = dict.fromkeys(SECTIONS, nothing)
    for line in () if cancelled else days.quote.document["lines"]:
        quoted[line["section"]] = quoted[line["section"]] + Money(line["amount"], currency)
    on_top, out = dict.fromkeys(SECTIONS, nothing), dict.fromkeys(SECTIONS, nothing)
    for section, amount in charged:
        on_top[section] = on_top[section] + amount
    for cost in spent:
        section = section_of(days.card, cost.row.kind)
        out[section] = out[section] + cost.net
    sections = [
        _against(section, quoted[section], on_top[section], out[section])
        for section in SECTIONS
        if quoted[section] or on_top[section] or out[section]
    ]
    whole = [total(each.values(), currency) for each in (quoted, on_top, out)]
    return {
        "job": key,
        "currency": currency,
        "sections": sections,
        "total": _against("total", *whole),
        "costs": _by_kind(days, spent),
        "days": {
            "planned": sum(1 for day in days.actual if day.kind in ("water", "dry")),
            "logged": sum(1 for place in days.logged if days.actual[place - 1].kind in ("water", "dry")),
        },
        "late": late.text,
        "margin": _margins(folder, floor, days, whole[0] + whole[1], whole[2]),
    }


def _against(name: str, quoted: Money, on_top: Money, spent: Money) -> SectionActual:
    return {
        "section": name,
        "quoted": quoted.rounded().text,
        "charged": on_top.rounded().text,
        "spent": spent.rounded().text,
        "left": (quoted + on_top - spent).rounded().text,
    }


def _by_kind(days: JobDays, spent: list[SpentCost]) -> list[KindActual]:
    """Kind of cost -> what the quote has for it (with markup) and what was spent."""
    from bizkit.domain.pricing.costs import cost_lines

    brief, card, currency = days.planned, days.card, days.job.currency
    known = list(dict.fromkeys((card.currency, currency)))
    lines = cost_lines(card.costs, brief.parts.costs, card.words, currency=currency, known_currencies=known)
    if brief.exchange:
        lines = [brief.exchange.line(line, currency) for line in lines]
    nothing = Money(0, currency).rounded()
    quoted: dict[str, Money] = {}
    for cost, line in zip(brief.parts.costs, lines, strict=True):
        quoted[cost.kind] = quoted.get(cost.kind, nothing) + line.amount
    out: dict[str, Money] = {}
    for row in spent:
        kind = row.row.kind
        out[kind] = out.get(kind, nothing) + row.net
    return [
        {
            "kind": kind,
            "quoted": quoted.get(kind, nothing).text,
            "spent": out.get(kind, nothing).text,
            "difference": (quoted.get(kind, nothing) - out.get(kind, nothing)).text,
        }
        for kind in dict.fromkeys((*quoted, *out))
    ]


def _margins(
    folder: StudioFolder, floor: Floor | None, days: JobDays, income: Money, spent: Money
) -> MarginsSoFar | None:
    """The margin as quoted, and with the income and costs so far over the days planned."""
    from bizkit.domain.pricing.estimate import price
    from bizkit.domain.pricing.job_cost import job_cost
    from bizkit.services.quoting.floor import floor_in, margins

    if floor is None:
        return None
    brief, card = days.planned, days.card
    estimate = price(card, brief, day_off=folder.day_off, holiday=folder.holiday)
    quoted = margins(folder, floor, card, brief, estimate)
    converted = floor_in(floor, card, brief, income.currency)
    if quoted is None or quoted["margin"] is None or converted is None:
        return None
    cost = job_cost(card, brief, estimate, folder.studio.people, day_off=folder.day_off)
    return {
        "quoted": quoted["margin"],
        "so_far": converted.margin(income + estimate.deal_credit, spent, cost.own_days).data(),
    }


class Actual(TypedDict):
    """What was quoted for a job against what it came to; late: charged for late payment, in no section and no margin;
    margin: None without a floor.
    """

    job: str
    currency: str
    sections: list[SectionActual]
    total: SectionActual
    costs: list[KindActual]
    days: DaysLogged
    late: str
    margin: MarginsSoFar | None


class SectionActual(TypedDict):
    """A section: quoted, charged on top, spent, and what that leaves."""

    section: str
    quoted: str
    charged: str
    spent: str
    left: str


class KindActual(TypedDict):
    """A kind of cost: quoted with its markup, and spent."""

    kind: str
    quoted: str
    spent: str
    difference: str


class DaysLogged(TypedDict):
    """Shoot days planned, and how many of them are logged."""

    planned: int
    logged: int


class MarginsSoFar(TypedDict):
    """The margin as quoted, and by what came in and went out so far."""

    quoted: MarginData
    so_far: MarginData
