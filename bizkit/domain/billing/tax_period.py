"""The tax of a period: what was charged, what can be reclaimed, what is to be paid over.

By invoice: papers whose tax point lies in the period. By payment (cash accounting, VAT Regulations 1995 Part VIII):
the share of each invoice's tax that its payments of the period bring, worked out on the running total, so that a
fully paid invoice has brought exactly its tax; a credit note takes back only what was accounted for on a payment
(HMRC manual VCAS5250), and with the refund, as such a return follows payments alone (secondary). Flat rate: a share
of the gross turnover of the period, without what is supplied outside the scope of the tax (Notice 733 section 6.3,
secondary).

By performance, where the law of the studio's country taxes neither the invoice nor the payment but the work (Germany,
UStG § 13 Abs. 1 Nr. 1 Buchst. a Satz 1 and 4): an invoice for work still to be done counts as far as it is paid, and
in full once the work is done; every other one on its tax point. What was credited of an advance that had been paid
leaves the return when the money is given back, not when the job is cancelled (UStG § 17 Abs. 2 Nr. 2; BFH 2.9.2010,
V R 34/09, as a tax journal reports it, read 2026-11-27).

Interest and compensation for late payment are no supply and in no box (case 222/81), nor is the fee for an order
called off before any work where it was billed as damages, nor what was supplied before registration (HMRC manual
VATTOS5210). Which boxes there are is said in `return_boxes`. This is no tax advice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.flat_rate import first_year_of, flat_rate_due
from bizkit.domain.billing.input_tax import scheme_gives_back
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Cost, Issued, Period
from bizkit.domain.billing.return_boxes import OUTSIDE, Counted, Service, british, german, union_services
from bizkit.domain.billing.tax_point import BY_PERFORMANCE
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, plain, total
from bizkit.domain.tables.vat_area import EU


@dataclass(frozen=True, slots=True)
class TaxSum:
    """Base and tax of one category and rate over the period, credit notes taken off."""

    category: str
    rate: Decimal
    base: Money
    tax: Money

    def data(self) -> dict[str, str]:
        """As JSON-ready data."""
        return {
            "category": self.category,
            "rate": plain(self.rate),
            "base": self.base.text,
            "tax": self.tax.text,
        }


@dataclass(frozen=True, slots=True)
class TaxPeriod:
    """The summary. accounting: "invoice", "performance", "cash", "flat rate" or "not registered".

    due: to be paid over (below zero: reclaimed). why: the rule with its numbers, and what is left out. country: whose
    return it is. counted: what makes the boxes, part by part.
    """

    period: Period
    accounting: str
    sums: tuple[TaxSum, ...]
    sales: Money
    tax_on_sales: Money
    purchases: Money
    tax_reclaimed: Money
    due: Money
    why: str
    country: str = "GB"
    counted: tuple[Counted, ...] = ()

    @property
    def boxes(self) -> dict[str, str]:
        """The boxes of the country's return; none where there is no return, or none known here."""
        if self.accounting == "not registered":
            return {}
        if self.country in ("GB", "IM"):
            return british(self.sales, self.tax_on_sales, self.purchases, self.tax_reclaimed, self.due)
        return german(self.counted, self.tax_reclaimed) if self.country == "DE" else {}

    @property
    def union_services(self) -> tuple[Service, ...]:
        """For the recapitulative statement of a registered studio in the Union."""
        stated = self.country in EU and self.accounting != "not registered"
        return union_services(self.counted, self.due.currency) if stated else ()

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "first": self.period.first.isoformat(),
            "last": self.period.last.isoformat(),
            "accounting": self.accounting,
            "currency": self.due.currency,
            "taxes": [entry.data() for entry in self.sums],
            "sales": self.sales.text,
            "tax_on_sales": self.tax_on_sales.text,
            "purchases": self.purchases.text,
            "tax_reclaimed": self.tax_reclaimed.text,
            "due": self.due.text,
            "why": self.why,
            "country": self.country,
            "boxes": self.boxes,
            "union_services": [one.data() for one in self.union_services],
        }


