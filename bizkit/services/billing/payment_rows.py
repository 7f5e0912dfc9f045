"""What is said of money that came in: as it was booked, as it is listed."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from bizkit.domain.billing.payment import BalanceState


class PaymentRowPart(TypedDict):
    """What of a sum went to one invoice."""

    number: str
    amount: str
    exchange_difference: str


class PaymentRow(TypedDict):
    """A sum that came in, or below zero went back; a deposit has no `id`."""

    id: int | None
    client: str
    on: str
    amount: str
    currency: str
    fee: str
    reference: str
    account: str
    account_currency: str
    parts: list[PaymentRowPart]


class Paid(TypedDict):
    """Money received for an invoice."""

    number: str
    received: str
    currency: str
    balance: str
    state: BalanceState
    id: int
    same: list[int]


class PartBooked(TypedDict):
    """What of a sum went to an invoice, and where that stands then."""

    number: str
    amount: str
    fee: str
    balance: str
    state: BalanceState
    exchange_difference: str


class SumBooked(TypedDict):
    """A sum as it was booked; same: sums that say just the same."""

    id: int
    on: str
    amount: str
    currency: str
    fee: str
    account: str
    account_currency: str
    reference: str
    parts: list[PartBooked]
    same: list[int]
