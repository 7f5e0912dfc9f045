"""Papers about money that are no invoices: statement, reminder, receipt."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from bizkit.domain.documents.base import Client, Issued, Payment


class AccountEntry(TypedDict):
    """A row of a statement. what: invoice credit_note payment refund interest. Charged or paid may be empty."""

    date: str
    what: str
    number: str
    due_on: str
    charged: str
    paid: str
    balance: str
    note: NotRequired[str]


class Aged(TypedDict):
    """An amount by its age; the label is printed as it is."""

    label: str
    amount: str


class Statement(Issued):
    """A client's account up to `issued_on`. closing may be negative: in the client's favour."""

    client: Client
    currency: str
    opening: str
    opened_on: NotRequired[str]
    entries: list[AccountEntry]
    closing: str
    overdue: str
    aged: NotRequired[list[Aged]]
    payment: NotRequired[Payment]


class OpenInvoice(TypedDict):
    """An invoice that is not paid in full."""

    number: str
    issued_on: str
    due_on: str
    gross: str
    paid: str
    open: str
    days_late: int


class InterestBasis(TypedDict):
    """Why a rate is what it is. kind: agreed bank_of_england european_central_bank; day and reference: of the bank's
    rate in percent; points: over it."""

    kind: str
    day: NotRequired[str]
    reference: NotRequired[str]
    points: NotRequired[str]


class InterestStretch(TypedDict):
    """Days with one principal and one rate, both ends included."""

    number: str
    first: str
    last: str
    days: int
    principal: str
    rate: str
    basis: InterestBasis


class LateInterest(TypedDict):
    """Interest and compensation for late payment. working: in English sentences, printed where no stretches are.

    whole, invoiced: of the interest, where a part of it was invoiced before; `amount` is the rest.
    """

    amount: str
    compensation: str
    whole: NotRequired[str]
    invoiced: NotRequired[str]
    working: NotRequired[list[str]]
    stretches: NotRequired[list[InterestStretch]]


class Reminder(Issued):
    """A reminder. step: friendly, firm or final. total includes interest. sentences replace the shipped wording.

    others: the client's other late invoices, which the total does not hold.
    """

    client: Client
    currency: str
    step: str
    pay_by: str
    total: str
    invoices: list[OpenInvoice]
    others: NotRequired[list[OpenInvoice]]
    interest: NotRequired[LateInterest | None]
    payment: Payment
    sentences: NotRequired[list[str]]
    licence_suspended: NotRequired[bool]
    counted_until: NotRequired[str]


class PaidPart(TypedDict):
    """What of a payment went to which invoice, and what is left of that."""

    number: str
    title: NotRequired[str]
    amount: str
    left: str


class Receipt(Issued):
    """Confirms a payment. left: what the client still owes in all. to_pay_back: what it has overpaid in all.

    Of a part, left is below zero where its invoice is overpaid.
    """

    client: Client
    currency: str
    received_on: str
    amount: str
    left: str
    to_pay_back: NotRequired[str]
    method: NotRequired[str]
    reference: NotRequired[str]
    paid: list[PaidPart]
    licence_sentences: NotRequired[list[str]]