def tax_period(
    papers: Sequence[Issued],
    payments: Sequence[Payment],
    costs: Sequence[Cost],
    period: Period,
    *,
    home: str,
    accounting: str = "invoice",
    flat_rate: Decimal | None = None,
    registered: bool = True,
    registered_from: date | None = None,
    rates: Mapping[str, Decimal] | None = None,
    country: str = "GB",
    performed: Mapping[str, date] | None = None,
) -> TaxPeriod:
    """The summary of a period in the `home` currency.

    costs: with the tax that can be reclaimed apart, see `reclaimable`. registered, registered_from: whether the
    studio charges the tax, and its first day (None: always); what was supplied before is in no box. rates: exchange
    rate per paper where none was recorded. country: the studio's. performed: job -> the day its work was done, for a
    country that taxes by performance. Raises RuleBroken for a foreign paper without a rate.
    """
    if accounting not in ("invoice", "cash"):
        raise BadInput(wanted="invoice or cash", got=accounting, field="accounting")
    zero = Money(0, home)
    sums: dict[tuple[str, Decimal], tuple[Money, Money]] = {}
    left_out: dict[str, Money] = {}
    outside, taxed = zero, zero
    turnover: list[tuple[list[Money], bool]] = []
    counted: list[Counted] = []
    if accounting == "invoice" and country in BY_PERFORMANCE:
        accounting = "performance"
    by_number = {paper.number: paper for paper in papers}
    for part_of, reduced in first_year_of(registered_from, period):
        gross: list[Money] = []
        for paper, category, rate, base, tax in _parts(papers, payments, part_of, accounting, performed or {}):
            base_home, tax_home = paper.at_home(base, home, rates), paper.at_home(tax, home, rates)
            before = sums.get((category, rate), (zero, zero))
            sums[(category, rate)] = (before[0] + base_home, before[1] + tax_home)
            why = _no_supply(by_number.get(paper.corrects, paper), registered, registered_from)
            if why:
                left_out[why] = left_out.get(why, zero) + base_home
                continue
            party = (paper.client_name or paper.client, paper.client_tax_number, paper.client_country)
            counted.append(Counted(category, rate, base_home, tax_home, *party))
            if category in OUTSIDE:
                outside = outside + base_home
            else:
                taxed = taxed + base_home
                gross.append(base_home + tax_home)
        turnover.append((gross, reduced))
    lines = tuple(
        TaxSum(category, rate, base.rounded(), tax.rounded())
        for (category, rate), (base, tax) in sorted(sums.items(), key=lambda item: (item[0][0] != "S", item[0]))
    )
    charged = total((line.tax for line in lines), home)
    paid = [(cost, cost.paid_on if accounting == "cash" else cost.bought_on) for cost in costs]
    bought = [cost for cost, day in paid if day in period and cost.net.currency == home]
    sales, name = taxed + outside, accounting
    why = {
        "invoice": "tax points in the period",
        "cash": "payments in the period",
        "performance": "work done in the period, and what was paid in it for work still to be done",
    }[accounting]
    if not registered:
        name, why, bought = "not registered", "not registered: there is no return", []
    elif flat_rate is not None:
        bought = [cost for cost in bought if reclaimable(cost, flat_rate=flat_rate)]
        parts = [flat_rate_due(gross, zero, flat_rate, first_year=reduced) for gross, reduced in turnover]
        charged = total((part.due for part in parts), home)
        sales = total((part.turnover for part in parts), home) + outside
        why, name = " and ".join(part.why for part in parts if part.turnover) or parts[-1].why, "flat rate"
        if outside:
            left_out = {"outside the scope of the tax": outside, **left_out}
    if left_out:
        why += "; left out: " + ", ".join(f"{amount.rounded()} {reason}" for reason, amount in left_out.items())
    reclaimed = total((cost.tax for cost in bought), home)
    purchases = total((cost.net for cost in bought), home)
    return TaxPeriod(
        period,
        name,
        lines,
        sales.rounded(),
        charged.rounded(),
        purchases.rounded(),
        reclaimed.rounded(),
        (charged - reclaimed).rounded(),
        why,
        country,
        tuple(counted),
    )


def reclaimable(cost: Cost, *, flat_rate: Decimal | None) -> bool:
    """Whether the tax inside a cost of a registered studio is reclaimed."""
    return scheme_gives_back(flat_rate, cost.gross, capital=cost.capital)


def _no_supply(paper: Issued, registered: bool, registered_from: date | None) -> str:
    """Why an invoice is in no box, empty where it is in one."""
    if paper.late_payment_of:
        return "interest and compensation for late payment"
    if paper.no_supply:
        return "fees for orders called off before any work"
    if not registered or (registered_from is not None and paper.tax_point < registered_from):
        return "supplied before registration" if registered else "not registered"
    return ""


_Part = tuple[Issued, str, Decimal, Money, Money]


