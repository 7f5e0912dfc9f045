"""Charges beyond the quote: kept with their working until an invoice bills them or somebody waives them.

Whatever a job costs the client on top of its quote is a charge: a fee for calling off, an overrun, a cost, a further
review round, a wider licence. Other services put theirs in with `put_charges`; `issue_charges` bills them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, Literal, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.working import Working
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.charges import Charge
    from bizkit.store.stamp import Stamp

#: States of a charge.
OPEN: Final = "to invoice"
INVOICED: Final = "invoiced"
WAIVED: Final = "waived"
#: What becomes of a charge.
ChargeState = Literal["to invoice", "invoiced", "waived"]
#: The source of every charge that no other record explains.
BY_HAND: Final = "agreed by hand"
#: The kind of charge that is no change of the price: what a late invoice costs by statute.
LATE: Final = "late"


def put_charges(
    work: Connection, stamp: Stamp, job: str, kind: str, lines: Sequence[Line], *, source: str
) -> list[int]:
    """Keep `lines` as charges of a job, in the caller's transaction; returns their ids.

    source: the record they come from ("day 2027-05-11", "round 3 of campaign-film"). Open charges of the same source
    are replaced, so that a record written anew charges anew, and so is what credit notes of them left to invoice
    again. Raises RuleBroken while one of them is billed and not all of that credited.
    """
    from bizkit.store.charges import add_charge, drop_charge, drop_open_charges

    before = of_source(work, job, source)
    billed = before.billed - before.credited
    if billed and (bills := _bills_left(work, job, before)):
        raise RuleBroken(
            f"{source} is billed already by {' and '.join(bills)}: credit that first, then record it anew"
        )
    drop_open_charges(work, job, source)
    for one in before.open_again:
        drop_charge(work, one.id)
    if billed:  # its invoices came to less by what was given back on all they bill
        lines = [*lines, _given_back_before(before.own, kind, billed)]
    return [add_charge(work, stamp, job=job, kind=kind, line=line, source=source) for line in lines if line.amount]


def _bills_left(work: Connection, job: str, found: Charged) -> list[str]:
    """The invoices that bill a source, or bill it again, and of which credit notes left something."""
    from bizkit.store.register import net_left

    left = net_left(work, job)
    by = dict.fromkeys(row.invoice for row in (*found.own, *found.left) if row.invoice)
    return [number for number in by if left.get(number)]


def _given_back_before(own: Sequence[Charge], kind: str, amount: Money) -> Line:
    """The charge for what of a source credit notes gave back as a part of something else."""
    row, sign = next(one for one in own if one.invoice), Decimal(-1 if amount.amount > 0 else 1)
    working = Working(f"{amount} of what was billed for it was given back before", f"{kind}.given_back", -amount)
    return Line(row.section, row.item, sign, "flat", amount * -sign, -amount, working)


def put_difference(work: Connection, stamp: Stamp, job: str, kind: str, line: Line, *, source: str) -> Money:
    """Keep what a source comes to by now as one open charge: `line` less what was billed for it or waived before.

    Where more was billed than it comes to now, the open charge gives the rest back; what was waived stays waived, and
    what a credit note gave back of it as a lower price stays given back and is not given back twice. It takes the
    place of what a credit note left to invoice again.
    Returns the amount of the open charge, zero where none is needed.
    """
    from bizkit.store.charges import add_charge, drop_charge, drop_open_charges

    currency = line.amount.currency
    before = of_source(work, job, source)
    billed, waived = before.billed - before.credited, before.waived + before.lowered
    drop_open_charges(work, job, source)
    for one in before.open_again:
        drop_charge(work, one.id)
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


@dataclass(frozen=True, slots=True)
class Charged:
    """What a source was charged: its own charges, and those that credit notes of their invoices left.

    currency: of the job.
    """

    own: tuple[Charge, ...]
    left: tuple[Charge, ...]
    currency: str

    @property
    def billed(self) -> Money:
        """What invoices and credit notes billed of its own charges."""
        return self._sum(one for one in self.own if one.invoice)

    @property
    def waived(self) -> Money:
        """What was given up of its own charges."""
        return self._sum(one for one in self.own if one.waived)

    @property
    def credited(self) -> Money:
        """What credit notes took back of what was billed and nothing has billed again."""
        return -self._sum(one for one in self.left if one.invoice)

    @property
    def lowered(self) -> Money:
        """What credit notes took back for good: as a lower price, or to be invoiced again and then given up."""
        return -self._sum(one for one in self.left if not one.waived)

    @property
    def stands(self) -> Money:
        """What is asked for it by now, billed or open."""
        return self._sum(one for one in self.own if not one.waived) - self.lowered

    @property
    def open_again(self) -> tuple[Charge, ...]:
        """What credit notes left to be invoiced again."""
        return tuple(one for one in self.left if _waits(one))

    @property
    def open_back(self) -> tuple[Charge, ...]:
        """What waits to be given back."""
        return tuple(one for one in self.own if _waits(one) and one.amount_minor < 0)

    def _sum(self, rows: Iterable[Charge]) -> Money:
        return total((Money(one.amount.text, self.currency) for one in rows), self.currency)


#: Where a charge that a credit note left says in its working of which charge it is.
OF_CHARGE: Final = "of charge"


def of_charge(row: Charge) -> int:
    """The charge that one left by a credit note is of; 0 for none."""
    return int(row.working.get("inputs", {}).get(OF_CHARGE, 0))


def of_source(work: Connection, job: str, source: str, *, item: str = "") -> Charged:
    """What a source was charged, and with `item` only its charges of that name, whatever they come from."""
    from bizkit.store.charges import charges
    from bizkit.store.jobs import jobs

    rows = charges(work, job)
    own = tuple(one for one in rows if (one.item == item if item else one.source == source) and not of_charge(one))
    known = {one.id for one in own}
    left = tuple(one for one in rows if of_charge(one) in known)
    return Charged(own, left, jobs(work, job)[0].currency)


def charge_rows(work: Connection, job: str | None = None) -> list[ChargeRow]:
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


def of_late_payment(rows: Iterable[ChargeRow]) -> set[int]:
    """The charges that are interest and compensation for late payment, and what credit notes gave back of them."""
    rows = list(rows)
    late = {row["id"] for row in rows if row["kind"] == LATE}
    return late | {row["id"] for row in rows if int(row["working"].get("inputs", {}).get(OF_CHARGE, 0)) in late}


def list_charges(folder: StudioFolder, job: str | None = None) -> ChargesShown:
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
) -> ChargeAdded:
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

        same = [
            one["id"]
            for one in charge_rows(work, row.key)
            if (one["source"], one["item"], one["amount"], one["on"]) == (BY_HAND, line.item, sum_.text, str(on))
            and one["state"] != WAIVED
        ]
        number = add_charge(work, stamp, job=row.key, kind="agreed", line=line, source=BY_HAND)
        record(
            work, stamp, "charged", row.key, charge=number, what=what.strip(), amount=sum_.text, reason=reason,
            agreed=agreed.strip(),
        )  # fmt: skip
        added = next(one for one in charge_rows(work, row.key) if one["id"] == number)
    return {**added, "same": same}


def even_out(work: Connection, stamp: Stamp, job: str, source: str) -> None:
    """Where a source has something open to invoice and something open to give back, leave the difference alone."""
    if source == BY_HAND:
        return
    found = of_source(work, job, source)
    ask = [*found.open_again, *(one for one in found.own if _waits(one) and one.amount_minor > 0)]
    back = found.open_back
    sums = [total((Money(one.amount.text, one.currency) for one in rows), found.currency) for rows in (ask, back)]
    both = min(sums[0], -sums[1])
    take_less(work, stamp, ask, both)
    take_less(work, stamp, back, both)


def take_less(work: Connection, stamp: Stamp, rows: Sequence[Charge], sum_: Money) -> None:
    """Take a sum off open charges, the first first, whichever their sign."""
    from bizkit.store.charges import add_charge, drop_charge

    for one in rows:
        sign = 1 if one.amount_minor > 0 else -1
        part = min(one.amount * sign, sum_)
        if part.amount <= 0:
            return
        drop_charge(work, one.id)
        sum_, rest = sum_ - part, one.amount * sign - part
        if rest:
            inputs = tuple(one.working.get("inputs", {}).items())
            working = Working(one.working["text"], one.working["rule"], rest * sign, inputs=inputs)
            line = Line(one.section, one.item, Decimal(sign), one.unit, rest, rest * sign, working)
            add_charge(work, stamp, job=one.job, kind=one.kind, line=line, source=one.source)


def _waits(row: Charge) -> bool:
    return not row.invoice and not row.waived


class ChargeRow(TypedDict):
    """A charge beyond the quote; state: one of `OPEN`, `INVOICED`, `WAIVED`."""

    id: int
    job: str
    on: str
    kind: str
    section: str
    item: str
    quantity: str
    unit: str
    rate: str
    amount: str
    currency: str
    working: dict[str, Any]
    source: str
    invoice: str
    waived: str
    why: str
    state: ChargeState


class ChargeAdded(ChargeRow):
    """A new charge. same: those of its day that say just the same."""

    same: list[int]


class ChargesShownOpen(TypedDict):
    """What is open in one currency, net."""

    currency: str
    net: str


class ChargesShown(TypedDict):
    """Charges, and what of them is open."""

    charges: list[ChargeRow]
    open: list[ChargesShownOpen]
