"""A client's statement of account, and a receipt for a sum that came in."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.debtors import open_invoices, statement_entries
from bizkit.domain.billing.letters import PaidPart, receipt, statement
from bizkit.domain.billing.payment import Payment, balance
from bizkit.domain.billing.records import Issued as Paper
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.billing.balances import balances, owed
from bizkit.services.job.job_client import client_on_record
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import age_key, wording

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.letters import AccountEntry, Aged, Receipt, Statement


def write_statement(
    folder: StudioFolder, client: str, on: date, *, first: date | None = None, currency: str = ""
) -> StatementWritten:
    """Write a client's statement up to and including `on`; from `first`, else from the start of its year.

    Raises NotFound for a client without papers, BadInput where its papers are in several currencies and none is said.
    """
    from bizkit.services.billing.letters import put_letter
    from bizkit.services.studio.logo import keep_logo
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record
    from bizkit.store.payments import payments_by_id

    since = first or date(on.year, 1, 1)
    if since > on:
        hint = "Put the date right, or give the last day of the account with --on"
        raise BadInput(wanted=f"a day up to {on}", got=since, field="--from", hint=hint)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        papers, code = _papers(work, client, currency)
        refuse_unwritten(folder, work, kind="statement", about=client)
        came = list(payments_by_id(work).values())
        opening, entries = statement_entries(papers, came, client, code, since, on)
        mine = [one for one in open_invoices(papers, came, on) if one.paper.client == client]
        document = statement(
            studio=folder.studio,
            client=client_on_record(folder, work, client),
            first=since,
            last=on,
            opening=opening,
            entries=entries,
            open_ones=mine,
            logo_sha256=keep_logo(folder),
        )
        words = wording(folder, document["language"], document["locale"])
        for row in document["aged"]:
            row["label"] = words.say(f"reports.columns.{age_key(row['label'])}")
        paper = put_letter(work, stamp, folder, document, about=client, name=f"statement-{client}-{on.isoformat()}")
        record(work, stamp, "wrote statement", client, name=paper.name, closing=document["closing"])
    paper.write()
    return {
        "name": paper.name,
        "client": client,
        "currency": document["currency"],
        "opened_on": document["opened_on"],
        "issued_on": document["issued_on"],
        "opening": document["opening"],
        "entries": document["entries"],
        "closing": document["closing"],
        "overdue": document["overdue"],
        "aged": document["aged"],
        "file": str(paper.path),
        "document": document,
    }


def _papers(work: Connection, client: str, currency: str) -> tuple[list[Paper], str]:
    """Every paper of a client in one currency."""
    from bizkit.store.issued import of_kind

    everything = [Paper.from_document(one.document) for one in of_kind(work, "invoice", "credit_note")]
    mine = [one for one in everything if one.client == client]
    if not mine:
        raise NotFound("client with invoices", client, {one.client for one in everything}, field="CLIENT")
    currencies = sorted({one.currency for one in mine})
    if currency and currency.upper() not in currencies:
        raise NotFound("currency of the client's papers", currency, currencies, field="--currency")
    if not currency and len(currencies) > 1:
        raise BadInput(wanted=f"--currency, one of {', '.join(currencies)}", got="none", field="--currency")
    code = currency.upper() or currencies[0]
    return [one for one in mine if one.currency == code], code


def write_receipt(folder: StudioFolder, payment: str, on: date) -> ReceiptWritten:
    """Write the receipt of a sum that came in, by its id in `bizkit payment list`: one for each.

    Of a deposit, by the number of its invoice.

    Raises NotFound, RuleBroken.
    """
    from bizkit.services.billing.letters import put_letter
    from bizkit.services.studio.logo import keep_logo
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import of_verb, record
    from bizkit.store.letters import count_letters

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        client, came = _sum(work, payment)
        currency = came[0].amount.currency
        if came[0].counterpart:
            raise RuleBroken(
                f"payment {payment} was set against {came[-1].invoice} from {came[0].invoice}: a receipt is for "
                f"money that came in; bizkit statement {client} shows it"
            )
        if total((one.amount for one in came), currency).amount <= 0:
            raise RuleBroken(f"payment {payment} went out: a receipt is for money that came in")
        if came[0].received_on > on:
            raise RuleBroken(
                f"payment {payment} came on {came[0].received_on}: a receipt cannot be dated {on}; give a later day "
                "with --on"
            )
        refuse_unwritten(folder, work, kind="receipt", about=client)
        for one in of_verb(work, "wrote receipt"):
            if str(one.data.get("payment")) == payment:
                name = one.data["name"]
                raise RuleBroken(f"payment {payment} has its receipt: {name}; it goes out with bizkit send {name}")
        parts = [_part(work, one, on) for one in came]
        left = _left_in_all(work, client, currency, on)
        number = f"R-{on.year}-{count_letters(work, 'receipt') + 1:04}"
        document = receipt(
            studio=folder.studio,
            client=client_on_record(folder, work, client),
            issued_on=on,
            parts=parts,
            left=left,
            number=number,
            logo_sha256=keep_logo(folder),
        )
        paper = put_letter(work, stamp, folder, document, about=client, name=number)
        record(work, stamp, "wrote receipt", client, name=paper.name, amount=document["amount"], payment=payment)
    paper.write()
    return {
        "name": paper.name,
        "client": client,
        "currency": document["currency"],
        "amount": document["amount"],
        "left": document["left"],
        "to_pay_back": document["to_pay_back"],
        "file": str(paper.path),
        "document": document,
    }


def _sum(work: Connection, name: str) -> tuple[str, list[Payment]]:
    """The client of a sum that came in, and its parts. name: its number, or that of the invoice of a deposit."""
    from bizkit.store.payments import all_money_in, deposits, payments_by_id

    before = {one.invoice: (client, one) for client, one in deposits(work)}
    if name in before:
        client, deposit = before[name]
        return client, [deposit]
    sums = {str(one.id): one for one in all_money_in(work)}
    if name not in sums:
        raise NotFound("payment", name, [*sums, *before], field="PAYMENT", hint="See bizkit payment list")
    by_id = payments_by_id(work)
    return sums[name].client, [by_id[one] for one in sums[name].payments]


def _part(work: Connection, payment: Payment, on: date) -> PaidPart:
    from bizkit.store.issued import by_number
    from bizkit.store.payments import payments

    invoice = by_number(work, payment.invoice)
    assert invoice is not None  # payments are of issued invoices, and issued documents never go
    from bizkit.services.billing.balances import credit_notes_of

    notes = [
        Money(one.document["gross"], one.document["currency"])
        for one in credit_notes_of(work, invoice)
        if one.issued_on <= on.isoformat()
    ]
    after = balance(
        owed(invoice.entry), [one for one in payments(work, payment.invoice) if one.received_on <= on], notes
    )
    return PaidPart(payment, after, invoice.document["title"])


def _left_in_all(work: Connection, client: str, currency: str, on: date) -> Money:
    """What a client owes in one currency at the end of that day; below zero what it overpaid is owed back."""
    from bizkit.store.register import bills

    then = balances(work, on=on)
    left = total(
        (
            then[one.number].left
            for one in bills(work)
            if one.number in then and (one.client, one.currency) == (client, currency)
        ),
        currency,
    )
    return left.rounded()


class StatementWritten(TypedDict):
    """A statement of account written."""

    name: str
    client: str
    currency: str
    opened_on: str
    issued_on: str
    opening: str
    entries: list[AccountEntry]
    closing: str
    overdue: str
    aged: list[Aged]
    file: str
    document: Statement


class ReceiptWritten(TypedDict):
    """A receipt written."""

    name: str
    client: str
    currency: str
    amount: str
    left: str
    to_pay_back: str
    file: str
    document: Receipt
