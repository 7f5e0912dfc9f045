"""Interest and compensation billed: an invoice of their own, outside the scope of tax, so that they can be paid.

They are no consideration for a supply: Court of Justice, case 222/81 BAZ Bausystem (interest awarded for late payment
is outside the scope of the tax); the same in the United Kingdom, from memory. No tax advice.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.letters import Overdue
from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.billing.tax import TaxTreatment
from bizkit.domain.errors import RuleBroken
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.services.billing.agreed import check_agreed
from bizkit.services.billing.balances import find_invoice
from bizkit.services.billing.bill_made import BillMade
from bizkit.services.billing.issuing import Asked, Billed, begin, send_out
from bizkit.services.billing.late_billed import late_source
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.store.issued import IssuedBill


def charge_lateness(folder: StudioFolder, number: str, on: date, *, asked: Asked = Asked()) -> LatenessBilled:
    """Issue the invoice for what the lateness of an invoice costs up to `on`, less what was billed for it before.

    For one that is still open or was paid late. Raises RuleBroken when nothing is due for it.
    """
    from bizkit.services.billing.late import bills_lateness, lateness
    from bizkit.services.job.job_client import client_of_job
    from bizkit.services.job.jobs import the_job
    from bizkit.store.charges import add_charge, set_charge_invoice

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, number)
        if bills_lateness(found):
            raise RuleBroken(
                f"{found.number} bills what the late payment of {found.document['late_payment_of']} costs: "
                "no interest and no compensation is due on that (simple interest on the price alone)"
            )
        client = client_of_job(folder, work, the_job(work, found.key))
        late = lateness(folder, work, found, client, on)
        billed = begin(folder, work, stamp, found.key, asked, performed_on=on)
        billed = replace(billed, how=_outside(billed))
        priced = _lines(billed, found, late)
        if not priced:
            raise RuleBroken(f"{found.number}: nothing is due for late payment on {on} that was not billed before")
        rows = [
            {"kind": "late", "item": one.item, "amount": one.amount.text, "currency": one.amount.currency}
            for one in priced
        ]
        check_agreed(work, stamp, billed.job, rows, asked.agreed)
        source = late_source(found.number)
        lines = [
            InvoiceLine.under(
                billed.how, one.item, 1, "flat", one.rate, why=one.why, section=one.section, source=source
            )
            for one in priced
        ]
        made = send_out(
            billed,
            lines,
            stage={"position": 0, "title": "Late payment", "reason": asked.reason},
            more={"late_payment_of": found.number},
        )
        for one in priced:
            charge = add_charge(work, stamp, job=found.key, kind="late", line=one, source=source)
            set_charge_invoice(work, charge, made.document["number"])
    made.write()
    return {**made.data(), "late_payment_of": found.number}


def _outside(billed: Billed) -> TaxTreatment:
    how = billed.how
    if how.category == "O" and not billed.folder.studio.tax.registered_on(billed.point.on):
        return how
    note = billed.words.say("lines.late_outside", tax=how.name)
    return TaxTreatment("O", how.name, Decimal(0), note, "interest and compensation are no supply (case 222/81)")


def _lines(billed: Billed, invoice: IssuedBill, late: Overdue) -> list[Line]:
    """Compensation, then interest, each less what was billed of it before."""
    fixed, interest = late.compensation_left, late.interest_left
    words = billed.words
    rows = []
    if fixed.amount > 0:
        text = f"compensation on a debt of {late.unpaid}, not paid by {late.owed.due_on}"
        item = words.say("lines.late_compensation", number=invoice.number)
        rows.append(Line.flat("fees", item, fixed, Working(text, "late.compensation", fixed)))
    if interest.amount > 0 and late.interest is not None:
        item = words.say("lines.late_interest", number=invoice.number)
        rows.append(Line.flat("fees", item, interest, late.interest.working))
    return rows


class LatenessBilled(BillMade):
    """An invoice of interest and compensation."""

    late_payment_of: str
