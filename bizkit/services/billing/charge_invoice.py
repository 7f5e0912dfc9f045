"""The invoice for what a job costs beyond its quote."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.billing.tax import TaxTreatment
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.billing.earlier import earlier_for_quote, less_earlier, papers_of
from bizkit.services.billing.issuing import Asked, begin, send_out
from bizkit.services.shooting.charges import OPEN, charge_rows
from bizkit.services.studio.studio_folder import StudioFolder


def issue_charges(folder: StudioFolder, job: str, on: date, *, asked: Asked = Asked()) -> dict[str, Any]:
    """Issue one invoice for every open charge of a job, a line each.

    On a cancelled job what was invoiced before is taken off, since the fee stands in place of the quote; where that
    is just the fee, the invoice comes to nothing and says so. Raises RuleBroken when no charge is open, or when more
    was invoiced before than is owed now.
    """
    from bizkit.store.charges import set_charge_invoice
    from bizkit.store.spent import called_off_jobs

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        billed = begin(folder, work, stamp, job, asked)
        key, currency = billed.key, billed.currency
        waiting = [one for one in charge_rows(work, key) if one["state"] == OPEN]
        if not waiting:
            raise RuleBroken(f"{key}: no charge is open: see bizkit charge list {key}")
        lines = [charge_line(one, billed.how) for one in waiting]
        cancelled = any(one["kind"] == "cancel" for one in called_off_jobs(work, key))
        owed = total((Money(one["amount"], currency) for one in waiting), currency)
        settles = cancelled and not any(one.get("settles") for one in papers_of(work, key))
        if settles:
            lines += less_earlier(billed.words, earlier_for_quote(papers_of(work, key)))
        net = total((line.amount for line in lines), currency)
        if net.amount < 0 or not (net or settles):
            raise RuleBroken(
                f"{key}: {owed} is owed and {owed - net} of it was invoiced before: "
                f"{'nothing is left to invoice' if not net else f'credit {-net} instead'}"
            )
        made = send_out(
            billed,
            lines,
            stage={"position": 0, "title": "Charges", "reason": asked.reason},
            more={"charges": [one["id"] for one in waiting], "settles": settles},
        )
        for one in waiting:
            set_charge_invoice(work, one["id"], made.document["number"])
    made.write()
    return {**made.data(), "charges": made.document["charges"]}


def charge_line(row: dict[str, Any], how: TaxTreatment) -> InvoiceLine:
    """A charge as a line of an invoice, with where it comes from."""
    currency = row["currency"]
    return InvoiceLine.under(
        how,
        row["item"],
        Decimal(row["quantity"]),
        row["unit"],
        Money(row["rate"], currency),
        why=row["why"],
        section=row["section"],
        source=row["source"],
        fixed=Money(row["amount"], currency),
    )
