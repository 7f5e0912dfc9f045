"""Invoices: issue the stage that is due, record payments, see what is left."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.invoice import invoice_document
from bizkit.domain.billing.lines import income_split, stage_lines
from bizkit.domain.billing.payment import Owed, Payment, Terms, balance, check_payment
from bizkit.domain.billing.plan import BillingPlan, Due, Facts, Stage, StageAmount, stage_amounts, stage_due
from bizkit.domain.billing.tax import TaxTreatment, treatment
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, percent, total
from bizkit.services.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import Issued


def issue_invoice(
    folder: StudioFolder, job: str, on: date, *, stage: int | None = None, reason: str = ""
) -> dict[str, Any]:
    """Issue the invoice of a stage: the next one that is due, or the one asked for.

    Raises RuleBroken when nothing is due (unless a stage is named and `reason` says why it is billed early), or when
    the stage is invoiced already.
    """
    from bizkit.services.filing import file_paper, write_whole
    from bizkit.services.jobs import the_job
    from bizkit.services.logo import keep_logo
    from bizkit.services.numbers import draw
    from bizkit.store.events import record
    from bizkit.store.issued import issue
    from bizkit.store.jobs import set_stage_invoice

    stamp = folder.stamp(on)
    studio = folder.studio
    with folder.book.work() as work:
        row = the_job(work, job)
        key = row["key"]
        chosen = _choose(stage_rows(folder, work, key, on), stage, reason, key)
        quote = _quote_of(work, row)
        client = folder.client(row["client"])
        how = treatment(studio, client, on)
        share = _share(quote.document, chosen["position"], how)
        series, number = draw(work, studio.numbers.invoice, on)
        terms = Terms.of(studio, client)
        lines = stage_lines(
            share,
            item=f"{row['title']}: {chosen['title']} ({chosen['percent']} %)",
            source=f"quote {quote.number} revision {quote.revision}",
            notes={how.category: how.note} if how.note else {},
        )
        document = invoice_document(
            number=number,
            issued_on=on,
            tax_point=on,
            due_on=terms.due_on(on, folder.day_off),
            studio=studio,
            client=client,
            lines=lines,
            currency=row["currency"],
            terms=terms.text,
            job=key,
            title=row["title"],
            quote={"number": quote.number, "revision": quote.revision, "accepted_on": row["opened_on"]},
            licence_sentences=(row["licence"] or {}).get("sentences", ()),
            income=income_split(lines, share.net, _quoted(quote.document)),
            logo_sha256=keep_logo(folder),
        )
        document["licence"] = row["licence"]
        document["stage"] = {"position": chosen["position"], "title": chosen["title"], "reason": reason}
        sent = issue(work, stamp, kind="invoice", series=series, number=number, key=key, document=document)
        set_stage_invoice(work, key, chosen["position"], number)
        path, content = file_paper(work, stamp, folder, sent.document)
        record(
            work, stamp, "issued", key, number=number, stage=chosen["title"], gross=document["gross"], reason=reason
        )
    write_whole(path, content)
    return {
        "number": number,
        "job": key,
        "stage": chosen["title"],
        "currency": row["currency"],
        "net": document["net"],
        "tax": document["tax"],
        "gross": document["gross"],
        "due_on": document["due_on"],
        "file": str(path),
        "document": sent.document,
    }


def stage_rows(folder: StudioFolder, work: Connection, job: str, on: date) -> list[dict[str, Any]]:
    """The stages of a job: what each asks for, its invoice, and whether it is due on the day `on` and why."""
    from bizkit.services.deliverables import deliverable_rows
    from bizkit.services.jobs import first_shoot_day
    from bizkit.store.jobs import jobs, shoot_days, stages

    row = jobs(work, job)[0]
    promised = deliverable_rows(folder, work, job, on)
    approvals = [one["approved_on"] for one in promised]
    facts = Facts(
        today=on,
        accepted_on=date.fromisoformat(row["opened_on"]),
        first_shoot_day=first_shoot_day(shoot_days(work, job)),
        delivered_on=date.fromisoformat(max(approvals)) if approvals and all(approvals) else None,
    )
    rows = []
    for one in stages(work, job):
        due: Due = stage_due(Stage(one["title"], Decimal(one["percent"]), one["due_when"]), facts)
        rows.append(
            {
                "position": one["position"],
                "title": one["title"],
                "percent": one["percent"],
                "when": one["due_when"],
                "net": Money.from_minor(one["net_minor"], row["currency"]).text,
                "invoice": one["invoice"],
                "due": due.due,
                "due_on": due.on.isoformat() if due.on else "",
                "why": due.why,
            }
        )
    return rows


def record_payment(
    folder: StudioFolder,
    invoice: str,
    on: date,
    *,
    amount: str | None = None,
    currency: str = "",
    reference: str = "",
    accept_over: bool = False,
) -> dict[str, Any]:
    """Record money received for an invoice; all that is left when no amount is given.

    Raises RuleBroken for a payment before the invoice, in another currency, or of more than is left.
    """
    from bizkit.store.events import record
    from bizkit.store.payments import add_payment

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = _find(work, invoice)
        owed, before = _balance(work, found)
        if amount is None:
            if before.left.amount <= 0:
                raise RuleBroken(f"{found.number} is paid: nothing is left")
            sum_ = before.left
        else:
            try:
                sum_ = Money(amount.replace(",", ""), currency or owed.due.currency)
            except BadInput as error:
                raise BadInput(wanted="an amount such as 1234.50", got=error.got, field="AMOUNT") from None
        payment = Payment(found.number, on, sum_, reference=reference)
        after = check_payment(owed, payment, before, accept_over=accept_over)
        add_payment(work, stamp, payment)
        record(work, stamp, "paid", found.key, number=found.number, amount=sum_.text, currency=sum_.currency)
    return {
        "number": found.number,
        "received": sum_.text,
        "currency": sum_.currency,
        "balance": after.left.text,
        "state": after.state,
    }


def invoice_rows(folder: StudioFolder, work: Connection, on: date, job: str | None = None) -> list[dict[str, Any]]:
    """Invoices in the order issued, of one job or all, each with what is paid and left on the day `on`."""
    from bizkit.store.issued import of_kind

    return [_row(work, one, on) for one in of_kind(work, "invoice", key=job)]


def list_invoices(folder: StudioFolder, on: date, job: str | None = None) -> list[dict[str, Any]]:
    """Every invoice, or those of one job."""
    from bizkit.services.jobs import the_job

    with folder.book.read() as work:
        return invoice_rows(folder, work, on, the_job(work, job)["key"] if job else None)


def show_invoice(folder: StudioFolder, number: str, on: date) -> dict[str, Any]:
    """One invoice whole: document, payments, what is left. Raises NotFound."""
    from bizkit.services.filing import pdf_name
    from bizkit.store.payments import payments

    with folder.book.read() as work:
        found = _find(work, number)
        return {
            **_row(work, found, on),
            "payments": [
                {"on": one.received_on.isoformat(), "amount": one.amount.text, "reference": one.reference}
                for one in payments(work, found.number)
            ],
            "file": str(folder.papers / pdf_name(found.document)),
            "document": found.document,
        }


def _row(work: Connection, invoice: Issued, on: date) -> dict[str, Any]:
    document = invoice.document
    _, now = _balance(work, invoice)
    late = (on - date.fromisoformat(document["due_on"])).days
    return {
        "number": invoice.number,
        "job": invoice.key,
        "client": document["client"]["name"],
        "stage": document["stage"]["title"],
        "issued_on": invoice.issued_on,
        "due_on": document["due_on"],
        "currency": document["currency"],
        "net": document["net"],
        "tax": document["tax"],
        "gross": document["gross"],
        "paid": now.paid.text,
        "balance": now.left.text,
        "state": now.state,
        "days_late": late if late > 0 and now.left.amount > 0 else 0,
    }


def _balance(work: Connection, invoice: Issued) -> tuple[Owed, Any]:
    from bizkit.store.payments import payments

    document = invoice.document
    owed = Owed(
        invoice.number,
        date.fromisoformat(invoice.issued_on),
        date.fromisoformat(document["due_on"]),
        Money(document["due"], document["currency"]),
    )
    return owed, balance(owed, payments(work, invoice.number))


def _find(work: Connection, number: str) -> Issued:
    from bizkit.store.issued import by_number, of_kind

    found = by_number(work, number)
    if found is None or found.kind != "invoice":
        known = [one.number for one in of_kind(work, "invoice")]
        raise NotFound("invoice", number, known, hint="" if known else "None was issued yet")
    return found


def _quote_of(work: Connection, job: dict[str, Any]) -> Issued:
    from bizkit.store.issued import by_number

    quote = by_number(work, job["quote_number"], job["quote_revision"])
    if quote is None:
        raise RuleBroken(f"{job['quote_number']} is not in the book any more: run bizkit verify")
    return quote


def _choose(rows: list[dict[str, Any]], stage: int | None, reason: str, job: str) -> dict[str, Any]:
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


def _share(quote: dict[str, Any], position: int, how: TaxTreatment) -> StageAmount:
    """What a stage asks for, taxed as the law has it on the day of the invoice."""
    currency = quote["currency"]
    nets = {(tax["category"], Decimal(tax["rate"])): Money(tax["base"], currency) for tax in quote["taxes"]}
    plan = BillingPlan(tuple(Stage(one["title"], Decimal(one["percent"]), one["when"]) for one in quote["stages"]))
    share = stage_amounts(nets, plan)[position - 1]
    if len(nets) > 1:
        return share
    tax = percent(share.net, how.rate)
    return StageAmount(share.stage, (((how.category, how.rate), share.net),), share.net, tax, share.net + tax)


def _quoted(quote: dict[str, Any]) -> dict[str, Money]:
    """The quote's net by section."""
    currency = quote["currency"]
    names = dict.fromkeys(line["section"] for line in quote["lines"])
    return {
        name: total((Money(line["amount"], currency) for line in quote["lines"] if line["section"] == name), currency)
        for name in names
    }
