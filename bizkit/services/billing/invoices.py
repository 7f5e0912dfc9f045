"""Invoices: issue the stage that is due, see what is left."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.billing.lines import CREDIT_NOTE, INVOICE, InvoiceLine, stage_lines
from bizkit.domain.billing.payment import Balance
from bizkit.domain.billing.plan import BillingPlan, Due, Facts, Stage, StageAmount, stage_amounts, stage_due
from bizkit.domain.billing.tax import TaxTreatment
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, percent
from bizkit.services.billing.balances import balance_of, balances, credit_notes_of, find_invoice
from bizkit.services.billing.deposits import deposit_line
from bizkit.services.billing.issuing import Asked, Billed, begin, quoted_by_section, send_out
from bizkit.services.billing.said_of_tax import preceding
from bizkit.services.job.called_off import cancelled_on, refuse_cancelled
from bizkit.services.job.jobs import quote_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import BalanceState
    from bizkit.domain.documents.on_file import BillOnFile, Deducted, QuoteOnFile
    from bizkit.services.billing.bill_made import BillMade
    from bizkit.store.register import Entry


def issue_invoice(
    folder: StudioFolder, job: str, on: date, *, stage: int | None = None, asked: Asked = Asked()
) -> BillMade:
    """Issue the invoice of a stage: the next one that is due, or the one asked for.

    Deposits that were invoiced before are taken off. Raises RuleBroken when nothing is due (unless a stage is named
    and a reason says why it is billed early), when the stage is invoiced already, or when the job was cancelled.
    """
    from bizkit.store.jobs import set_stage_invoice

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        billed = begin(folder, work, stamp, job, asked)
        refuse_cancelled(work, billed.key)
        chosen = choose_stage(stage_rows(folder, work, billed.key, on), stage, asked.reason, billed.key)
        lines, quoted, more = stage_invoice(billed, chosen)
        made = send_out(
            billed,
            lines,
            stage={"position": chosen["position"], "title": chosen["title"], "reason": asked.reason},
            quoted=quoted,
            licence_sentences=(billed.job.licence or {}).get("sentences", ()),
            more=more,
        )
        set_stage_invoice(work, billed.key, chosen["position"], made.document["number"])
        also = [one for one in stage_rows(folder, work, billed.key, on) if one["due"] and not one["invoice"]]
    made.write()
    done = made.data()
    told = [f"{one['title']} is due too: bizkit invoice issue {billed.key} bills it" for one in also]
    return {**done, "warnings": [*done["warnings"], *told]}


def stage_invoice(
    billed: Billed, chosen: Mapping[str, Any]
) -> tuple[list[InvoiceLine], dict[str, Money], dict[str, Any]]:
    """The lines of a stage less deposits, the quote's net by section, and what is taken off (`deducts`)."""
    from bizkit.services.billing.deposits import deposits_left, refuse_other_scope

    quote = quote_of(billed.work, billed.job)
    share = _share(quote.document, chosen["position"], billed.how)
    lines = list(
        stage_lines(
            share,
            item=f"{billed.job.title}: {chosen['title']} ({billed.words.percent(chosen['percent'])})",
            source=f"quote {quote.number} revision {quote.revision}",
            notes=billed.notes,
        )
    )
    room = share.net
    deducts: list[Deducted] = []
    taken: list[BillOnFile] = []
    for deposit, left in deposits_left(billed.work, billed.key):
        if room.amount > 0:
            refuse_other_scope(billed, deposit)
            part = left.part(room, Decimal(deposit["taxes"][0]["rate"]))
            lines.append(deposit_line(billed.words, deposit, part))
            deducts.append({"number": deposit["number"], "net": part.net.text})
            taken.append(deposit)
            room = room - part.net
    more = {"deducts": deducts, "preceding": preceding(taken)} if deducts else {}
    return lines, quoted_by_section(quote.document), more


def stage_rows(folder: StudioFolder, work: Connection, job: str, on: date) -> list[StageRow]:
    """The stages of a job: what each asks for, its invoice, and whether it is due on the day `on` and why."""
    from bizkit.services.job.jobs import first_shoot_day
    from bizkit.store.deliveries import deliverables
    from bizkit.store.jobs import jobs, shoot_days, stages

    row = jobs(work, job)[0]
    gone = cancelled_on(work, job)
    approvals = [one.approved_on for one in deliverables(work, job)]
    facts = Facts(
        today=on,
        accepted_on=date.fromisoformat(row.opened_on),
        first_shoot_day=first_shoot_day(shoot_days(work, job)),
        delivered_on=date.fromisoformat(max(approvals)) if approvals and all(approvals) else None,
    )
    rows: list[StageRow] = []
    for one in stages(work, job):
        due: Due = stage_due(Stage(one.title, Decimal(one.percent), one.due_when), facts)
        rows.append(
            {
                "position": one.position,
                "title": one.title,
                "percent": one.percent,
                "when": one.due_when,
                "net": Money.from_minor(one.net_minor, row.currency).text,
                "invoice": one.invoice,
                "due": due.due and not gone,
                "due_on": due.on.isoformat() if due.on and not gone else "",
                "why": f"cancelled on {gone}" if gone else due.why,
            }
        )
    return rows


