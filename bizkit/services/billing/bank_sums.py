"""Sums that a person recorded and that a movement of the bank may be: the same money must not count twice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.matching import BankEntry, comes_from, says
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import Issued

#: Days between the day a sum was recorded for and the day the bank booked it.
NEAR_DAYS = 14
#: The same where it was recorded for a later day, as happens when it is typed from a statement, and the client paid.
LATER_DAYS = 92


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

    def is_of(self, entry: BankEntry) -> bool:
        """Whether the movement is of the same money, as far as amounts tell."""
        return bool({self.amount, self.reached} & {entry.amount, entry.original})

    def data(self) -> dict[str, Any]:
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
    from bizkit.store.issued import of_kind
    from bizkit.store.payments import all_money_in, payments_by_id

    matched, by_id = sums_of_movements(work), payments_by_id(work)
    issued = {one.number: one for one in of_kind(work, "invoice")}
    found = []
    for row in all_money_in(work):
        if row["id"] in matched:
            continue
        amount = Money(row["amount"], row["currency"])
        reached = amount - Money(row["fee"], row["currency"])
        if row["account"]:
            reached = Money(row["account"], row["account_currency"])
        invoices = tuple(dict.fromkeys(by_id[one].invoice for one in row["payments"]))
        on = date.fromisoformat(row["on"])
        mine = [issued[one] for one in invoices if one in issued]
        found.append(_sum(str(row["id"]), row["id"], row["client"], on, amount, reached.rounded(), mine))
    known = deposits_of_movements(work)
    for one in issued.values():
        deposit = one.document.get("deposit")
        if deposit and one.number not in known:
            came = Money(deposit["amount"], one.document["currency"])
            client, on = one.document["client"]["key"], date.fromisoformat(deposit["received_on"])
            found.append(_sum(one.number, None, client, on, came, came, [one]))
    return found


def _sum(
    name: str, money_in: int | None, client: str, on: date, amount: Money, reached: Money, invoices: list[Issued]
) -> Sum:
    return Sum(
        name, money_in, client, on, amount, reached,
        invoices=tuple(one.number for one in invoices),
        client_name=str(invoices[0].document["client"]["name"]) if invoices else "",
        references=tuple(filter(None, map(structured_reference, invoices))),
    )  # fmt: skip


def structured_reference(invoice: Issued) -> str:
    """The creditor reference of an invoice's number (ISO 11649), empty where none can be made of it."""
    from bizkit.exchange.identifiers import creditor_reference

    try:
        return creditor_reference(invoice.document["payment"]["reference"])
    except BadInput:
        return ""


def same_sums(entry: BankEntry, sums: list[Sum]) -> list[Sum]:
    """Those of them that the movement may be: the same amount, near in time (`Sum.is_near`); the nearest first."""
    near = [one for one in sums if one.is_of(entry) and one.is_near(entry)]
    return sorted(near, key=lambda one: (abs((one.on - entry.booked_on).days), one.name))


def the_sum(work: Connection, id_: int, entry: BankEntry, payment: str) -> Sum:
    """The sum of that name, to be taken for the movement. Raises NotFound, RuleBroken where it cannot be it."""
    from bizkit.store.bank import deposits_of_movements
    from bizkit.store.payments import all_money_in

    sums = {one.name: one for one in unmatched_sums(work)}
    if payment not in sums:
        known = [str(one["id"]) for one in all_money_in(work)]
        if payment in known or payment in deposits_of_movements(work):
            raise RuleBroken(f"payment {payment} is another movement of the bank already, or was taken back")
        raise NotFound("payment", payment, [*known, *sums], field="--payment", hint="See bizkit payment list")
    found = sums[payment]
    if not found.is_of(entry):
        raise RuleBroken(f"movement {id_} is {entry.amount}, {found}: they are not the same sum")
    return found
