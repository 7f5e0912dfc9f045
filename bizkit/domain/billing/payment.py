"""Due dates, payments and what is left of an invoice."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, Literal

from bizkit.domain.dates import DayOff, add_working_days, weekend
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, total
from bizkit.domain.parties import Client, Studio
from bizkit.domain.payment_terms import COUNTED_IN

OPEN: Final = "open"
PART_PAID: Final = "part paid"
PAID: Final = "paid"
OVERPAID: Final = "overpaid"
#: Nothing is left of it, and nothing was paid: credit notes took it back.
CREDITED: Final = "credited"

#: Where an invoice stands.
BalanceState = Literal["open", "part paid", "paid", "overpaid", "credited"]


def due_date(issued_on: date, days: int, counted_in: str = "days", day_off: DayOff = weekend) -> date:
    """Last day (inclusive) to pay.

    "days" and "working_days" count from the day after issue; "days_after_month_end" from the last day of the month of
    issue, so that 0 of them is that month end. A due date on a weekend stays there: the client may pay earlier.

    >>> due_date(date(2027, 5, 10), 30)
    datetime.date(2027, 6, 9)
    >>> due_date(date(2027, 5, 10), 30, "days_after_month_end")
    datetime.date(2027, 6, 30)
    """
    if days < 0:
        raise BadInput(wanted="0 or more days to pay", got=days, field="payment_days")
    if counted_in == "days":
        return issued_on + timedelta(days=days)
    if counted_in == "working_days":
        return add_working_days(issued_on, days, day_off)
    if counted_in == "days_after_month_end":
        last = calendar.monthrange(issued_on.year, issued_on.month)[1]
        return issued_on.replace(day=last) + timedelta(days=days)
    raise BadInput(wanted=f"one of {', '.join(COUNTED_IN)}", got=counted_in, field="payment_counted_in")


@dataclass(frozen=True, slots=True)
class Terms:
    """How long a client has to pay. counted_in: see `due_date`."""

    days: int
    counted_in: str

    @classmethod
    def of(cls, studio: Studio, client: Client) -> Terms:
        """The client's own terms, else the studio's."""
        days = studio.payment_days if client.payment_days is None else client.payment_days
        return cls(days, client.payment_counted_in or studio.payment_counted_in)

    def due_on(self, issued_on: date, day_off: DayOff = weekend) -> date:
        """Last day (inclusive) to pay an invoice issued on that day."""
        return due_date(issued_on, self.days, self.counted_in, day_off)

    @property
    def text(self) -> str:
        """`30 days`, for the document's `payment.terms`."""
        unit = {"days": "days", "working_days": "working days", "days_after_month_end": "days after the month end"}
        if self.days == 0 and self.counted_in != "days_after_month_end":
            return "on receipt"
        if self.days == 0:
            return "end of month"
        words = unit[self.counted_in]
        return f"{self.days} {words.replace('days', 'day', 1) if self.days == 1 else words}"


@dataclass(frozen=True, slots=True)
class Payment:
    """Money that came in for one invoice (or went back: a negative amount is a refund).

    amount: in the invoice's currency; what the client's debt goes down by. fee: what a bank kept of it on the way, a
    cost of the studio's, zero or more. received: what reached the account where that is another currency.
    counterpart: the other invoice, where nothing came in and what was over on one was set against another; readers of
    whole sums say it (`store/payments.payments_by_id`).
    """

    invoice: str
    received_on: date
    amount: Money
    fee: Money | None = None
    received: Money | None = None
    reference: str = ""
    counterpart: str = ""

    @property
    def exchange_rate(self) -> Decimal | None:
        """Account currency per unit of invoice currency that the bank really gave, fee included."""
        if self.received is None or not self.amount:
            return None
        return self.received.amount / self.amount.amount


@dataclass(frozen=True, slots=True)
class Owed:
    """What payments are set against: an issued invoice. due: gross less what was prepaid before issue.

    prepaid: what came before it was issued, as a deposit does; it can be paid back like any other money that came.
    """

    number: str
    issued_on: date
    due_on: date
    due: Money
    prepaid: Money | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """Where an invoice stands. left: due - credited - paid; below zero is owed back to the client."""

    due: Money
    credited: Money
    paid: Money
    left: Money
    state: BalanceState

    def data(self) -> dict[str, str]:
        """As JSON-ready data."""
        return {
            "due": self.due.text,
            "credited": self.credited.text,
            "paid": self.paid.text,
            "left": self.left.text,
            "state": self.state,
        }