def _parts(
    papers: Sequence[Issued],
    payments: Sequence[Payment],
    period: Period,
    accounting: str,
    performed: Mapping[str, date],
) -> list[_Part]:
    if accounting == "cash":
        return _by_payment(papers, payments, period)
    if accounting == "invoice":
        return _by_invoice(papers, period)
    early = {paper.number for paper in papers if paper.before_work}
    ahead = [paper for paper in papers if paper.number in early or paper.corrects in early]
    others = [paper for paper in papers if paper.number not in early and paper.corrects not in early]
    return _by_invoice(others, period) + _by_payment(ahead, payments, period, performed)


def _by_invoice(papers: Sequence[Issued], period: Period) -> list[_Part]:
    return [
        (paper, tax.category, tax.rate.normalize(), tax.base * paper.sign, tax.amount * paper.sign)
        for paper in papers
        if paper.tax_point in period
        for tax in paper.taxes
    ]


def _by_payment(
    papers: Sequence[Issued],
    payments: Sequence[Payment],
    period: Period,
    performed: Mapping[str, date] | None = None,
) -> list[_Part]:
    """Shares of bases and taxes that the period's payments bring, each invoice's running total up to its whole.

    A credit note lowers what can still be brought from its day on; what it takes off money that came goes back with
    the refund. performed: job -> the day from which its invoices count whole, paid or not.
    """
    invoices = {paper.number: paper for paper in papers if paper.sign > 0}
    credited: dict[str, list[Issued]] = {}
    for paper in papers:
        if paper.sign < 0:
            credited.setdefault(paper.corrects, []).append(paper)
    paid: dict[str, list[Payment]] = {}
    for payment in payments:
        paid.setdefault(payment.invoice, []).append(payment)
    parts: list[_Part] = []
    for number, invoice in invoices.items():
        notes, money = credited.get(number, []), paid.get(number, [])
        done = (performed or {}).get(invoice.job)
        before = _brought(invoice, notes, money, lambda day: day < period.first, done)
        after = _brought(invoice, notes, money, lambda day: day <= period.last, done)
        for key, (base, tax) in after.items():
            base_before, tax_before = before[key]
            if base != base_before or tax != tax_before:
                parts.append((invoice, key[0], key[1], base - base_before, tax - tax_before))
    return parts


_Brackets = dict[tuple[str, Decimal], tuple[Money, Money]]


def _brought(
    invoice: Issued,
    notes: Sequence[Issued],
    payments: Sequence[Payment],
    counts: Callable[[date], bool],
    done: date | None = None,
) -> dict[tuple[str, Decimal], tuple[Money, Money]]:
    """Base and tax per category that the payments of the days that count have brought in all; the whole once the
    work was done on a day that counts, or called off: what was paid for work that is not done bears its tax until it
    is paid back."""
    currency = invoice.currency
    wholes = {(tax.category, tax.rate.normalize()): (tax.base, tax.amount) for tax in invoice.taxes}
    off = {key: (Money(0, currency), Money(0, currency)) for key in wholes}
    for note in notes:
        if counts(note.issued_on):
            for tax in note.taxes:
                key = (tax.category, tax.rate.normalize())
                base, amount = wholes[key]
                wholes[key] = (base - tax.base, amount - tax.amount)
                off[key] = (off[key][0] + tax.base, off[key][1] + tax.amount)
    whole = total((base + tax for base, tax in wholes.values()), currency)
    got = total((payment.amount for payment in payments if counts(payment.received_on)), currency)
    if counts(min(invoice.tax_point, invoice.issued_on)):  # a deposit counts on the day it came
        got = got + (invoice.gross - invoice.due)
    # What was credited of money that came goes back with the refund, and not before.
    worked = done is not None and counts(max(done, invoice.issued_on))
    owed = wholes if worked else _share_of(wholes, got)
    back = _share_of(off, got - max(whole, Money(0, currency)))
    return {key: (owed[key][0] + back[key][0], owed[key][1] + back[key][1]) for key in wholes}


def _share_of(sums: _Brackets, got: Money) -> _Brackets:
    """What of sums with their tax some money brings; never more than all of them."""
    whole = total((base + tax for base, tax in sums.values()), got.currency)
    if got.amount <= 0 or whole.amount <= 0:
        return {key: (Money(0, got.currency), Money(0, got.currency)) for key in sums}
    if got.amount >= whole.amount:
        return sums
    share = got.amount / whole.amount
    return {key: ((base * share).rounded(), (tax * share).rounded()) for key, (base, tax) in sums.items()}
