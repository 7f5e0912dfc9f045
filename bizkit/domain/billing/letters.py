"""Papers about money that are no invoices: receipt, statement, reminder. As JSON-ready documents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from bizkit.domain.billing.debtors import AGES, TO_PAY_BACK, Entry, Open, column
from bizkit.domain.billing.late import LateInterest
from bizkit.domain.billing.payment import Balance, Owed, Payment
from bizkit.domain.documents import letters as documents
from bizkit.domain.documents.base import Client as PartyOnPaper
from bizkit.domain.documents.base import Issued
from bizkit.domain.documents.base import Payment as Payment_
from bizkit.domain.money import Money, total
from bizkit.domain.parties import Client, Studio

RECEIPT: Final = "receipt"
STATEMENT: Final = "statement"
REMINDER: Final = "reminder"


def _head(
    kind: str, studio: Studio, client: Client, issued_on: date, currency: str, number: str, logo_sha256: str
) -> _Head:
    return {
        "kind": kind,
        "number": number,
        "issued_on": issued_on.isoformat(),
        "language": client.language or studio.language,
        "locale": client.locale or studio.locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(issued_on, logo_sha256=logo_sha256),
        "client": client.data(),
        "currency": currency,
    }


def _how_to_pay(studio: Studio, reference: str) -> Payment_:
    numbers = studio.bank.numbers()
    account: Payment_ = {
        "terms": "",
        "account_name": studio.bank.account_name or studio.name,
        "iban": numbers["iban"],
        "bic": numbers["bic"],
        "reference": reference,
    }
    if "account_number" in numbers:
        account["sort_code"], account["account_number"] = numbers["sort_code"], numbers["account_number"]
    return account


@dataclass(frozen=True, slots=True)
class PaidPart:
    """What of a payment went to one invoice. title: the job's. after: where the invoice stands with it."""

    payment: Payment
    after: Balance
    title: str = ""

    def data(self) -> documents.PaidPart:
        """The entry of a receipt's `paid`."""
        return {
            "number": self.payment.invoice,
            "title": self.title,
            "amount": self.payment.amount.text,
            "left": self.after.left.text,
        }


def receipt(
    *,
    studio: Studio,
    client: Client,
    issued_on: date,
    parts: Sequence[PaidPart],
    left: Money,
    number: str = "",
    method: str = "",
    licence_sentences: Sequence[str] = (),
    logo_sha256: str = "",
) -> documents.Receipt:
    """A receipt for money that came in on one day, for one invoice or several.

    left: what the client still owes in all, below zero what it overpaid. licence_sentences: what the payment sets in
    motion.
    """
    first = parts[0].payment
    amount = total((part.payment.amount for part in parts), left.currency)
    return {
        **_head(RECEIPT, studio, client, issued_on, left.currency, number, logo_sha256),
        "received_on": first.received_on.isoformat(),
        "amount": amount.text,
        "left": max(left, Money(0, left.currency).rounded()).text,
        "to_pay_back": max(-left, Money(0, left.currency).rounded()).text,
        "method": method,
        "reference": first.reference,
        "paid": [part.data() for part in parts],
        "licence_sentences": list(licence_sentences),
    }


def statement(
    *,
    studio: Studio,
    client: Client,
    first: date,
    last: date,
    opening: Money,
    entries: Sequence[Entry],
    open_ones: Sequence[Open],
    number: str = "",
    logo_sha256: str = "",
) -> documents.Statement:
    """A statement of account from `first` to `last` (inclusive), its day of issue; with what is open by age.

    entries: see `debtors.statement_entries`. open_ones: the client's open invoices in the same currency on `last`.
    """
    currency = opening.currency
    due = {entry.paper.number: entry.paper.due_on.isoformat() for entry in open_ones}
    overdue = total((entry.left for entry in open_ones if entry.days_late and entry.left.amount > 0), currency)
    ages = {
        name: total((entry.left for entry in open_ones if column(entry) == name), currency)
        for name in (*(name for name, _ in AGES), TO_PAY_BACK)
    }
    return {
        **_head(STATEMENT, studio, client, last, currency, number, logo_sha256),
        "opened_on": first.isoformat(),
        "opening": opening.text,
        "entries": [_entry(entry, due) for entry in entries],
        "closing": (entries[-1].balance if entries else opening).text,
        "overdue": overdue.text,
        "aged": [{"label": name, "amount": amount.text} for name, amount in ages.items() if amount],
        "payment": _how_to_pay(studio, ""),
    }