def balance(owed: Owed, payments: Sequence[Payment], credits: Sequence[Money] = ()) -> Balance:
    """What is left to pay. credits: gross of each credit note of it. Raises RuleBroken for a second currency."""
    currency = owed.due.currency
    paid = total((payment.amount for payment in payments), currency)
    credited = total(credits, currency)
    left = owed.due - credited - paid
    return Balance(owed.due, credited, paid, left.rounded(), _state(owed, left, paid, credited))


def _state(owed: Owed, left: Money, paid: Money, credited: Money) -> BalanceState:
    """Where an invoice stands; only what was paid, or came before it, and not paid back counts as paid."""
    came = paid + (owed.prepaid or Money(0, paid.currency))
    zero = Money(0, left.currency)
    if left < zero:
        return OVERPAID
    if left == zero:
        return CREDITED if credited > zero and came == zero else PAID
    return PART_PAID if paid > zero else OPEN


def check_payment(
    owed: Owed, payment: Payment, before: Balance, *, accept_over: bool = False, owed_again: bool = False
) -> Balance:
    """The balance after the payment. Refuses what cannot be right.

    Raises RuleBroken for a payment before the invoice existed, in another currency, more than is left (unless
    `accept_over`), a refund of more than was paid, or of more than was overpaid (unless `owed_again`: then the rest
    is owed again); BadInput for nothing, part of a minor unit, or a negative fee.
    """
    amount = payment.amount
    if amount.currency != owed.due.currency:
        raise RuleBroken(
            f"{owed.number} is in {owed.due.currency}, the payment in {amount.currency}: "
            f"give the part of the invoice it settles in {owed.due.currency}, and what was received beside it"
        )
    if payment.received_on < owed.issued_on:
        raise RuleBroken(
            f"{owed.number} was issued on {owed.issued_on}, the payment came on {payment.received_on}: "
            "give the day it came with --on; money received before is a deposit and needs an invoice of its own"
        )
    if not amount:
        raise BadInput(wanted="an amount other than zero", got=amount, field="AMOUNT")
    if amount != amount.rounded():
        raise BadInput(wanted=f"whole minor units of {amount.currency}", got=amount, field="AMOUNT")
    if payment.fee is not None and payment.fee.amount < 0:
        raise BadInput(wanted="a bank fee of zero or more", got=payment.fee, field="--fee")
    paid = before.paid + amount
    came = before.paid + (owed.prepaid or Money(0, amount.currency))
    if (came + amount).amount < 0:
        raise RuleBroken(f"{owed.number}: a refund of {-amount} is more than the {came} that was paid")
    left = before.left - amount
    if amount.amount < 0 and left.amount > 0 and not owed_again:
        over = max(-before.left, Money(0, amount.currency))
        ways = f"pay {over} back, or credit the invoice first" if over else "credit the invoice first"
        raise RuleBroken(
            f"{owed.number}: a refund of {-amount} is more than the {over} that was overpaid, and the rest would be "
            f"owed again: {ways}; where the money went back and is owed again, say --owed-again"
        )
    if left.amount < 0 and amount.amount > 0 and not accept_over:
        raise RuleBroken(
            f"{owed.number}: {amount} is more than the {before.left} that is left; "
            "take all of it with --accept-over, or set it against several invoices with bizkit payment add"
        )
    return Balance(before.due, before.credited, paid, left, _state(owed, left, paid, before.credited))


def spread(amount: Money, open_ones: Sequence[tuple[Owed, Money]]) -> tuple[list[tuple[Owed, Money]], Money]:
    """Set one sum against several invoices, the longest due first; returns the parts and what is over.

    open_ones: each invoice with what is left of it. Raises RuleBroken for mixed currencies, BadInput for no amount.
    """
    if amount.amount <= 0:
        raise BadInput(wanted="an amount above zero", got=amount, field="AMOUNT")
    over = amount
    parts = []
    for owed, left in sorted(open_ones, key=lambda pair: (pair[0].due_on, pair[0].issued_on, pair[0].number)):
        part = min(over, left, key=lambda money: decimal(money.amount))
        if left.currency != amount.currency:
            raise RuleBroken(f"{owed.number} is in {left.currency}, the payment in {amount.currency}")
        if part.amount > 0:
            parts.append((owed, part))
            over = over - part
    return parts, over
