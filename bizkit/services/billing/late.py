"""Money that is late: what its lateness costs, and reminders by the studio's ladder."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from bizkit.domain.billing.late import LateInterest, compensation, late_interest, moves_of
from bizkit.domain.billing.letters import Overdue, reminder
from bizkit.domain.billing.payment import balance
from bizkit.domain.billing.reminders import GAP_DAYS, next_reminder
from bizkit.domain.dates import add_working_days
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.parties import Client
from bizkit.domain.payment_terms import CONTRACT, NONE, LateTerms, Step
from bizkit.services.billing.agreed import late_terms
from bizkit.services.billing.balances import credit_notes_of, find_invoice, owed
from bizkit.services.billing.late_billed import billed_before
from bizkit.services.billing.suspension import sent_reminders
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.billing.late_rows import LateRow, LateShown, Paused, Reminded
    from bizkit.store.issued import IssuedBill

#: Working days that a reminder gives to pay.
DAYS_TO_PAY = 7


def list_late(folder: StudioFolder, on: date, *, paid: bool = False) -> LateShown:
    """Every invoice past its due date, the longest first, with what it costs by now and the reminder to send next.

    paid: those instead that were paid in the end, but late, and whose lateness was not billed yet.
    """
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.issued import numbered
    from bizkit.store.register import paid_late, unsettled

    with folder.book.read() as work:
        found = paid_late(work) if paid else unsettled(work)
        late = [one for one in found if one.due_on < on.isoformat()]
        with reading_ahead(work, {one.key for one in late}):
            looked_at = [
                _row(folder, work, one, on, paid=paid) for one in numbered(work, [one.number for one in late])
            ]
    rows = sorted((row for row in looked_at if row is not None), key=lambda row: (row["due_on"], row["number"]))
    currencies = dict.fromkeys(row["currency"] for row in rows)
    return {
        "on": on.isoformat(),
        "late": rows,
        "totals": [
            {
                "currency": currency,
                "left": total(
                    (Money(row["left"], currency) for row in rows if row["currency"] == currency), currency
                ).text,
            }
            for currency in currencies
        ],
    }


def _row(folder: StudioFolder, work: Connection, invoice: IssuedBill, on: date, *, paid: bool) -> LateRow | None:
    client = _client(folder, work, invoice)
    problem = ""
    try:
        late = overdue(folder, work, invoice, client, on, charges=True, settled_too=paid)
    except (BadInput, RuleBroken) as error:
        problem = str(error)
        late = overdue(folder, work, invoice, client, on, charges=False)
    left = late.balance.left
    if (left.amount <= 0) != paid or (paid and not (problem or late.interest_left or late.compensation_left)):
        return None
    sent = sent_reminders(work, invoice.number)
    ladder = folder.studio.reminders
    due = late.owed.due_on
    paused = paused_until(work, invoice.number)
    following = next_reminder(ladder, due, left, sent, on, paused=paused is not None and paused >= on)
    climbed = [step.name for step in ladder].index(sent[-1][0]) + 1 if sent else 0
    waiting = ladder[climbed] if climbed < len(ladder) else None
    when = ""
    if waiting:
        day = due + timedelta(days=waiting.days_after_due)
        when = max([day, *([sent[-1][1] + timedelta(days=GAP_DAYS)] if sent else [])]).isoformat()
    return {
        "number": invoice.number,
        "job": invoice.key,
        "client": client.key,
        "client_name": client.name,
        "due_on": due.isoformat(),
        "days_late": late.days_late,
        "currency": left.currency,
        "left": left.text,
        "interest": late.interest_left.text,
        "compensation": late.compensation_left.text,
        "sent": [{"step": name, "on": day.isoformat()} for name, day in sent],
        "next": waiting.name if waiting else "",
        "next_on": when,
        "due_now": following is not None,
        "paused_until": paused.isoformat() if paused and paused >= on else "",
        "problem": problem,
    }


def overdue(
    folder: StudioFolder,
    work: Connection,
    invoice: IssuedBill,
    client: Client,
    on: date,
    *,
    charges: bool,
    settled_too: bool = False,
) -> Overdue:
    """Where a late invoice stands at the end of `on`; with interest and compensation when `charges`.

    The terms are those of the job's quote. Statute knows them between businesses only: a consumer owes what the
    contract says, which the studio writes under [late]. What was billed of both before is owed on that invoice; an
    invoice of interest and compensation bears none itself: they run on the price of the contract (Late Payment of
    Commercial Debts (Interest) Act 1998 s. 1; simple interest; German Civil Code s. 289).
    Raises BadInput for a reference rate that is not known.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.payments import payments_of_job

    debt = owed(invoice.entry)
    charges = charges and not bills_lateness(invoice)
    came = [
        one for one in payments_of_job(work, invoice.key) if one.invoice == invoice.number and one.received_on <= on
    ]
    credits = [
        (date.fromisoformat(one.issued_on), Money(one.document["gross"], one.document["currency"]))
        for one in credit_notes_of(work, invoice)
        if one.issued_on <= on.isoformat()
    ]
    state = balance(debt, came, [amount for _, amount in credits])
    terms = _terms_for(late_terms(folder, work, the_job(work, invoice.key)), client)
    interest: LateInterest | None = None
    fixed: Money | None = None
    unpaid: Money | None = None
    if charges and on > debt.due_on and (state.left.amount > 0 or settled_too):
        country = folder.studio.country
        if terms.interest != NONE:
            interest = late_interest(debt, came, on, country=country, terms=terms, credits=credits)
        if terms.compensation and client.business:
            gone = [amount for day, amount in moves_of(debt, came, credits) if day <= debt.due_on]
            unpaid = (debt.due - total(gone, debt.due.currency)).rounded()
            fixed = compensation(unpaid, country)
            if fixed is not None:
                fixed = fixed.rounded()
    return Overdue(
        debt,
        Money(invoice.document["gross"], debt.due.currency),
        state,
        max(0, (on - debt.due_on).days),
        interest,
        fixed,
        *billed_before(work, invoice, on),
        unpaid=unpaid,
    )


