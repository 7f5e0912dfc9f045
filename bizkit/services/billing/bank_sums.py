"""Sums that a person recorded and that a movement of the bank may be: the same money must not count twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.matching import MOST_TOGETHER, BankEntry, Candidate, comes_from, says
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.billing.balances import balances, owed

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.register import Entry

#: Days between the day a sum was recorded for and the day the bank booked it.
NEAR_DAYS = 14
#: The same where it was recorded for a later day, as happens when it is typed from a statement, and the client paid.
LATER_DAYS = 92
#: Most sums of one client that are tried together.
MOST_TRIED = 12


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum as recorded. name: its number in the list of payments, or the number of the invoice of a deposit.

    money_in: the row it is, None for a deposit. amount: what the client's debt went down by. reached: what came to
    the account of it. client_name: as on its invoices. references: the structured ones of its invoices.
    """

    name: str
    money_in: int | None
    client: str
    on: date
    amount: Money
    reached: Money
    invoices: tuple[str, ...]
    client_name: str = ""
    references: tuple[str, ...] = ()

    def is_near(self, entry: BankEntry) -> bool:
        """Whether the movement is near it in time. Any time is, where the movement names one of its invoices."""
        days = (self.on - entry.booked_on).days
        if abs(days) <= NEAR_DAYS or any(says(entry, one) for one in (*self.invoices, *self.references)):
            return True
        return 0 < days <= LATER_DAYS and comes_from(entry, self.client_name)

    def data(self) -> SumRow:
        """As JSON-ready data."""
        return {
            "payment": self.name,
            "client": self.client,
            "on": self.on.isoformat(),
            "amount": self.amount.text,
            "currency": self.amount.currency,
            "invoices": list(self.invoices),
        }

    def __str__(self) -> str:
        if self.money_in is None:
            return f"deposit {self.name} of {self.on} ({self.amount})"
        return f"payment {self.name} of {self.on} ({self.amount} for {', '.join(self.invoices)})"


def unmatched_sums(work: Connection) -> list[Sum]:
    """The sums that no movement is known to be: payments, and deposits, which came before their invoice."""
    from bizkit.store.bank import deposits_of_movements, sums_of_movements
    from bizkit.store.payments import all_money_in, deposits, payments_by_id
    from bizkit.store.register import bills

    matched, by_id = sums_of_movements(work), payments_by_id(work)
    issued = {one.number: one for one in bills(work) if one.kind == "invoice"}
    found = []
    for row in all_money_in(work):
        if row.id in matched or not row.amount:
            continue
        amount = row.amount
        reached = amount - row.fee
        if row.account is not None:
            reached = row.account
        invoices = tuple(dict.fromkeys(by_id[one].invoice for one in row.payments))
        on = date.fromisoformat(row.on)
        mine = [issued[one] for one in invoices if one in issued]
        found.append(_sum(str(row.id), row.id, row.client, on, amount, reached.rounded(), mine))
    known = deposits_of_movements(work)
    for client, one in deposits(work):
        if one.invoice not in known:
            mine = [issued[one.invoice]]
            found.append(_sum(one.invoice, None, client, one.received_on, one.amount, one.amount, mine))
    return found


def candidates_of(work: Connection) -> list[Candidate]:
    """Invoices with something left or overpaid: how much, whom each was sent to, its structured reference."""
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.register import bills, overpaid, unsettled

    found = [*unsettled(work), *overpaid(work)]
    with reading_ahead(work, {one.key for one in found}):
        return [
            Candidate(
                owed(one),
                balances(work, one.key)[one.number].left,
                one.client_name,
                structured_reference(one),
                tuple(note.number for note in bills(work, one.key) if note.credits == one.number),
            )
            for one in found
        ]


def _sum(
    name: str, money_in: int | None, client: str, on: date, amount: Money, reached: Money, invoices: list[Entry]
) -> Sum:
    return Sum(
        name, money_in, client, on, amount, reached,
        invoices=tuple(one.number for one in invoices),
        client_name=invoices[0].client_name if invoices else "",
        references=tuple(filter(None, map(structured_reference, invoices))),
    )  # fmt: skip


def structured_reference(invoice: Entry) -> str:
    """The creditor reference of an invoice's number (ISO 11649), empty where none can be made of it."""
    from bizkit.exchange.identifiers import creditor_reference

    try:
        return creditor_reference(invoice.reference)
    except BadInput:
        return ""


def are_of(entry: BankEntry, sums: Sequence[Sum]) -> bool:
    """Whether the movement is the money of these sums together, as far as amounts tell."""
    wanted = {entry.amount, entry.original}
    for each in ([one.amount for one in sums], [one.reached for one in sums]):
        if len({one.currency for one in each}) == 1 and total(each, each[0].currency) in wanted:
            return True
    return False


def same_sums(entry: BankEntry, sums: Sequence[Sum]) -> list[tuple[Sum, ...]]:
    """What the movement may be: one of the sums, or several of one client; the same amount, near in time
    (`Sum.is_near`); fewest first, then the nearest."""
    near = [one for one in sums if one.is_near(entry)]
    near.sort(key=lambda one: (abs((one.on - entry.booked_on).days), one.name))
    found: list[tuple[Sum, ...]] = [(one,) for one in near if are_of(entry, [one])]
    for client in dict.fromkeys(one.client for one in near):
        mine = [one for one in near if one.client == client][:MOST_TRIED]
        for size in range(2, MOST_TOGETHER + 1):
            found += [group for group in combinations(mine, size) if are_of(entry, group)]
    return found


def the_sums(work: Connection, id_: int, entry: BankEntry, payments: Sequence[str]) -> list[Sum]:
    """The sums of those names, to be taken for the movement. Raises NotFound, RuleBroken where they cannot be it."""
    from bizkit.store.bank import deposits_of_movements
    from bizkit.store.payments import all_money_in

    sums = {one.name: one for one in unmatched_sums(work)}
    for payment in payments:
        if payment not in sums:
            known = [str(one.id) for one in all_money_in(work)]
            if payment in known or payment in deposits_of_movements(work):
                raise RuleBroken(f"payment {payment} is another movement of the bank already, or was taken back")
            raise NotFound("payment", payment, [*known, *sums], field="--payment", hint="See bizkit payment list")
    found = [sums[payment] for payment in dict.fromkeys(payments)]
    if not are_of(entry, found):
        said = " and ".join(map(str, found))
        raise RuleBroken(f"movement {id_} is {entry.amount}, {said}: they are not the same sum")
    return found


def payment_options(sums: Sequence[Sum]) -> str:
    """How a movement is said to be these sums.

    >>> payment_options([])
    ''
    """
    return " ".join(f"--payment {one.name}" for one in sums)


class SumRow(TypedDict):
    """A sum recorded by hand that a movement may be; payment: its number, or the invoice of a deposit."""

    payment: str
    client: str
    on: str
    amount: str
    currency: str
    invoices: list[str]
