"""What was billed for the lateness of an invoice, compensation and interest apart."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.billing.credited_lines import left_of_lines
from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import IssuedBill


def billed_before(work: Connection, invoice: IssuedBill, on: date) -> tuple[Money, Money]:
    """What was billed of compensation and of interest by the end of `on`, what credit notes took back taken off."""
    from bizkit.store.charges import charges
    from bizkit.store.issued import numbered
    from bizkit.store.register import bills

    nothing = Money(0, invoice.document["currency"])
    sums = {"late.compensation": nothing, "late.interest": nothing}
    entries = bills(work, invoice.key)
    mine = [one.number for one in entries if one.late_payment_of == invoice.number]
    if not mine:
        return nothing.rounded(), nothing.rounded()
    notes = [one.number for one in entries if one.credits in mine and one.issued_on <= on.isoformat()]
    found = {one.number: one.document for one in numbered(work, [*mine, *notes])}
    rules = [row.working["rule"] for row in charges(work, invoice.key, source=late_source(invoice.number))]
    for number in mine:
        document = found[number]
        of_lines, rules = rules[: len(document["lines"])], rules[len(document["lines"]) :]
        if document["issued_on"] > on.isoformat():
            continue
        credited = [found[one] for one in notes if found[one]["credits"]["number"] == number]
        for rule, left in zip(of_lines, left_of_lines(document, credited), strict=True):
            sums[rule] = sums[rule] + left
    return sums["late.compensation"].rounded(), sums["late.interest"].rounded()


def late_source(number: str) -> str:
    """The source of the charges for the late payment of an invoice."""
    return f"late payment of {number}"