def bills_lateness(invoice: IssuedBill) -> bool:
    """Whether an invoice is of interest and compensation for another's late payment."""
    return bool(invoice.document.get("late_payment_of"))


def lateness(folder: StudioFolder, work: Connection, invoice: IssuedBill, client: Client, on: date) -> Overdue:
    """What the lateness of an invoice costs up to `on`, also of one that was paid in the end, but late."""
    late = overdue(folder, work, invoice, client, on, charges=True)
    if late.interest is not None or late.compensation is not None or on <= late.owed.due_on:
        return late
    return overdue(folder, work, invoice, client, on, charges=True, settled_too=True)


def paused_until(work: Connection, invoice: str) -> date | None:
    """The last day (inclusive) on which an invoice is not reminded of, None where it was never paused."""
    from bizkit.store.events import newest

    said = newest(work, "paused reminders", invoice)
    return date.fromisoformat(said.data["until"]) if said else None


def pause(folder: StudioFolder, number: str, on: date, *, until: date, reason: str) -> Paused:
    """Send no reminder of an invoice up to a day: a dispute, a promise to pay. A day before `on` ends the pause."""
    from bizkit.store.events import record

    if not reason.strip():
        raise BadInput(wanted="why, such as a promise to pay", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, number)
        record(work, stamp, "paused reminders", found.number, until=until.isoformat(), reason=reason.strip())
    return {"number": found.number, "until": until.isoformat(), "reason": reason.strip()}


def _client(folder: StudioFolder, work: Connection, invoice: IssuedBill) -> Client:
    """Whom an invoice is sent to, as the job has it by now."""
    from bizkit.services.job.job_client import client_of_job
    from bizkit.services.job.jobs import the_job

    return client_of_job(folder, work, the_job(work, invoice.key))


def _terms_for(terms: LateTerms, client: Client) -> LateTerms:
    if client.business or terms.interest == CONTRACT:
        return terms
    return replace(terms, interest=NONE, compensation=False)


