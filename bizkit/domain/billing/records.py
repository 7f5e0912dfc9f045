"""Issued papers, payments and costs as plain records, which every report below is worked out from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.lines import CREDIT_NOTE
from bizkit.domain.billing.payment import Owed, Payment
from bizkit.domain.billing.tax import TaxLine
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, minor_digits, round_half_away


@dataclass(frozen=True, slots=True)
class Issued:
    """An invoice or credit note as issued. Amounts are those printed (above zero for a credit note too).

    due: gross less prepaid, with the minor unit that rounding a deposit may leave. home_rate: home currency for one
    unit of `currency`, None where they are the same or no rate was recorded. income: net by kind. corrects: number of
    the invoice a credit note corrects. prepaid: None where it is just what gross and due differ by. late_payment_of:
    the invoice whose interest and compensation it bills: such a paper is of no supply. no_supply: why else it is of
    none. before_work: an invoice for work that was still to be done. client_name and so on: as printed.
    deposit: money that came before it, the day, the sum and its reference.
    """

    number: str
    kind: str
    issued_on: date
    tax_point: date
    due_on: date
    client: str
    job: str
    currency: str
    net: Money
    tax: Money
    gross: Money
    due: Money
    taxes: tuple[TaxLine, ...]
    income: tuple[tuple[str, Money], ...] = ()
    home_rate: Decimal | None = None
    corrects: str = ""
    prepaid: Money | None = None
    late_payment_of: str = ""
    no_supply: str = ""
    before_work: bool = False
    client_name: str = ""
    client_country: str = ""
    client_tax_number: str = ""
    deposit: tuple[date, Money, str] | None = None

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> Issued:
        """From a frozen invoice or credit note."""
        currency = document["currency"]

        def money(text: str) -> Money:
            return Money(text, currency)

        home = document.get("tax_in")
        return cls(
            number=document["number"],
            kind=document["kind"],
            issued_on=date.fromisoformat(document["issued_on"]),
            tax_point=date.fromisoformat(document["tax_point"]),
            due_on=date.fromisoformat(document["due_on"] or document["issued_on"]),
            client=document["client"]["key"],
            job=document["job"],
            currency=currency,
            net=money(document["net"]),
            tax=money(document["tax"]),
            gross=money(document["gross"]),
            due=money(document["due"]),
            taxes=tuple(
                TaxLine(
                    tax["category"],
                    tax["name"],
                    decimal(tax["rate"]),
                    money(tax["base"]),
                    money(tax["amount"]),
                    tax["note"],
                )
                for tax in document["taxes"]
            ),
            income=tuple((kind, money(amount)) for kind, amount in document.get("income", {}).items()),
            home_rate=decimal(home["rate"]) if home else None,
            corrects=(document.get("credits") or {}).get("number", ""),
            prepaid=money(document["prepaid"]) if document.get("prepaid") else None,
            late_payment_of=document.get("late_payment_of", ""),
            deposit=_deposit(document),
            no_supply=document.get("no_supply", ""),
            before_work=document.get("work_done") is False and document["kind"] != CREDIT_NOTE,
            client_name=document["client"]["name"],
            client_country=document["client"]["country"],
            client_tax_number=document["client"].get("tax_number", ""),
        )

    @property
    def came_before(self) -> Payment | None:
        """What came before the paper was issued, as the payment that it is."""
        if self.deposit is not None:
            day, amount, reference = self.deposit
            return Payment(self.number, day, amount, reference=reference)
        if self.sign < 0 or not self.received_before:
            return None
        return Payment(self.number, min(self.tax_point, self.issued_on), self.received_before)

    @property
    def received_before(self) -> Money:
        """What came before the paper was issued."""
        return self.gross - self.due if self.prepaid is None else self.prepaid

    def fee_of(self, payment: Payment, home: str) -> Money:
        """What a bank kept of a payment of it, in the home currency."""
        return self.at_home(payment.fee or Money(0, self.currency), home)

    def exchange_difference(self, payment: Payment, home: str) -> Money | None:
        """What reached the account and the bank kept, less the payment at the paper's own rate; None in home money.

        Above zero is a gain. The bank's fee is a cost of its own and is not counted as a loss.
        """
        if self.home_rate is None or payment.received is None or payment.received.currency != home:
            return None
        came = payment.amount - (payment.fee or Money(0, self.currency))
        return (payment.received - self.at_home(came, home)).rounded()

    @property
    def sign(self) -> int:
        """1 for an invoice, -1 for a credit note."""
        return -1 if self.kind == CREDIT_NOTE else 1

    @property
    def owed(self) -> Owed:
        """What payments are set against."""
        return Owed(self.number, self.issued_on, self.due_on, self.due)

    def at_home(self, amount: Money, home: str, rates: Mapping[str, Decimal] | None = None) -> Money:
        """`amount` of this paper in the home currency, rounded. rates: own rate per number where none was recorded.

        Raises RuleBroken for a foreign-currency paper without a rate.
        """
        if self.currency == home:
            return amount.rounded()
        rate = self.home_rate if self.home_rate is not None else (rates or {}).get(self.number)
        if rate is None:
            raise RuleBroken(f"{self.number} is in {self.currency} and no rate to {home} was recorded: give one")
        return Money(round_half_away(amount.amount * rate, minor_digits(home)), home)


def _deposit(document: Mapping[str, Any]) -> tuple[date, Money, str] | None:
    said = document.get("deposit")
    if not said or document["kind"] == CREDIT_NOTE:
        return None
    amount = Money(said["amount"], document["currency"])
    return date.fromisoformat(said["received_on"]), amount, said["reference"]


def money_in(papers: Iterable[Issued], payments: Iterable[Payment]) -> list[Payment]:
    """All money that came in or went back, by day: what came before an invoice, as a deposit does, and payments."""
    before = (paper.came_before for paper in papers)
    return sorted([*filter(None, before), *payments], key=lambda payment: payment.received_on)


@dataclass(frozen=True, slots=True)
class Cost:
    """Something bought. net, tax: as on the supplier's invoice; tax that cannot be reclaimed belongs into net.

    kind: the studio's own word ("travel", "crew", "kit"). paid_on: None while unpaid. goods: whether goods used up
    (for the limited-cost test of the flat-rate scheme). capital: a thing kept and used for years.
    number: as the book counts it ("cost 3", "overhead 1"). receipt: SHA-256 of the paper. reverses: the number of the
    entry it takes back.
    """

    bought_on: date
    supplier: str
    kind: str
    net: Money
    tax: Money
    paid_on: date | None = None
    job: str = ""
    goods: bool = False
    capital: bool = False
    number: str = ""
    what: str = ""
    receipt: str = ""
    reverses: str = ""

    @property
    def gross(self) -> Money:
        """What was paid."""
        return self.net + self.tax


@dataclass(frozen=True, slots=True)
class Period:
    """Days from `first` to `last`, both included."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise BadInput(wanted=f"an end on or after {self.first}", got=self.last, field="period")

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day <= self.last
