"""What of which invoice to credit where a job has more to give back than to invoice."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.credit import Bracket, left_to_credit
from bizkit.domain.billing.credited_lines import left_of_lines, taken_line
from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.billing.balances import balances, find_invoice
from bizkit.services.billing.earlier import bills_quote, papers_of
from bizkit.services.billing.open_again import charges_of_lines
from bizkit.services.billing.standing import Standing
from bizkit.services.job.charges import BY_HAND, charge_rows, of_charge

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import BillOnFile


def credits_for(work: Connection, found: Standing) -> list[tuple[str, list[InvoiceLine]]]:
    """What of which invoice to credit so that nothing is left to credit: number and lines, in order.

    The invoice that billed what is given back first, then unpaid invoices of the quote, so that as little as can be
    has to be paid back; the newest first among them.
    Raises RuleBroken where less was invoiced than is to be given back.
    """
    papers = papers_of(work, found.job)
    now = balances(work, found.job)
    invoices = [one for one in papers if one["kind"] == "invoice" and not one.get("late_payment_of")]
    newest = list(reversed(invoices))
    back = {one["source"] for one in found.charges if one["amount"].startswith("-")}
    billed = {one["invoice"] for one in charge_rows(work, found.job) if one["source"] in back}
    newest.sort(
        key=lambda one: (one["number"] not in billed, not bills_quote(one), now[one["number"]].left.amount <= 0)
    )
    wanted, chosen = -found.net, []
    for invoice in newest:
        notes = [
            one for one in papers if one["kind"] == "credit_note" and one["credits"]["number"] == invoice["number"]
        ]
        lines = _lines_given_back(work, found, invoice, notes, wanted)
        took = total((line.amount for line in lines), wanted.currency)
        wanted = wanted - took
        for (category, rate), (base, _) in left_to_credit(invoice, notes).items():
            bracket = category, rate
            base = base - total((one.amount for one in lines if _bracket(one) == bracket), wanted.currency)
            part = min(base, wanted, key=lambda money: money.amount)
            if part.amount > 0:
                note = next(tax["note"] for tax in invoice["taxes"] if tax["category"] == category)
                source = f"invoice {invoice['number']}"
                lines.append(
                    InvoiceLine(
                        invoice["title"] or invoice["number"], Decimal(1), "flat", part, category, rate, note,
                        source=source,
                    )
                )  # fmt: skip
                wanted = wanted - part
        if lines:
            chosen.append((str(invoice["number"]), lines))
        if not wanted:
            return chosen
    ways = "invoice what is due first, it takes the rest off"
    if found.cancelled_on:  # nothing more falls due
        below = [str(one["id"]) for one in found.charges if one["amount"].startswith("-")]
        ways = f"give up what it is more with bizkit charge waive {' or '.join(below) or 'CHARGE'}"
    raise RuleBroken(f"{found.job}: {-found.net} is to be given back, {wanted} more than was invoiced: {ways}")


def _lines_given_back(
    work: Connection, found: Standing, invoice: BillOnFile, notes: Sequence[BillOnFile], wanted: Money
) -> list[InvoiceLine]:
    """The lines of an invoice that bill what is given back now, each as far as it is left, `wanted` at most."""
    from bizkit.store.charges import charges

    known = {row.id: row for row in charges(work, found.job)}
    back: dict[str, Money] = {}
    for one in found.charges:
        if one["amount"].startswith("-") and one["source"] != BY_HAND:
            sum_ = back.get(one["source"], Money(0, wanted.currency))
            back[one["source"]] = sum_ - Money(one["amount"], wanted.currency)
    left, room = left_of_lines(invoice, notes), left_to_credit(invoice, notes)
    lines: list[InvoiceLine] = []
    for place, row in charges_of_lines(work, find_invoice(work, invoice["number"])).items():
        source = known[of_charge(row) or row.id].source
        if source not in back:
            continue
        part = min(left[place - 1], back[source], wanted)
        line = taken_line(invoice, place, part)
        part = min(part, room[_bracket(line)][0])
        if part.amount <= 0:
            continue
        lines.append(taken_line(invoice, place, part))
        base, tax = room[_bracket(line)]
        room[_bracket(line)] = base - part, tax
        back[source], wanted = back[source] - part, wanted - part
    return lines


def _bracket(line: InvoiceLine) -> Bracket:
    return line.category, line.tax_rate.normalize()
