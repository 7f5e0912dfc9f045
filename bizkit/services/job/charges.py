"""Charges beyond the quote: kept with their working until an invoice bills them or somebody waives them.

Whatever a job costs the client on top of its quote is a charge: a fee for calling off, an overrun, a cost, a further
review round, a wider licence. Other services put theirs in with `put_charges`; `issue_charges` bills them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.working import Working
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp

#: States of a charge.
OPEN, INVOICED, WAIVED = "to invoice", "invoiced", "waived"


def put_charges(
    work: Connection, stamp: Stamp, job: str, kind: str, lines: Sequence[Line], *, source: str
) -> list[int]:
    """Keep `lines` as charges of a job, in the caller's transaction; returns their ids.

    source: the record they come from ("day 2027-05-11", "round 3 of campaign-film"). Open charges of the same source
    are replaced, so that a record written anew charges anew. Raises RuleBroken when one of them is billed.
    """
    from bizkit.store.charges import add_charge, charges, drop_open_charges

    for one in charges(work, job, source=source):
        if one.invoice:
            raise RuleBroken(f"{source} is billed already by {one.invoice}: credit that first, then record it anew")
    drop_open_charges(work, job, source)
    return [add_charge(work, stamp, job=job, kind=kind, line=line, source=source) for line in lines if line.amount]


def put_difference(work: Connection, stamp: Stamp, job: str, kind: str, line: Line, *, source: str) -> Money:
    """Keep what a source comes to by now as one open charge: `line` less what was billed for it or waived before.

    Where more was billed than it comes to now, the open charge gives the rest back; what was waived stays waived.
    Returns the amount of the open charge, zero where none is needed.
    """
    from bizkit.store.charges import add_charge, charges, drop_open_charges

    currency = line.amount.currency
    before = charges(work, job, source=source)
    billed = total((Money(one.amount.text, currency) for one in before if one.invoice), currency)
    waived = total((Money(one.amount.text, currency) for one in before if one.waived), currency)
    drop_open_charges(work, job, source)
    zero = Money(0, currency)
    rest = line.amount - billed - waived
    if rest < zero:
        rest = min(line.amount - billed, zero)
    if rest:
        done = billed + waived
        text = f"{line.why}; {done} of it was charged or waived before" if done else line.why
        working = replace(line.working, text=text, amount=rest)
        sign, rate = (Decimal(1), rest) if rest > zero else (Decimal(-1), -rest)
        part = replace(line, quantity=sign, rate=rate.rounded(), amount=rest.rounded(), working=working)
        add_charge(work, stamp, job=job, kind=kind, line=part, source=source)
    return rest.rounded()


def charge_rows(work: Connection, job: str | None = None) -> list[dict[str, Any]]:
    """Charges of one job or all, with their state and why."""
    from bizkit.store.charges import charges

    return [
        {
            "id": row.id,
            "job": row.job,
            "on": row.on,
            "kind": row.kind,
            "section": row.section,
            "item": row.item,
            "quantity": row.quantity,
            "unit": row.unit,
            "rate": row.rate,
            "amount": row.amount.text,
            "currency": row.currency,
            "working": row.working,
            "source": row.source,
            "invoice": row.invoice,
            "waived": row.waived,
            "why": row.working["text"],
            "state": INVOICED if row.invoice else WAIVED if row.waived else OPEN,
        }
        for row in charges(work, job)
    ]


def list_charges(folder: StudioFolder, job: str | None = None) -> dict[str, Any]:
    """Charges of one job or all, and what is open per currency."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        rows = charge_rows(work, the_job(work, job).key if job else None)
    waiting = [row for row in rows if row["state"] == OPEN]
    currencies = dict.fromkeys(row["currency"] for row in waiting)
    return {
        "charges": rows,
        "open": [
            {
                "currency": currency,
                "net": total(
                    (Money(row["amount"], currency) for row in waiting if row["currency"] == currency), currency
                ).text,
            }
            for currency in currencies
        ],
    }


def add_charge_by_hand(
    folder: StudioFolder,
    job: str,
    what: str,
    amount: str,
    on: date,
    *,
    section: str = "fees",
    reason: str = "",
    agreed: str = "",
) -> dict[str, Any]:
    """Charge something that no other record explains; `reason` says why. A negative amount gives something back.

    agreed: who said yes to it for the client and when, as no quote states it; it can also be said when it is billed.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.filing import refuse_letters
    from bizkit.store.events import record

    if section not in SECTIONS:
        raise NotFound("section", section, SECTIONS, field="--section")
    if not what.strip():
        raise BadInput(wanted="what is charged", got="nothing", field="--what")
    if not reason.strip():
        raise BadInput(wanted="why it is charged", got="nothing", field="--reason")
    refuse_letters(folder, {"--what": what, "--reason": reason})
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        sum_ = amount_of(amount, row.currency, "--amount")
        if not sum_:
            raise BadInput(wanted="an amount other than zero", got=amount, field="--amount")
        # A unit price is never negative (EN 16931 BR-27): what is given back has a negative quantity.
        sign, rate = (Decimal(-1), -sum_) if sum_.amount < 0 else (Decimal(1), sum_)
        working = Working(reason.strip(), "charge.agreed", sum_, inputs=(("agreed", agreed.strip()),))
        line = Line(section, what.strip(), sign, "flat", rate, sum_, working)
        from bizkit.store.charges import add_charge

        number = add_charge(work, stamp, job=row.key, kind="agreed", line=line, source="agreed by hand")
        record(
            work, stamp, "charged", row.key, charge=number, what=what.strip(), amount=sum_.text, reason=reason,
            agreed=agreed.strip(),
        )  # fmt: skip
        return next(one for one in charge_rows(work, row.key) if one["id"] == number)


def waive(folder: StudioFolder, charge_id: int, on: date, *, reason: str) -> dict[str, Any]:
    """Give a charge up. Raises RuleBroken when it is billed or waived already."""
    if not reason.strip():
        raise BadInput(wanted="why it is not charged", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        return waive_one(work, stamp, charge_id, reason)


def waive_one(work: Connection, stamp: Stamp, charge_id: int, reason: str) -> dict[str, Any]:
    """The same in the caller's transaction."""
    from bizkit.store.charges import waive_charge
    from bizkit.store.events import record

    rows = {row["id"]: row for row in charge_rows(work)}
    if charge_id not in rows:
        raise NotFound("charge", charge_id, [str(one) for one in rows], field="CHARGE")
    row = rows[charge_id]
    if row["state"] == INVOICED:
        raise RuleBroken(f"charge {charge_id} is billed by {row['invoice']}: credit the invoice instead")
    if row["state"] == WAIVED:
        raise RuleBroken(f"charge {charge_id} is waived already: {row['waived']}")
    waive_charge(work, stamp, charge_id, reason.strip())
    record(work, stamp, "waived", row["job"], charge=charge_id, amount=row["amount"], reason=reason.strip())
    return {**row, "state": WAIVED, "waived": reason.strip(), "waived_on": stamp.on.isoformat()}