def remind(folder: StudioFolder, number: str, on: date, *, step: str = "", pay_by: date | None = None) -> Reminded:
    """Write the next reminder of an invoice: PDF and mail text, kept in the book with its working.

    step: another one than the ladder's next. Raises RuleBroken for an invoice that is paid or not late, or a step
    whose day has not come.
    """
    from bizkit.services.billing.letters import put_letter
    from bizkit.services.billing.mail_text import mail_text
    from bizkit.services.studio.logo import keep_logo
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, number)
        refuse_unwritten(folder, work, kind="reminder", about=found.number)
        client = _client(folder, work, found)
        chosen = _step(folder, work, found, client, on, step)
        late = overdue(folder, work, found, client, on, charges=chosen.charges)
        others = _others_late(folder, work, found, client, on)
        rests = bool(chosen.suspends_licence and found.document.get("suspends_licence"))
        last = pay_by or add_working_days(on, DAYS_TO_PAY, folder.day_off)
        if last < on:
            raise BadInput(wanted=f"a day from {on} on", got=last, field="--pay-by")
        document = reminder(
            studio=folder.studio,
            client=client,
            issued_on=on,
            pay_by=last,
            step=chosen.name,
            overdue=[late],
            others=others,
            licence_suspended=rests,
            counted_until=on,
            logo_sha256=keep_logo(folder),
        )
        paper = put_letter(
            work, stamp, folder, document, about=found.number, name=f"reminder-{found.number}-{chosen.name}"
        )
        record(
            work, stamp, "reminded", found.key, number=found.number, step=chosen.name, total=document["total"],
            interest=document["interest"]["amount"] if document["interest"] else "0.00",
        )  # fmt: skip
        if rests:
            record(work, stamp, "suspended licence", found.key, number=found.number)
    paper.write()
    subject, text = mail_text(folder, document)
    charged = document["interest"]
    return {
        "name": paper.name,
        "number": found.number,
        "step": chosen.name,
        "currency": found.document["currency"],
        "left": late.balance.left.text,
        "interest": charged["amount"] if charged else "0.00",
        "compensation": charged["compensation"] if charged else "0.00",
        "total": document["total"],
        "working": charged["working"] if charged else [],
        "pay_by": last.isoformat(),
        "licence_suspended": rests,
        "others": [one.owed.number for one in others],
        "subject": subject,
        "text": text,
        "file": str(paper.path),
        "document": document,
    }


def _others_late(
    folder: StudioFolder, work: Connection, invoice: IssuedBill, client: Client, on: date
) -> list[Overdue]:
    """What else of the same client and currency is late on that day and not paused, as far as it is open then."""
    from bizkit.store.issued import numbered
    from bizkit.store.register import unsettled

    mine = invoice.entry
    names = [
        one.number
        for one in unsettled(work)
        if (one.client, one.currency) == (mine.client, mine.currency)
        and one.number != mine.number
        and one.due_on < on.isoformat()
        and (paused_until(work, one.number) or date.min) < on
    ]
    return [overdue(folder, work, one, client, on, charges=False) for one in numbered(work, names)]


def _step(folder: StudioFolder, work: Connection, invoice: IssuedBill, client: Client, on: date, name: str) -> Step:
    """The step to send today: the ladder's next, or the one asked for. Raises RuleBroken when none is due."""
    ladder = folder.studio.reminders
    late = overdue(folder, work, invoice, client, on, charges=False)
    left, due = late.balance.left, late.owed.due_on
    if left.amount <= 0:
        raise RuleBroken(f"{invoice.number} is {late.balance.state}: there is nothing to remind of")
    if on <= due:
        raise RuleBroken(f"{invoice.number} is to be paid by {due}: it is not late on {on}")
    if name:
        for step in ladder:
            if step.name == name:
                return step
        raise NotFound("step of the ladder", name, [step.name for step in ladder], field="--step")
    paused = paused_until(work, invoice.number)
    if paused is not None and paused >= on:
        raise RuleBroken(f"{invoice.number}: reminders rest up to {paused}; name one with --step all the same")
    sent = sent_reminders(work, invoice.number)
    following = next_reminder(ladder, due, left, sent, on)
    if following is not None:
        return following.step
    climbed = [step.name for step in ladder].index(sent[-1][0]) + 1 if sent else 0
    if climbed >= len(ladder):
        raise RuleBroken(
            f"{invoice.number}: every step of the ladder was sent: agree a plan with the client, or take advice"
        )
    step = ladder[climbed]
    day = due + timedelta(days=step.days_after_due)
    if sent:
        day = max(day, sent[-1][1] + timedelta(days=GAP_DAYS))
    raise RuleBroken(f"{invoice.number}: the {step.name} reminder goes out from {day} on; or name one with --step")
