"""The invoice for what a job costs beyond its quote."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, decimal, total
from bizkit.services.billing.agreed import check_agreed
from bizkit.services.billing.bill_made import BillMade
from bizkit.services.billing.earlier import (
    earlier_for_quote,
    less_earlier,
    papers_of,
    put_back,
    put_back_lines,
    tax_of_part,
    undone,
)
from bizkit.services.billing.fee_tax import fee_tax
from bizkit.services.billing.fell_away import fell_away
from bizkit.services.billing.issuing import Asked, Billed, begin, send_out
from bizkit.services.billing.open_again import AGAIN
from bizkit.services.billing.settled_income import settled_income
from bizkit.services.billing.standing import standing
from bizkit.services.job.charges import charge_rows
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.job.charges import ChargeRow


def issue_charges(folder: StudioFolder, job: str, on: date, *, asked: Asked = Asked()) -> ChargesBilled:
    """Issue one invoice for every open charge of a job, a line each.

    On a cancelled job what was invoiced before is taken off, since the fee stands in place of the quote; where that
    is just the fee, the invoice comes to nothing and says so. Raises RuleBroken when no charge is open, or when more
    was invoiced before than is owed now, which `settle_job` credits.
    """
    from bizkit.store.charges import set_charge_invoice

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        billed = begin(folder, work, stamp, job, asked)
        key = billed.key
        stood = standing(work, billed.job)
        waiting, settles = stood.charges, stood.settles
        if not waiting and stood.net.amount >= 0:
            raise RuleBroken(f"{key}: no charge is open: see bizkit charge list {key}")
        check_agreed(work, stamp, billed.job, waiting, asked.agreed)
        taxed = fee_tax(billed, waiting)
        billed = replace(billed, how=taxed.how)
        billing = [one for one in waiting if one["id"] not in taxed.fallen]
        lines = [charge_line(one, billed) for one in billing]
        if settles:
            lines += _lowered_since(billed) if taxed.members else _set_off(billed)
        net = total((line.amount for line in lines), billed.currency)
        if net.amount < 0 or not (net or settles):
            before = f"and {stood.before} of it was invoiced before" if stood.before else "all in all"
            raise RuleBroken(
                f"{key}: {net + stood.before} is owed {before}: "
                + (
                    f"credit {-net} instead, with bizkit invoice settle {key}"
                    if net
                    else "nothing is left to invoice"
                )
            )
        kinds = settled_income(work, billed.job, net) if settles else {}
        made = send_out(
            billed,
            lines,
            stage={"position": 0, "title": "Charges", "reason": asked.reason},
            more={
                "charges": [one["id"] for one in billing],
                "settles": settles,
                **({"income": kinds} if kinds else {}),
                **taxed.members,
            },
        )
        for one in waiting:
            set_charge_invoice(work, one["id"], made.document["number"])
    made.write()
    done = made.data()
    return {**done, "charges": made.document["charges"], "warnings": [*done["warnings"], *taxed.warnings]}


def _set_off(billed: Billed) -> list[InvoiceLine]:
    """What was invoiced before for a cancelled job, taken off: all that billed the quote, and what came with it.

    Charges that a final invoice billed stay owed and are put back on, as are credits of invoices of charges.
    """
    papers = papers_of(billed.work, billed.key)
    gone = undone(papers)
    finals = {one["number"] for one in papers if one.get("final") and one["number"] not in gone}
    lines = [charge_line(one, billed) for one in charge_rows(billed.work, billed.key) if one["invoice"] in finals]
    earlier = earlier_for_quote(papers)
    known = {one["number"] for one in earlier}
    of_charges = {one["number"] for one in papers if one.get("charges") and not one.get("final")} - gone
    earlier += [
        one for one in put_back(papers) if one["credits"]["number"] in of_charges and one["number"] not in known
    ]
    fell = fell_away(billed.work, billed.job)
    notes = [one for one in papers if one["number"] in fell]
    back = [line for one in notes for line in put_back_lines(billed.words, one, fell[one["number"]])]
    return lines + less_earlier(billed.words, earlier) + back


def _lowered_since(billed: Billed) -> list[InvoiceLine]:
    """What the client was promised less after the job was cancelled, where its invoices are credited whole by now."""
    notes = {one["number"] for one in papers_of(billed.work, billed.key) if one.get("lowers_price")}
    since = {f"credit note {number}" for number in notes - fell_away(billed.work, billed.job).keys()}
    rows = charge_rows(billed.work, billed.key)
    return [charge_line(one, billed) for one in rows if one["source"] in since and not one["working"].get("inputs")]


def charge_line(row: ChargeRow, billed: Billed) -> InvoiceLine:
    """A charge as a line of an invoice, its days as the client writes them, with where it comes from.

    What a credit note left to be invoiced again bears the tax that was taken back.
    """
    currency = row["currency"]
    return InvoiceLine.under(
        billed.how,
        billed.words.dated(row["item"]),
        Decimal(row["quantity"]),
        row["unit"],
        Money(row["rate"], currency),
        why=row["why"],
        section=row["section"],
        source=row["source"],
        fixed=Money(row["amount"], currency),
        tax=_tax_again(row, billed),
    )


def _tax_again(row: ChargeRow, billed: Billed) -> Money | None:
    """The tax that a credit note took back of what it left to be invoiced again; None for any other charge."""
    from bizkit.store.charges import charges

    if row["kind"] != AGAIN:
        return None
    papers = {f"credit note {one['number']}": one for one in papers_of(billed.work, billed.key)}
    note = papers.get(row["source"])
    bracket = billed.how.category, billed.how.rate.normalize()
    if note is None or [(tax["category"], decimal(tax["rate"]).normalize()) for tax in note["taxes"]] != [bracket]:
        return None
    left = {
        one.id: one.amount.rounded()
        for one in charges(billed.work, billed.key, source=row["source"])
        if one.kind == AGAIN
    }
    whole = tax_of_part(note, total(left.values(), billed.currency))
    if whole is None or whole.amount <= 0:
        return None
    parts = whole.allocate([amount.amount for amount in left.values()])
    return dict(zip(left, parts, strict=True))[row["id"]]


class ChargesBilled(BillMade):
    """An invoice of charges, and which."""

    charges: list[int]