def invoice_rows(folder: StudioFolder, work: Connection, on: date, job: str | None = None) -> list[InvoiceRow]:
    """Invoices in the order issued, of one job or all, each with what is paid and left on the day `on`."""
    from bizkit.store.register import bills

    now = balances(work, job)
    return [invoice_row(one, now[one.number], on) for one in bills(work, job) if one.kind == "invoice"]


def list_invoices(folder: StudioFolder, on: date, job: str | None = None) -> list[InvoiceRow]:
    """Every invoice, or those of one job."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        return invoice_rows(folder, work, on, the_job(work, job).key if job else None)


def show_invoice(folder: StudioFolder, number: str, on: date) -> dict[str, Any]:
    """One invoice whole: document, payments, what is left; or a credit note with its document. Raises NotFound."""
    from bizkit.services.billing.credit_notes import credit_note_row
    from bizkit.services.studio.paper_names import pdf_name
    from bizkit.store.issued import by_number
    from bizkit.store.payments import payments

    with folder.book.read() as work:
        note = by_number(work, number)
        if note is not None and note.kind == CREDIT_NOTE:
            file = str(folder.papers / pdf_name(note.document))
            return {"kind": CREDIT_NOTE, **credit_note_row(note.entry), "file": file, "document": note.document}
        found = find_invoice(work, number)
        return {
            "kind": INVOICE,
            **invoice_row(found.entry, balance_of(work, found), on),
            "credit_notes": [
                {"number": one.number, "issued_on": one.issued_on, "gross": one.document["gross"]}
                for one in credit_notes_of(work, found)
            ],
            "payments": [
                {"on": one.received_on.isoformat(), "amount": one.amount.text, "reference": one.reference}
                for one in payments(work, found.number)
            ],
            "file": str(folder.papers / pdf_name(found.document)),
            "document": found.document,
        }


def invoice_row(invoice: Entry, now: Balance, on: date) -> InvoiceRow:
    """One invoice with what is credited, paid and left on the day `on`; a deposit was paid before it was issued."""
    late = (on - date.fromisoformat(invoice.due_on)).days
    return {
        "number": invoice.number,
        "job": invoice.key,
        "client": invoice.client_name,
        "stage": invoice.stage,
        "issued_on": invoice.issued_on,
        "due_on": invoice.due_on,
        "currency": invoice.currency,
        "net": invoice.net.text,
        "tax": invoice.tax.text,
        "gross": invoice.gross.text,
        "credited": now.credited.text,
        "paid": (now.paid + invoice.prepaid).rounded().text,
        "balance": now.left.text,
        "state": now.state,
        "days_late": late if late > 0 and now.left.amount > 0 else 0,
    }


def choose_stage(rows: list[StageRow], stage: int | None, reason: str, job: str) -> StageRow:
    """The stage asked for, or the next that is due. Raises RuleBroken."""
    left = [row for row in rows if not row["invoice"]]
    if stage is not None:
        if not 1 <= stage <= len(rows):
            raise BadInput(wanted=f"a stage from 1 to {len(rows)}", got=stage, field="--stage")
        chosen = rows[stage - 1]
        if chosen["invoice"]:
            raise RuleBroken(f"{job}: {chosen['title']} is invoiced already as {chosen['invoice']}")
        if not chosen["due"] and not reason:
            raise RuleBroken(f"{job}: {chosen['title']} is not due: {chosen['why']}; bill it early with --reason")
        return chosen
    if not left:
        raise RuleBroken(f"{job}: every stage is invoiced")
    for row in left:
        if row["due"]:
            return row
    first = left[0]
    raise RuleBroken(
        f"{job}: nothing is due to invoice: {first['title']}: {first['why']}; "
        f"bill it early with --stage {first['position']} --reason"
    )


def _share(quote: QuoteOnFile, position: int, how: TaxTreatment) -> StageAmount:
    """What a stage asks for, taxed as the law has it on the day of the invoice."""
    currency = quote["currency"]
    nets = {(tax["category"], Decimal(tax["rate"])): Money(tax["base"], currency) for tax in quote["taxes"]}
    plan = BillingPlan(tuple(Stage(one["title"], Decimal(one["percent"]), one["when"]) for one in quote["stages"]))
    share = stage_amounts(nets, plan)[position - 1]
    if len(nets) > 1:
        return share
    tax = percent(share.net, how.rate)
    return StageAmount(share.stage, (((how.category, how.rate), share.net),), share.net, tax, share.net + tax)


class StageRow(TypedDict):
    """A stage of a job's billing plan: `due` on the day of the look, `due_on` where that is known, `why`."""

    position: int
    title: str
    percent: str
    when: str
    net: str
    invoice: str
    due: bool
    due_on: str
    why: str


class InvoiceRow(TypedDict):
    """An invoice in a list. balance: what is left, below zero where it is to be paid back; days_late on that day."""

    number: str
    job: str
    client: str
    stage: str
    issued_on: str
    due_on: str
    currency: str
    net: str
    tax: str
    gross: str
    credited: str
    paid: str
    balance: str
    state: BalanceState
    days_late: int
