"""A cost recorded wrongly is taken back: by a second row with its sums below zero, as nothing recorded goes away."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.services.job.basis import card_of
from bizkit.services.shooting.spent_costs import SpentCost, TaxData, spent_on, tax_data
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp


def reverse_cost(folder: StudioFolder, number: int, on: date, *, reason: str) -> CostReversed:
    """Take a cost of a job back whole, with the tax in it and with what the client is charged for it.

    What is open to invoice of it goes; what was billed of it is given back by a charge. `given_back` is that sum,
    net, in the job's currency. Raises NotFound, BadInput without a reason, RuleBroken where it is taken back already.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record
    from bizkit.store.overheads import input_taxes, set_input_tax
    from bizkit.store.spent import add_cost as write_cost

    if not reason.strip():
        raise BadInput(wanted="why it is taken back", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        known = {one.number: one for one in spent_on(folder, work)}
        if number not in known:
            raise NotFound("cost", number, [str(one) for one in known], field="COST", hint="See bizkit cost list")
        cost = known[number]
        _refuse_reversed(known, cost)
        if on.isoformat() < cost.row.on:
            raise BadInput(wanted=f"a day from {cost.row.on} on, when it was spent", got=on, field="--on")
        row = cost.row
        job = the_job(work, row.job)
        back = write_cost(
            work,
            stamp,
            {
                "job": row.job,
                "on": on.isoformat(),
                "kind": row.kind,
                "what": row.what,
                "supplier": row.supplier,
                "rate": row.rate,
                "rate_source": row.rate_source,
                "receipt": row.receipt,
                "reverses": number,
            },
            amount=-row.amount,
            in_job=-cost.in_job,
        )
        if number in (noted := input_taxes(work)):
            one = noted[number]
            set_input_tax(
                work, stamp, back, -Money(one.tax.text, one.currency),
                goods=bool(one.goods), capital=bool(one.capital),
            )  # fmt: skip
        given_back = _no_longer_charged(folder, work, stamp, job, cost, reason.strip())
        record(work, stamp, "reversed cost", job.key, cost=number, by=back, reason=reason.strip())
    return {
        "number": back,
        "reverses": number,
        "job": job.key,
        "what": row.what,
        "amount": row.amount.text,
        "currency": row.currency,
        "job_currency": job.currency,
        **tax_data(folder, cost),
        "given_back": given_back.text,
    }


def _refuse_reversed(known: dict[int, SpentCost], cost: SpentCost) -> None:
    if cost.row.reverses:
        raise RuleBroken(f"cost {cost.number} takes cost {cost.row.reverses} back: record the cost anew instead")
    for one in known.values():
        if one.row.reverses == cost.number:
            raise RuleBroken(f"cost {cost.number} is taken back already, by {one.number} on {one.row.on}")


def _no_longer_charged(
    folder: StudioFolder, work: Connection, stamp: Stamp, job: Job, cost: SpentCost, reason: str
) -> Money:
    """Charge nothing for a cost any more; how much of what was charged has to be given back, net.

    It may have been charged on its own, or within the fee for calling the job off.
    """
    from bizkit.services.job.charges import of_source, put_charges, put_difference
    from bizkit.store.charges import charges

    source, nothing = f"cost {cost.number}", Money(0, job.currency).rounded()
    rows = charges(work, job.key)
    own = [row for row in rows if row.source == source]
    if own:
        line = Line(
            own[0].section, own[0].item, Decimal(1), "cost", nothing, nothing,
            Working(f"taken back: {reason}", "costs.reversed", nothing),
        )  # fmt: skip
        left = put_difference(work, stamp, job.key, own[0].kind, line, source=source)
        return -left if left < nothing else nothing
    item = card_of(folder, work, job).words["spent"].format(what=cost.row.what or cost.row.kind)
    if not _called_off_since(work, job.key, cost.number):
        return nothing
    back = min(cost.net, of_source(work, job.key, "", item=item).stands).rounded()
    if back <= nothing:
        return nothing
    line = Line("fees", item, Decimal(-1), "cost", back, -back, Working(reason, "costs.reversed", -back))
    put_charges(work, stamp, job.key, "credit", [line], source=f"{source} taken back")
    return back


def _called_off_since(work: Connection, job: str, cost: int) -> bool:
    """Whether the job was cancelled or postponed after a cost was recorded: only then the fee can have it in it."""
    from bizkit.store.events import history

    events = history(work, job)
    spent = next((n for n, one in enumerate(events) if one.verb == "spent" and one.data["cost"] == cost), 0)
    return any(one.verb in ("cancelled", "postponed") for one in events[spent:])


class CostReversed(TaxData):
    """A cost taken back; given_back: to the client, net."""

    number: int
    reverses: int
    job: str
    what: str
    amount: str
    currency: str
    job_currency: str
    given_back: str