def _entry(entry: Entry, due: Mapping[str, str]) -> documents.AccountEntry:
    """A row of the account: what was charged, or what was paid, credited or refunded."""
    charged = entry.amount.amount > 0
    return {
        "date": entry.on.isoformat(),
        "what": entry.kind,
        "number": entry.number,
        "due_on": due.get(entry.number, "") if entry.kind == "invoice" else "",
        "charged": entry.amount.text if charged else "",
        "paid": "" if charged else (-entry.amount).text,
        "balance": entry.balance.text,
    }


@dataclass(frozen=True, slots=True)
class Overdue:
    """An invoice that a reminder is about, where it stands, and what its lateness costs by then.

    interest, compensation: in all. billed_compensation, billed_interest: what was invoiced of them before, which is
    owed on that invoice. unpaid: what was not paid in time, the debt that the compensation goes by.
    """

    owed: Owed
    gross: Money
    balance: Balance
    days_late: int
    interest: LateInterest | None = None
    compensation: Money | None = None
    billed_compensation: Money | None = None
    billed_interest: Money | None = None
    unpaid: Money | None = None

    @property
    def compensation_left(self) -> Money:
        """The compensation that was not invoiced yet."""
        return self._less_billed()[0]

    @property
    def interest_left(self) -> Money:
        """The interest that was not invoiced yet."""
        return self._less_billed()[1]

    def _less_billed(self) -> tuple[Money, Money]:
        """What is left of either; what was invoiced of one beyond what it comes to by now comes off the other."""
        nothing = Money(0, self.owed.due.currency)
        fixed = (self.compensation or nothing) - (self.billed_compensation or nothing)
        interest = (self.interest.charged if self.interest else nothing) - (self.billed_interest or nothing)
        if fixed < nothing:
            fixed, interest = nothing, interest + fixed
        if interest < nothing:
            fixed, interest = max(fixed + interest, nothing), nothing
        return fixed.rounded(), max(interest, nothing).rounded()

    def data(self) -> documents.OpenInvoice:
        """The entry of a reminder's `invoices`."""
        return {
            "number": self.owed.number,
            "issued_on": self.owed.issued_on.isoformat(),
            "due_on": self.owed.due_on.isoformat(),
            "gross": self.gross.text,
            "paid": (self.gross - self.balance.left).text,
            "open": self.balance.left.text,
            "days_late": self.days_late,
        }


def reminder(
    *,
    studio: Studio,
    client: Client,
    issued_on: date,
    pay_by: date,
    step: str,
    overdue: Sequence[Overdue],
    others: Sequence[Overdue] = (),
    number: str = "",
    licence_suspended: bool = False,
    counted_until: date | None = None,
    sentences: Sequence[str] = (),
    logo_sha256: str = "",
) -> documents.Reminder:
    """A reminder of one invoice or several in one currency; with interest and compensation where a step charges them.

    step: its name on the ladder. others: what is late beside, which the reminder names and does not count.
    counted_until: last day (inclusive) whose payments are counted. What was invoiced of the interest before is taken
    off its `amount`; `whole` and `invoiced` then say how.
    """
    currency = overdue[0].owed.due.currency
    interest = total((entry.interest_left for entry in overdue), currency)
    fixed = total((entry.compensation_left for entry in overdue), currency)
    whole = total((entry.interest.charged for entry in overdue if entry.interest), currency)
    left = total((entry.balance.left for entry in overdue), currency)
    working = [
        part.text
        for entry in overdue
        if entry.interest and entry.interest.charged
        for part in (*entry.interest.working.parts, entry.interest.working)
    ]
    stretches: list[documents.InterestStretch] = [
        {"number": entry.owed.number, **stretch.data()}
        for entry in overdue
        if entry.interest and entry.interest.charged
        for stretch in entry.interest.stretches
    ]
    charges: documents.LateInterest = {
        "amount": interest.text, "compensation": fixed.text, "working": working, "stretches": stretches
    }  # fmt: skip
    if whole != interest:
        charges["whole"], charges["invoiced"] = whole.text, (whole - interest).text
    return {
        **_head(REMINDER, studio, client, issued_on, currency, number, logo_sha256),
        "step": step,
        "pay_by": pay_by.isoformat(),
        "invoices": [entry.data() for entry in overdue],
        "others": [entry.data() for entry in others],
        "interest": charges if interest or fixed else None,
        "total": (left + interest + fixed).rounded().text,
        "payment": _how_to_pay(studio, ", ".join(entry.owed.number for entry in overdue)),
        "sentences": list(sentences),
        "licence_suspended": licence_suspended,
        "counted_until": (counted_until or issued_on).isoformat(),
    }


class _Head(Issued):
    """What letters about money begin with."""

    client: PartyOnPaper
    currency: str
