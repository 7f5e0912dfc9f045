"""Who owes how much, for how long: aged debtors and statements."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued, money_in
from bizkit.domain.money import Money, total

#: Columns of the report: name and most days late (inclusive); the last has no end.
AGES: Final = (("not due", 0), ("1-30", 30), ("31-60", 60), ("61-90", 90), ("over 90", None))
#: The column of what was overpaid.
TO_PAY_BACK: Final = "to pay back"


def age(days_late: int) -> str:
    """The column a debt stands in.

    >>> age(0), age(1), age(90), age(91)
    ('not due', '1-30', '61-90', 'over 90')
    """
    return next(name for name, most in AGES if most is None or days_late <= most)


@dataclass(frozen=True, slots=True)
class Open:
    """An invoice with something left (below zero: overpaid) on a day."""

    paper: Issued
    left: Money
    days_late: int


def open_invoices(papers: Iterable[Issued], payments: Iterable[Payment], on: date) -> list[Open]:
    """Invoices not settled at the end of `on`, oldest due first: issued, credited and paid up to that day."""
    left: dict[str, Money] = {}
    invoices: dict[str, Issued] = {}
    credit_notes = []
    for paper in papers:
        if paper.issued_on > on:
            continue
        if paper.sign > 0:
            invoices[paper.number] = paper
            left[paper.number] = paper.due
        else:
            credit_notes.append(paper)
    for note in credit_notes:
        left[note.corrects] = left[note.corrects] - note.gross
    for payment in payments:
        if payment.received_on <= on and payment.invoice in left:
            left[payment.invoice] = left[payment.invoice] - payment.amount
    entries = [
        Open(invoices[number], amount.rounded(), max(0, (on - invoices[number].due_on).days))
        for number, amount in left.items()
        if amount
    ]
    return sorted(entries, key=lambda entry: (entry.paper.due_on, entry.paper.number))


def column(entry: Open) -> str:
    """The column that what is left of an invoice stands in: by its age, or what is to be paid back of it."""
    return age(entry.days_late) if entry.left.amount > 0 else TO_PAY_BACK


@dataclass(frozen=True, slots=True)
class Debtor:
    """One client in one currency: what it owes per column of `AGES`; what it overpaid, below zero; the sum of both.

    Money that is to be paid back is no debt of the client's, however long ago its invoice was due.
    """

    client: str
    currency: str
    ages: tuple[Money, ...]
    to_pay_back: Money
    whole: Money

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        names = [name for name, _ in AGES]
        return {
            "client": self.client,
            "currency": self.currency,
            "ages": {name: amount.text for name, amount in zip(names, self.ages, strict=True)},
            "to_pay_back": self.to_pay_back.text,
            "total": self.whole.text,
        }


def aged_debtors(papers: Iterable[Issued], payments: Iterable[Payment], on: date) -> list[Debtor]:
    """Debtors by client and currency at the end of `on`, the largest debt of each currency first."""
    columns: dict[tuple[str, str], dict[str, list[Money]]] = {}
    for entry in open_invoices(papers, payments, on):
        key = (entry.paper.client, entry.paper.currency)
        columns.setdefault(key, {name: [] for name in (*(name for name, _ in AGES), TO_PAY_BACK)})[
            column(entry)
        ].append(entry.left)
    debtors = []
    for (client, currency), ages in columns.items():
        *amounts, back = (total(entries, currency) for entries in ages.values())
        debtors.append(Debtor(client, currency, tuple(amounts), back, total((*amounts, back), currency)))
    return sorted(debtors, key=lambda debtor: (debtor.currency, -debtor.whole.amount, debtor.client))


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a client's statement. amount: above zero what the client came to owe, below what went off it."""

    on: date
    kind: str
    number: str
    amount: Money
    balance: Money

    def data(self) -> dict[str, str]:
        """As JSON-ready data."""
        return {
            "on": self.on.isoformat(),
            "kind": self.kind,
            "number": self.number,
            "amount": self.amount.text,
            "balance": self.balance.text,
        }


def statement_entries(
    papers: Sequence[Issued], payments: Sequence[Payment], client: str, currency: str, first: date, last: date
) -> tuple[Money, list[Entry]]:
    """What was open before `first`, and every movement from `first` to `last` (inclusive) with a running balance.

    A deposit came in and was invoiced, like everything else.
    """
    mine = {paper.number for paper in papers if paper.client == client and paper.currency == currency}
    moves = [
        (
            paper.issued_on,
            0 if paper.sign > 0 else 1,
            paper.kind,
            paper.number,
            (paper.due + paper.received_before if paper.sign > 0 else -paper.gross),
        )
        for paper in papers
        if paper.number in mine
    ]
    moves += [
        (
            payment.received_on,
            2,
            "transfer" if payment.counterpart else "payment" if payment.amount.amount > 0 else "refund",
            payment.invoice,
            -payment.amount,
        )
        for payment in money_in(papers, payments)
        if payment.invoice in mine
    ]
    moves.sort(key=lambda move: (move[0], move[1], move[3]))
    opening = total((move[4] for move in moves if move[0] < first), currency)
    balance, entries = opening, []
    for day, _, kind, number, amount in moves:
        if first <= day <= last:
            balance = balance + amount
            entries.append(Entry(day, kind, number, amount.rounded(), balance.rounded()))
    return opening.rounded(), entries
