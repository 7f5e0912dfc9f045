"""Money spent on a job, with receipts on file."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, plain
from bizkit.domain.typed_numbers import amount_of, number_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.line import Line

Row = dict[str, Any]


def add_cost(
    folder: StudioFolder,
    job: str,
    kind: str,
    amount: str,
    on: date,
    *,
    what: str = "",
    supplier: str = "",
    currency: str = "",
    rate: str = "",
    rate_source: str = "",
    receipt: Path | None = None,
    to_client: bool = False,
) -> Row:
    """Record money spent on a job, its receipt filed under its SHA-256.

    kind: a kind of cost of the rate card, or a section ("kit" for sub-hire, "crew" for a freelancer's invoice).
    currency: of the amount, the job's own where empty; else `rate` says how many units of the job's currency one unit
    is, and `rate_source` who says so. to_client: charge it on, with the card's markup for the kind; without it the
    quote pays for it. A negative amount takes a wrong entry back. Raises NotFound, BadInput.
    """
    from bizkit.services.shooting.charges import put_charges
    from bizkit.services.shooting.jobs import the_job
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.spent import add_cost as write_cost
    from bizkit.store.spent import next_cost

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = the_job(work, job)
        key = found["key"]
        card = _card(folder, work, found)
        section_of(card, kind)
        spent = amount_of(amount, currency or found["currency"], "--amount")
        if not spent:
            raise BadInput(wanted="an amount other than zero", got=amount, field="--amount")
        in_job, exact_rate = _in_job(spent, found["currency"], rate, rate_source)
        number = next_cost(work)
        filed = file_scan(work, stamp, folder, receipt, kind="receipt", about=f"cost {number}") if receipt else None
        row = {
            "job": key,
            "on": on.isoformat(),
            "kind": kind,
            "what": what.strip() or (card.costs[kind].title if kind in card.costs else kind),
            "supplier": supplier.strip(),
            "rate": exact_rate,
            "rate_source": rate_source.strip(),
            "receipt": filed["sha256"] if filed else "",
        }
        number = write_cost(work, stamp, row, amount=spent, in_job=in_job)
        charged = None
        if to_client:
            if in_job.amount <= 0:
                raise BadInput(wanted="an amount above zero to charge on", got=spent, field="--to-client")
            charged = _charge_line(card, kind, row["what"], in_job)
            put_charges(work, stamp, key, "cost", [charged], source=f"cost {number}")
        record(work, stamp, "spent", key, cost=number, kind=kind, amount=spent.text, currency=spent.currency)
    return {
        "number": number,
        **row,
        "amount": spent.text,
        "currency": spent.currency,
        "in_job": in_job.text,
        "job_currency": in_job.currency,
        "file": filed["file"] if filed else "",
        "charged": charged.data() if charged else None,
    }


def list_costs(folder: StudioFolder, job: str | None = None) -> list[Row]:
    """Costs of one job or all, with where the receipt is and whether the client is charged for it."""
    from bizkit.services.shooting.jobs import the_job
    from bizkit.store.charges import charges
    from bizkit.store.filed import all_filed
    from bizkit.store.jobs import jobs
    from bizkit.store.spent import costs

    with folder.book.read() as work:
        key = the_job(work, job)["key"] if job else None
        currency_of = {row["key"]: row["currency"] for row in jobs(work)}
        files = {one["about"]: one["file"] for one in all_filed(work) if one["kind"] == "receipt"}
        charged = {(row["job"], row["source"]) for row in charges(work, key)}
        return [
            {
                "number": row["id"],
                **{name: row[name] for name in ("job", "on", "kind", "what", "supplier", "amount", "currency")},
                "in_job": Money.from_minor(row["job_minor"], currency_of[row["job"]]).text,
                "rate": row["rate"],
                "rate_source": row["rate_source"],
                "receipt": row["receipt"],
                "file": files.get(f"cost {row['id']}", ""),
                "charged_on": (row["job"], f"cost {row['id']}") in charged,
            }
            for row in costs(work, key)
        ]


def section_of(card: RateCard, kind: str) -> str:
    """The section of a quote that a kind of cost belongs to. Raises NotFound."""
    from bizkit.domain.pricing.line import SECTIONS

    if kind in card.costs:
        return "travel"
    if kind in SECTIONS:
        return kind
    raise NotFound("kind of cost or section", kind, {**card.costs, **dict.fromkeys(SECTIONS)}, field="--kind")


def _card(folder: StudioFolder, work: Connection, job: Row) -> RateCard:
    """The rate card the job was quoted with; the one of today where that was not kept."""
    from bizkit.services.shooting.bookings import actual_brief
    from bizkit.store.issued import by_number

    quote = by_number(work, job["quote_number"], job["quote_revision"])
    found = actual_brief(folder, work, job, quote) if quote else None
    return found[0] if found else folder.card


def _in_job(spent: Money, currency: str, rate: str, source: str) -> tuple[Money, str]:
    """The amount in the job's currency, and the rate as plain text."""
    if spent.currency == currency:
        if rate:
            raise BadInput(wanted=f"no rate, as the job is in {currency} too", got=rate, field="--rate")
        return spent, ""
    if not rate or not source.strip():
        missing = "--rate" if not rate else "--rate-source"
        wanted = f"how many {currency} one {spent.currency} is" if not rate else "who says so, as it is never fetched"
        raise BadInput(wanted=wanted, got="nothing", field=missing)
    exact = number_of(rate, field="--rate", wanted="a rate such as 0.86")
    if exact <= 0:
        raise BadInput(wanted="a rate above 0", got=rate, field="--rate")
    return Money(spent.amount * exact, currency).rounded(), plain(exact)


def _charge_line(card: RateCard, kind: str, what: str, spent: Money) -> Line:
    """The cost as a charge, with the card's markup for its kind."""
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.working import Working

    markup = card.costs[kind].markup_percent if kind in card.costs else Decimal(0)
    exact = spent * (1 + markup / 100)
    terms = f"+ {plain(markup)} % markup" if markup else "at cost"
    working = Working(
        f"{spent} {terms} = {exact.rounded()}",
        "costs.markup" if markup else "costs.at_cost",
        exact,
        inputs=(("cost", spent.text), ("markup percent", plain(markup))),
    )
    section = section_of(card, kind)
    return Line(section, what, Decimal(1), "cost", exact.rounded(), exact.rounded(), working)
