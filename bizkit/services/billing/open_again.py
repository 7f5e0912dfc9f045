"""What a credit note does to what its invoice billed: it is to be invoiced again, or the price is lower.

A credit note that undoes all of an invoice opens its stages and charges as they were. One that undoes a part opens
the charges whose lines it takes back whole; of anything else it leaves two charges that come to nothing together: one
less, which the credit note bills, and one to invoice again. So the money of a job adds up whatever was undone, and
giving the second up is a lower price.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from bizkit.domain.billing.credit import left_to_credit
from bizkit.domain.documents.on_file import lines_of
from bizkit.domain.money import Money, decimal, total
from bizkit.domain.pricing.line import SECTIONS, Line
from bizkit.domain.pricing.working import Working
from bizkit.services.billing.deposits import deposits_left
from bizkit.services.billing.earlier import bills_quote
from bizkit.services.billing.standing import Standing
from bizkit.services.job.charges import OF_CHARGE, even_out, of_charge

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import BillOnFile, LineOnFile
    from bizkit.store.charges import Charge
    from bizkit.store.issued import IssuedBill
    from bizkit.store.stamp import Stamp

#: Kind of the charge for what a credit note took off and is to be invoiced again; "credit" is the one it bills.
AGAIN: Final = "again"


@dataclass(frozen=True, slots=True)
class Undone:
    """What a credit note opens again. whole: all that its invoice billed. by_itself: nothing is to be kept, as the
    next stage takes less of a deposit off, or the fee of a cancelled job is set against what stays.
    """

    whole: bool
    by_itself: bool


def what_is_undone(
    work: Connection, invoice: IssuedBill, note: BillOnFile, before: Sequence[BillOnFile], stood: Standing
) -> Undone:
    """Whether a credit note of an invoice opens all of it again. before: its earlier credit notes, see `standing`."""
    from bizkit.store.charges import charges

    original, settled = invoice.document, bool(stood.cancelled_on) and stood.settled
    kept = [row for one in before for row in _kept(work, invoice.key, one["number"])]
    waiting = [row for row in kept if row.kind == AGAIN]
    clean = all(not row.invoice and not row.waived for row in waiting)
    known = {row.id for row in charges(work, invoice.key)}  # what was recorded anew since is no longer among them
    clean = clean and all(charge in known for one in before for charge in one.get("again", ()))
    clean = clean and not any(_lasts(one, settled=settled) for one in before)
    if original.get("deposit"):
        currency = original["currency"]
        room = next(
            (left.net for one, left in deposits_left(work, invoice.key) if one["number"] == invoice.number), None
        )
        back = total((Money(row.amount.text, currency) for row in waiting), currency) + Money(note["net"], currency)
        by_itself = stood.settles or (room is not None and back <= room and not settled)
        clean = clean and by_itself
    else:
        by_itself = stood.settles and bills_quote(original)
    rest = left_to_credit(original, [*before, note]).values()
    whole = clean and not any(base for base, _ in rest) and not (settled and bills_quote(original))
    return Undone(whole, by_itself)


def open_all(work: Connection, stamp: Stamp, invoice: IssuedBill, note: str, before: Sequence[BillOnFile]) -> None:
    """What a wholly undone invoice billed is to be billed again: its stages and its charges.

    Not what late payment costs: it is worked out anew, for an invoice of its own, when it is asked for again.
    """
    from bizkit.store.charges import charges, drop_charge, set_charge_invoice, waive_charge
    from bizkit.store.jobs import set_stage_invoice, stages

    for one in before:
        for row in _kept(work, invoice.key, one["number"]):
            drop_charge(work, row.id)
    for stage in stages(work, invoice.key):
        if stage.invoice == invoice.number:
            set_stage_invoice(work, invoice.key, stage.position, "")
    billed = [charge for charge in charges(work, invoice.key) if charge.invoice == invoice.number]
    for charge in billed:
        set_charge_invoice(work, charge.id, "")
        if charge.kind == "late":
            waive_charge(work, stamp, charge.id, f"credited by {note}")
    _even_out(work, stamp, invoice.key, billed)


def open_part(
    work: Connection, stamp: Stamp, invoice: IssuedBill, note: BillOnFile, lines: Mapping[int, LineOnFile], item: str
) -> list[int]:
    """Open what a credit note of a part takes back; returns the ids of the charges it opened or left.

    lines: those credited, by the position of theirs on the invoice; none where the sum has none of its own, which
    `item` says. A charge that is taken back whole opens; of a part of one, what it leaves says of which charge it is.
    What late payment costs is worked out anew instead.
    """
    from bizkit.store.charges import set_charge_invoice

    original, currency = invoice.document, note["currency"]
    if original.get("late_payment_of"):
        return [take_off(work, stamp, note, invoice.key, item)]
    charged = charges_of_lines(work, invoice)
    rest, found = Money(note["net"], currency), []

    def put(line: LineOnFile, of: int = 0) -> None:
        section = _section(note if note.get("income") else original, line)
        found.append(take_off(work, stamp, note, invoice.key, line["item"], line["amount"], section, of=of))
        found.append(_put_again(work, stamp, note, invoice.key, line, section, of=of))

    for place, text in note["of_lines"].items():
        row, part = charged.get(int(place)), Money(text, currency)
        line = lines.get(int(place)) or _part_of(original, int(place), part)
        if row is None and int(place) not in lines:
            continue
        rest = rest - part
        if row is not None and row.amount.text == part.text:
            set_charge_invoice(work, row.id, "")
            found.append(row.id)
        else:
            put(line, (of_charge(row) or row.id) if row is not None else 0)
    if rest:
        put(_flat(item, rest))
    _even_out(work, stamp, invoice.key, charged.values())
    return found


def _even_out(work: Connection, stamp: Stamp, job: str, opened: Iterable[Charge]) -> None:
    """What was opened and waits to be given back for the same thing is neither to invoice nor to give back."""
    from bizkit.store.charges import charges

    known = {row.id: row for row in charges(work, job)}
    for source in dict.fromkeys(known[of_charge(row) or row.id].source for row in opened):
        even_out(work, stamp, job, source)


def lower(work: Connection, stamp: Stamp, invoice: IssuedBill, note: BillOnFile) -> None:
    """Keep what a credit note takes off for good as a lower price, and of which charge it is where it is of one."""
    charged, rest = charges_of_lines(work, invoice), Money(note["net"], note["currency"])
    for place, part in note["of_lines"].items():
        row = charged.get(int(place))
        if row is not None:
            of = of_charge(row) or row.id
            take_off(work, stamp, note, invoice.key, note["reason"], part, row.section, of=of)
            rest = rest - Money(part, note["currency"])
    if rest:
        take_off(work, stamp, note, invoice.key, note["reason"], rest.text)


def charges_of_lines(work: Connection, invoice: IssuedBill) -> dict[int, Charge]:
    """The charges that an invoice bills by now, by the position of their lines on it; nothing for late payment."""
    from bizkit.store.charges import charges

    original = invoice.document
    if original.get("late_payment_of"):
        return {}
    by_id = {row.id: row for row in charges(work, invoice.key) if row.invoice == invoice.number}
    billed = [by_id.get(one) for one in original.get("charges", [])]
    if not original.get("final"):
        return {place: row for place, row in enumerate(billed, start=1) if row is not None}
    found: dict[int, Charge] = {}
    places = list(enumerate(lines_of(original), start=1))
    for row in billed:
        for place, line in places:
            same = row is not None and (line.get("source"), line["amount"]) == (row.source, row.amount.text)
            if row is not None and same and place not in found:
                found[place] = row
                break
    return found


def take_off(
    work: Connection,
    stamp: Stamp,
    note: BillOnFile,
    job: str,
    item: str,
    amount: str = "",
    section: str = "discount",
    *,
    of: int = 0,
) -> int:
    """Keep what a credit note takes off, all of it or an amount, as a charge below zero that it bills itself.

    of: the charge that it is a part of, 0 for none.
    """
    from bizkit.store.charges import add_charge, set_charge_invoice

    net = Money(amount or note["net"], note["currency"])
    text = f"{net} less: {note['reason']}"
    working = Working(text, "credit.lower_price", -net, "credit note of the invoice", inputs=_of(of))
    line = Line(section, item, Decimal(-1), "flat", net, -net, working)
    charge = add_charge(work, stamp, job=job, kind="credit", line=line, source=_source(note["number"]))
    set_charge_invoice(work, charge, note["number"])
    return charge


def _of(charge: int) -> tuple[tuple[str, str], ...]:
    return ((OF_CHARGE, str(charge)),) if charge else ()


def _part_of(original: BillOnFile, place: int, amount: Money) -> LineOnFile:
    line = lines_of(original)[place - 1]
    return {**_flat(line["item"], amount), "section": line.get("section", "")}


def _flat(item: str, amount: Money) -> LineOnFile:
    """How a line reads that is a part of another, its tax aside."""
    return {
        "item": item, "quantity": "1", "unit": "flat", "rate": amount.text, "amount": amount.text, "category": "",
        "tax_rate": "",
    }  # fmt: skip


def _put_again(
    work: Connection, stamp: Stamp, note: BillOnFile, job: str, line: LineOnFile, section: str, *, of: int = 0
) -> int:
    from bizkit.store.charges import add_charge

    amount = Money(line["amount"], note["currency"])
    number, invoice = note["number"], note["credits"]["number"]
    text = f"{amount} of invoice {invoice}, undone by {number}: {note['reason']}"
    working = Working(text, "credit.again", amount, inputs=_of(of))
    rate = Money(line["rate"], note["currency"])
    put = Line(section, line["item"], decimal(line["quantity"]), line["unit"], rate, amount, working)
    return add_charge(work, stamp, job=job, kind="again", line=put, source=_source(number))


def _kept(work: Connection, job: str, note: str) -> list[Charge]:
    """The charges that a credit note left."""
    from bizkit.store.charges import charges

    return charges(work, job, source=_source(note))


def _source(note: str) -> str:
    return f"credit note {note}"


def _lasts(note: BillOnFile, *, settled: bool) -> bool:
    """Whether what a credit note took back stays taken back: a lower price, or the settling of a cancelled job."""
    return bool(note.get("lowers_price") or (settled and not note.get("again")))


def _section(paper: BillOnFile, line: LineOnFile) -> str:
    """Where a line of a paper belongs; one that bills a part of the quote belongs where most of it does."""
    income = {name: decimal(sum_) for name, sum_ in paper.get("income", {}).items() if name in SECTIONS}
    return line.get("section") or max(income, key=lambda name: income[name], default="fees")
