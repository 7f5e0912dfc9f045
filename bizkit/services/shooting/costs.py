"""Money spent on a job, with receipts on file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.billing.home_tax import tax_currency
from bizkit.domain.billing.input_tax import why_not
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.exchange_rate import check_near
from bizkit.domain.typed_numbers import amount_of, number_of
from bizkit.services.billing.input_tax import tax_inside
from bizkit.services.job.basis import card_of
from bizkit.services.job.called_off import cancelled_on
from bizkit.services.shooting.spent_costs import SpentCost, spent_cost, spent_on, tax_data
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.line import Line
    from bizkit.services.shooting.cost_rows import CostAdded, CostRow, CostWritten, InputTaxNoted
    from bizkit.store.spent import Spent
    from bizkit.store.stamp import Stamp


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
    tax: str = "",
    tax_rate: str = "",
    receipt: Path | None = None,
    to_client: bool = False,
    agreed: str = "",
) -> CostAdded:
    """Record money spent on a job, its receipt filed under its SHA-256.

    kind: a kind of cost of the rate card, or a section ("kit" for sub-hire, "crew" for a freelancer's invoice).
    currency: of the amount, the job's own where empty; else `rate` says how many units of the job's currency one unit
    is, and `rate_source` who says so. tax: the part of it that is tax, tax_rate: its percent instead, in the tax
    office's money. to_client: charge it on without the tax that is reclaimed, with the card's markup for the kind;
    without it the quote pays for it. agreed: who said yes to that and when, as no quote states costs to come; it can
    also be said when it is billed. On a cancelled job it is charged as what was spent already, as the scale says, at
    cost and without another yes. A negative amount takes a wrong entry back. Raises NotFound, BadInput.
    """
    from bizkit.services.job.jobs import quote_of, the_job
    from bizkit.services.studio.filing import file_scan, refuse_letters
    from bizkit.store.events import record
    from bizkit.store.overheads import set_input_tax
    from bizkit.store.spent import add_cost as write_cost
    from bizkit.store.spent import costs, next_cost

    if to_client:
        refuse_letters(folder, {"--what": what})
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = the_job(work, job)
        key = found.key
        card = card_of(folder, work, found)
        section_of(card, kind)
        if to_client and not what.strip() and kind not in card.costs:
            raise BadInput(wanted="what it was, as the client reads it on the bill", got="nothing", field="--what")
        spent = amount_of(amount, currency or found.currency, "--amount")
        if not spent:
            raise BadInput(wanted="an amount other than zero", got=amount, field="--amount")
        if spent.amount < 0:
            _refuse_charged(work, key, kind, spent)
        in_job, exact_rate = _in_job(spent, found.currency, rate, rate_source)
        if exact_rate:
            recorded = quote_of(work, found).document.get("exchange")
            check_near(
                Decimal(exact_rate), spent.currency, found.currency, recorded, found.currency, folder.reason,
                field="--rate",
            )  # fmt: skip
        inside, home = tax_inside(spent, tax, tax_rate), tax_currency(folder.studio)
        if inside and spent.currency != home:
            raise BadInput(
                wanted=f"no tax in {spent.currency}, as only tax in {home} can be reclaimed",
                got=inside,
                field="--tax" if tax else "--tax-rate",
            )
        number = next_cost(work)
        filed = file_scan(work, stamp, folder, receipt, kind="receipt", about=f"cost {number}") if receipt else None
        row: CostWritten = {
            "job": key,
            "on": on.isoformat(),
            "kind": kind,
            "what": what.strip() or (card.costs[kind].title if kind in card.costs else kind),
            "supplier": supplier.strip(),
            "rate": exact_rate,
            "rate_source": rate_source.strip(),
            "receipt": filed["sha256"] if filed else "",
        }
        same = _said_before(costs(work, key), (row["on"], row["kind"], row["what"], row["supplier"]), spent)
        number = write_cost(work, stamp, row, amount=spent, in_job=in_job)
        if inside:
            set_input_tax(work, stamp, number, inside)
        (written,) = [one for one in costs(work, key) if one.id == number]
        cost = spent_cost(folder, written, in_job, inside)
        charged, gone = None, cancelled_on(work, key)
        quoted: list[str] = []
        if agreed and not to_client:
            raise BadInput(wanted="--to-client with it", got="--agreed alone", field="--agreed")
        if to_client:
            if in_job.amount <= 0:
                raise BadInput(wanted="an amount above zero to charge on", got=spent, field="--to-client")
            charged, _ = _charge_on(folder, work, stamp, card, cost, agreed.strip())
            title = card.costs[kind].title if kind in card.costs else ""
            lines = quote_of(work, found).document["lines"]
            quoted = [line["item"] for line in lines if title and line["item"].startswith(title)]
        record(work, stamp, "spent", key, cost=number, kind=kind, amount=spent.text, currency=spent.currency)
    return {
        "number": number,
        **row,
        "amount": spent.text,
        "currency": spent.currency,
        "in_job": in_job.text,
        "job_currency": in_job.currency,
        **tax_data(folder, cost),
        "file": filed["file"] if filed else "",
        "same_paper": filed["filed_before"] if filed else [],
        "same": same,
        "charged": charged.data() if charged else None,
        "quoted": quoted,
        "cancelled_on": gone,
    }


def _said_before(rows: Sequence[Spent], facts: Sequence[str], amount: Money) -> list[int]:
    """Costs that say just what a new one says, those taken back left out. facts: day, kind, what, supplier."""
    gone = {one.reverses for one in rows}
    return [
        one.id
        for one in rows
        if (one.on, one.kind, one.what, one.supplier) == tuple(facts)
        and Money(one.amount.text, one.currency) == amount
        and one.id not in gone
        and not one.reverses
    ]


def _refuse_charged(work: Connection, job: str, kind: str, spent: Money) -> None:
    """Refuse to take back by hand what the client is charged for: the charge would stay. Raises RuleBroken."""
    from bizkit.store.charges import charges
    from bizkit.store.spent import costs

    charged = {row.source for row in charges(work, job) if not row.waived}
    rows = costs(work, job)
    gone = {row.reverses for row in rows}
    for row in rows:
        same = (row.kind, Money(row.amount.text, row.currency)) == (kind, -spent)
        if same and row.id not in gone and f"cost {row.id}" in charged:
            raise RuleBroken(
                f"cost {row.id} ({row.what}) of {-spent} is charged to the client: take it back with "
                f"bizkit cost reverse {row.id} --reason WHY, which takes the charge back too"
            )


def note_input_tax(
    folder: StudioFolder, cost: int, tax: str, on: date, *, goods: bool = False, capital: bool = False
) -> InputTaxNoted:
    """Note the tax inside a cost of a job, in the tax office's money; the newest note counts.

    What of the cost was charged on follows: an open charge is put anew, and where it was billed with the tax in it
    the difference is given back by a charge. Raises NotFound, and RuleBroken for tax that cannot be inside it.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.charges import charges
    from bizkit.store.events import record
    from bizkit.store.overheads import set_input_tax

    home = tax_currency(folder.studio)
    inside = amount_of(tax, home, "AMOUNT")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        known = {one.number: one for one in spent_on(folder, work)}
        if cost not in known:
            raise NotFound("cost", cost, [str(one) for one in known], field="COST", hint="See bizkit cost list")
        row = known[cost].row
        gone = [one.number for one in known.values() if one.row.reverses == cost]
        if row.reverses or gone:
            pair = f"takes cost {row.reverses} back" if row.reverses else f"is taken back by {gone[0]}"
            raise RuleBroken(f"cost {cost} {pair}: their tax stays as it is")
        spent = Money(row.amount.text, row.currency)
        if spent.currency == home and (abs(inside.amount) > abs(spent.amount) or inside.amount * spent.amount < 0):
            raise RuleBroken(f"cost {cost} comes to {spent}: {inside} of tax cannot be inside it")
        set_input_tax(work, stamp, cost, inside, goods=goods, capital=capital)
        record(work, stamp, "noted tax", row.job, cost=cost, tax=inside.text, currency=home)
        now = spent_cost(folder, row, known[cost].in_job, inside, capital=capital)
        line = left = None
        if charges(work, row.job, source=f"cost {cost}"):
            card = card_of(folder, work, the_job(work, row.job))
            line, left = _charge_on(folder, work, stamp, card, now)
    return {
        "cost": cost,
        "receipt": row.receipt,
        "job": row.job,
        "what": row.what,
        "currency": home,
        "job_currency": now.in_job.currency,
        **tax_data(folder, now),
        "charged": line.data() if line else None,
        "to_invoice": left.text if left is not None else "",
    }


def _charge_on(
    folder: StudioFolder, work: Connection, stamp: Stamp, card: RateCard, cost: SpentCost, agreed: str = ""
) -> tuple[Line, Money]:
    """Charge a cost on; the line, and how much of it is open to invoice. A yes given before stays with it."""
    from bizkit.services.job.charges import put_difference
    from bizkit.store.charges import charges

    job, source = cost.row.job, f"cost {cost.number}"
    before = charges(work, job, source=source)
    for row in before:
        agreed = agreed or row.working.get("inputs", {}).get("agreed", "")
    in_vain = any(row.kind == "cancellation" for row in before)
    if in_vain or (not before and not agreed and cancelled_on(work, job)):
        line = spent_line(cost.row.what or cost.row.kind, cost.net, card.words["spent"])
        return line, put_difference(work, stamp, job, "cancellation", line, source=source)
    line = _charge_line(card, cost, why_not(folder.studio.tax, date.fromisoformat(cost.row.on)), agreed)
    return line, put_difference(work, stamp, job, "cost", line, source=source)


def spent_line(what: str, cost: Money, words: str) -> Line:
    """A cost spent in vain, charged as it is. words: of the card, with {what}."""
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.working import Working

    working = Working(f"{what}: {cost}, already spent, in full", "cancellation.spent", cost)
    return Line("fees", words.format(what=what), Decimal(1), "cost", cost, cost.rounded(), working)


def list_costs(folder: StudioFolder, job: str | None = None) -> list[CostRow]:
    """Costs of one job or all, with where the receipt is and whether the client is charged for it."""
    from bizkit.services.job.jobs import the_job
    from bizkit.store.charges import charges
    from bizkit.store.filed import all_filed

    with folder.book.read() as work:
        key = the_job(work, job).key if job else None
        files = {one.about: one.file for one in all_filed(work) if one.kind == "receipt"}
        charged = {(row.job, row.source) for row in charges(work, key)}
        rows: list[CostRow] = []
        spent = spent_on(folder, work, key)
        reversed_by = {one.row.reverses: one.number for one in spent if one.row.reverses}
        for cost in spent:
            row = cost.row
            rows.append(
                {
                    "number": cost.number,
                    "job": row.job,
                    "on": row.on,
                    "kind": row.kind,
                    "what": row.what,
                    "supplier": row.supplier,
                    "amount": row.amount.text,
                    "currency": row.currency,
                    "in_job": cost.in_job.text,
                    **tax_data(folder, cost),
                    "rate": row.rate,
                    "rate_source": row.rate_source,
                    "receipt": row.receipt,
                    "file": files.get(f"cost {cost.number}", ""),
                    "charged_on": (row.job, f"cost {cost.number}") in charged,
                    "reverses": row.reverses,
                    "reversed_by": reversed_by.get(cost.number, 0),
                }
            )
        return rows


def section_of(card: RateCard, kind: str) -> str:
    """The section of a quote that a kind of cost belongs to. Raises NotFound."""
    from bizkit.domain.pricing.line import SECTIONS

    if kind in card.costs:
        return "travel"
    if kind in SECTIONS:
        return kind
    raise NotFound("kind of cost or section", kind, {**card.costs, **dict.fromkeys(SECTIONS)}, field="--kind")


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


def _charge_line(card: RateCard, cost: SpentCost, why: str, agreed: str) -> Line:
    """The cost without the tax that is reclaimed, as a charge with the card's markup for its kind and its yes."""
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.working import Working

    kind, base = cost.row.kind, cost.net
    markup = card.costs[kind].markup_percent if kind in card.costs else Decimal(0)
    exact = base * (1 + markup / 100)
    terms = f"+ {plain(markup)} % markup" if markup else "at cost"
    text = f"{base}"
    if cost.reclaimed:
        text = f"{cost.in_job} less the tax that is reclaimed, {cost.reclaimed}, = {base}"
    elif cost.tax:
        text = f"{base} with {cost.tax} of tax, which stays a cost ({why}),"
    working = Working(
        f"{text} {terms} = {exact.rounded()}",
        "costs.markup" if markup else "costs.at_cost",
        exact,
        "a cost is passed on without the tax reclaimed: VAT Notice 700 section 25.1.1" if cost.reclaimed else "",
        inputs=(
            ("cost", base.text),
            ("markup percent", plain(markup)),
            *((("agreed", agreed),) if agreed else ()),
        ),
    )
    return Line(section_of(card, kind), cost.row.what, Decimal(1), "cost", exact.rounded(), exact.rounded(), working)
