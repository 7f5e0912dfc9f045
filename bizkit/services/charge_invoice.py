"""The invoice for what a job costs beyond its quote."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.invoice import invoice_document
from bizkit.domain.billing.lines import InvoiceLine, deduction_lines, income_split
from bizkit.domain.billing.payment import Terms
from bizkit.domain.billing.tax import TaxTreatment, treatment
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.charges import OPEN, charge_rows
from bizkit.services.studio_folder import StudioFolder


def issue_charges(folder: StudioFolder, job: str, on: date) -> dict[str, Any]:
    """Issue one invoice for every open charge of a job, a line each.

    On a cancelled job what was invoiced before is taken off, since the fee stands in place of the quote. Raises
    RuleBroken when no charge is open, or when more was invoiced before than is owed now.
    """
    from bizkit.services.filing import file_paper, write_whole
    from bizkit.services.jobs import the_job
    from bizkit.services.logo import keep_logo
    from bizkit.services.numbers import draw
    from bizkit.store.charges import set_charge_invoice
    from bizkit.store.events import record
    from bizkit.store.issued import issue, of_kind
    from bizkit.store.spent import called_off_jobs

    stamp = folder.stamp(on)
    studio = folder.studio
    with folder.book.work() as work:
        row = the_job(work, job)
        key, currency = row["key"], row["currency"]
        waiting = [one for one in charge_rows(work, key) if one["state"] == OPEN]
        if not waiting:
            raise RuleBroken(f"{key}: no charge is open: see bizkit charge list {key}")
        client = folder.client(row["client"])
        how = treatment(studio, client, on)
        lines = [_line(one, how) for one in waiting]
        cancelled = any(one["kind"] == "cancel" for one in called_off_jobs(work, key))
        owed = total((Money(one["amount"], currency) for one in waiting), currency)
        if cancelled:
            earlier = [one.document for one in of_kind(work, "invoice", "credit_note", key=key)]
            lines += deduction_lines([one for one in earlier if one.get("stage", {}).get("position")])
        net = total((line.amount for line in lines), currency)
        if net.amount <= 0:
            raise RuleBroken(
                f"{key}: {owed} is owed and {owed - net} of it was invoiced before: "
                f"{'nothing is left to invoice' if not net else f'credit {-net} instead'}"
            )
        series, number = draw(work, studio.numbers.invoice, on)
        terms = Terms.of(studio, client)
        document = invoice_document(
            number=number,
            issued_on=on,
            tax_point=on,
            due_on=terms.due_on(on, folder.day_off),
            studio=studio,
            client=client,
            lines=lines,
            currency=currency,
            terms=terms.text,
            job=key,
            title=row["title"],
            quote={
                "number": row["quote_number"],
                "revision": row["quote_revision"],
                "accepted_on": row["opened_on"],
            },
            income=income_split(lines, net, {}),
            logo_sha256=keep_logo(folder),
        )
        document["stage"] = {"position": 0, "title": "Charges", "reason": ""}
        document["charges"] = [one["id"] for one in waiting]
        sent = issue(work, stamp, kind="invoice", series=series, number=number, key=key, document=document)
        for one in waiting:
            set_charge_invoice(work, one["id"], number)
        path, content = file_paper(work, stamp, folder, sent.document)
        record(work, stamp, "issued", key, number=number, charges=document["charges"], gross=document["gross"])
    write_whole(path, content)
    return {
        "number": number,
        "job": key,
        "stage": "Charges",
        "charges": document["charges"],
        "currency": currency,
        "net": document["net"],
        "tax": document["tax"],
        "gross": document["gross"],
        "due_on": document["due_on"],
        "file": str(path),
        "document": sent.document,
    }


def _line(row: dict[str, Any], how: TaxTreatment) -> InvoiceLine:
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
