"""Papers about money that are no invoices: receipt, statement, reminder. As JSON-ready documents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from bizkit.domain.billing.debtors import AGES, Entry, Open, age
from bizkit.domain.billing.late import LateInterest
from bizkit.domain.billing.payment import Balance, Owed, Payment
from bizkit.domain.billing.reminders import Reminder
from bizkit.domain.money import Money, total
from bizkit.domain.parties import Client, Studio

RECEIPT: Final = "receipt"
STATEMENT: Final = "statement"
REMINDER: Final = "reminder"


def _head(
    kind: str, studio: Studio, client: Client, issued_on: date, currency: str, logo_sha256: str
) -> dict[str, Any]:
    return {
        "kind": kind,
        "issued_on": issued_on.isoformat(),
        "language": client.language or studio.language,
        "locale": client.locale or studio.locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(logo_sha256=logo_sha256),
        "client": client.data(),
        "currency": currency,
    }


def _how_to_pay(studio: Studio, reference: str) -> dict[str, str]:
    return {
        "account_name": studio.bank.account_name or studio.name,
        "iban": studio.bank.iban,
        "bic": studio.bank.bic,
        "reference": reference,
    }


def receipt(
    *, studio: Studio, client: Client, issued_on: date, payment: Payment, balance: Balance, logo_sha256: str = ""
) -> dict[str, Any]:
    """A receipt for one payment, with what is left of the invoice after it."""
    return {
        **_head(RECEIPT, studio, client, issued_on, payment.amount.currency, logo_sha256),
        "invoice": payment.invoice,
        "received_on": payment.received_on.isoformat(),
        "amount": payment.amount.text,
        "reference": payment.reference,
        "left": balance.left.text,
        "state": balance.state,
    }


def statement(
    *,
    studio: Studio,
    client: Client,
    issued_on: date,
    first: date,
    last: date,
    opening: Money,
    entries: Sequence[Entry],
    open_ones: Sequence[Open],
    logo_sha256: str = "",
) -> dict[str, Any]:
    """A statement of account from `first` to `last` (inclusive), with what is open by age.

    entries: see `debtors.statement_entries`. open_ones: the client's open invoices in the same currency on `last`.
    """
    currency = opening.currency
    return {
        **_head(STATEMENT, studio, client, issued_on, currency, logo_sha256),
        "first": first.isoformat(),
        "last": last.isoformat(),
        "opening": opening.text,
        "entries": [entry.data() for entry in entries],
        "closing": (entries[-1].balance if entries else opening).text,
        "open": [
            {
                "number": entry.paper.number,
                "issued_on": entry.paper.issued_on.isoformat(),
                "due_on": entry.paper.due_on.isoformat(),
                "left": entry.left.text,
                "days_late": entry.days_late,
            }
            for entry in open_ones
        ],
        "ages": {
            name: total((entry.left for entry in open_ones if age(entry.days_late) == name), currency).text
            for name, _ in AGES
        },
        "payment": _how_to_pay(studio, client.key),
    }


def reminder(
    *,
    studio: Studio,
    client: Client,
    issued_on: date,
    pay_by: date,
    owed: Owed,
    balance: Balance,
    step: Reminder,
    interest: LateInterest | None = None,
    compensation: Money | None = None,
    suspends_licence: bool = False,
    logo_sha256: str = "",
) -> dict[str, Any]:
    """A reminder of one invoice; with interest and compensation where the step charges them."""
    currency = owed.due.currency
    zero = Money(0, currency)
    charged = interest.charged if interest else zero
    fixed = compensation or zero
    return {
        **_head(REMINDER, studio, client, issued_on, currency, logo_sha256),
        "step": step.step.name,
        "invoice": _invoice(owed),
        "days_late": step.days_late,
        "due": balance.due.text,
        "credited": balance.credited.text,
        "paid": balance.paid.text,
        "left": balance.left.text,
        "interest": charged.text,
        "working": interest.working.data() if interest else None,
        "compensation": fixed.text,
        "total": (balance.left + charged + fixed).rounded().text,
        "pay_by": pay_by.isoformat(),
        "suspends_licence": suspends_licence,
        "payment": _how_to_pay(studio, owed.number),
    }


def _invoice(owed: Owed) -> Mapping[str, str]:
    return {"number": owed.number, "issued_on": owed.issued_on.isoformat(), "due_on": owed.due_on.isoformat()}
