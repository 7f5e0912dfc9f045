"""Money expected in and out, week by week."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median_low
from typing import Any

from bizkit.domain.billing.debtors import open_invoices
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, total
from bizkit.domain.plain_text import many


def typical_days(papers: Iterable[Issued], payments: Iterable[Payment]) -> dict[str, int]:
    """Client -> days from issue to the payment that settled an invoice, the lower median of its settled ones.

    A client without a settled invoice is left out: its terms are all that is known.
    """
    invoices = {paper.number: paper for paper in papers if paper.sign > 0}
    left = {number: paper.due for number, paper in invoices.items()}
    for paper in papers:
        if paper.sign < 0 and paper.corrects in left:
            left[paper.corrects] = left[paper.corrects] - paper.gross
    taken: dict[str, list[int]] = {}
    for payment in sorted(payments, key=lambda payment: payment.received_on):
        invoice = invoices.get(payment.invoice)
        if invoice is None or left[invoice.number].amount <= 0:
            continue
        left[invoice.number] = left[invoice.number] - payment.amount
        if left[invoice.number].amount <= 0:
            taken.setdefault(invoice.client, []).append((payment.received_on - invoice.issued_on).days)
    return {client: median_low(days) for client, days in taken.items()}


@dataclass(frozen=True, slots=True)
class Expected:
    """Money expected (above zero in, below out) on a day, and why.

    said, values: the key of the wording that says why on a page, with what it names; empty where `why` is a name.
    """

    on: date
    amount: Money
    why: str
    said: str = ""
    values: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from `first` (a Monday). balance: at their end."""

    first: date
    coming_in: Money
    going_out: Money
    balance: Money
    expected: tuple[Expected, ...]

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "week": self.first.isoformat(),
            "in": self.coming_in.text,
            "out": self.going_out.text,
            "balance": self.balance.text,
            "expected": [
                {"on": entry.on.isoformat(), "amount": entry.amount.text, "why": entry.why} for entry in self.expected
            ],
        }


def expected_from_invoices(
    papers: Sequence[Issued], payments: Sequence[Payment], today: date, typical: Mapping[str, int]
) -> list[Expected]:
    """What open invoices bring: on the day the client typically pays, else when due; late ones a week from today.

    What was paid beyond an invoice goes out today.
    """
    result = []
    for entry in open_invoices(papers, payments, today):
        paper = entry.paper
        if entry.left.amount < 0:
            back = f"{paper.number}: to pay back"
            result.append(Expected(today, entry.left, back, "pay_back", (("number", paper.number),)))
            continue
        days, said = typical.get(paper.client, 0), "due"
        if paper.client in typical:
            on, said = max(paper.due_on, paper.issued_on + timedelta(days=days)), "typical"
            why = f"{paper.number}: {paper.client} typically pays after {many(days, 'day')}"
        else:
            on, why = paper.due_on, f"{paper.number} is due"
        if on <= today:
            on, said, days = today + timedelta(days=7), "late", entry.days_late
            why = f"{paper.number} is {many(days, 'day')} late"
        said += "_one" if days == 1 and said in ("late", "typical") else ""
        values = (("number", paper.number), ("client", paper.client), ("days", str(days)))
        result.append(Expected(on, entry.left, why, said, values))
    return result


def forecast(expected: Iterable[Expected], opening: Money, today: date, weeks: int) -> list[Week]:
    """Weeks from the one with `today` on, with what is expected in each; all in the currency of `opening`.

    Entries in other currencies raise RuleBroken (convert them first); those outside the weeks are left out.
    """
    if not 1 <= weeks <= 520:
        raise BadInput(wanted="1 to 520 weeks", got=weeks, field="weeks")
    currency = opening.currency
    monday = today - timedelta(days=today.weekday())
    buckets: list[list[Expected]] = [[] for _ in range(weeks)]
    for entry in expected:
        index = (entry.on - monday).days // 7
        if entry.on >= today and 0 <= index < weeks:
            buckets[index].append(entry)
    result, balance = [], opening
    for index, bucket in enumerate(buckets):
        bucket.sort(key=lambda entry: (entry.on, -entry.amount.amount))
        coming = total((entry.amount for entry in bucket if entry.amount.amount > 0), currency)
        going = total((-entry.amount for entry in bucket if entry.amount.amount < 0), currency)
        balance = balance + coming - going
        result.append(Week(monday + timedelta(weeks=index), coming, going, balance, tuple(bucket)))
    return result
