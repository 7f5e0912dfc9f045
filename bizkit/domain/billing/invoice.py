"""Invoices as documents: lines and parties in, the frozen JSON out.

The document is what is stored, hashed, printed and turned into XML; nothing is worked out again from anything else.
All amounts are text, rounded to the minor unit; rates and quantities are exact text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from bizkit.domain.billing.contents import check_contents
from bizkit.domain.billing.home_tax import TaxAtHome
from bizkit.domain.billing.lines import INVOICE, PRO_FORMA, Allowance, InvoiceLine
from bizkit.domain.billing.tax import Taxed, TaxLine, tax_lines, tax_total
from bizkit.domain.documents.reckoning import kept_apart
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, plain, total
from bizkit.domain.parties import Client, Studio

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of an invoice, each rounded: lines less allowances is net; net and tax is gross; less prepaid is due."""

    lines: Money
    allowances: Money
    net: Money
    tax: Money
    gross: Money
    prepaid: Money
    rounding: Money
    due: Money

    def with_tax(self, tax: Money) -> Totals:
        """The same with another tax, where a credit note takes back the last penny."""
        gross = self.net + tax
        return replace(self, tax=tax, gross=gross, due=gross - self.prepaid + self.rounding)


def invoice_document(
    *,
    number: str,
    issued_on: date,
    tax_point: date,
    due_on: date,
    studio: Studio,
    client: Client,
    lines: Sequence[InvoiceLine],
    currency: str,
    terms: str,
    allowances: Sequence[Allowance] = (),
    prepaid: Money | None = None,
    rounding: Money | None = None,
    kind: str = INVOICE,
    job: str = "",
    title: str = "",
    quote: Mapping[str, Any] | None = None,
    purchase_order: str = "",
    reference: str = "",
    licence_sentences: Sequence[str] = (),
    notes: Sequence[str] = (),
    tax_at_home: TaxAtHome | None = None,
    income: Mapping[str, Money] | None = None,
    supplied_from: date | None = None,
    supplied_to: date | None = None,
    language: str = "",
    locale: str = "",
    paper_size: str = "",
    logo_sha256: str = "",
    simplified: bool = False,
) -> BillOnFile:
    """The frozen document of an invoice or pro forma, checked for what the law wants it to say.

    due_on and supplied_to are inclusive. prepaid: paid before issue, zero or more. rounding: added to what is due (to
    whole five cents, say). reference: what the client should quote when paying; the number, or the job, where empty.
    quote: `number`, `revision`, `accepted_on`. income: see `income_split`.

    Raises RuleBroken for missing contents, a mix of currencies or taxes that may not be, a due date before issue,
    more prepaid than the gross, a total below zero (that is a credit note).
    """
    if kind == PRO_FORMA and number:
        raise RuleBroken(f"a pro forma takes no number of the invoice series, got {number}")
    if due_on < issued_on:
        raise RuleBroken(f"the invoice is issued on {issued_on} and cannot be due before, on {due_on}")
    if (supplied_from is None) != (supplied_to is None) or (
        supplied_from and supplied_to and supplied_to < supplied_from
    ):
        raise BadInput(
            wanted="the first and the last day of supply", got=f"{supplied_from} to {supplied_to}", field="supplied"
        )
    taxes, totals = add_up(lines, allowances, currency, prepaid, rounding, name=studio.tax.name)
    if totals.net.amount < 0 or totals.gross.amount < 0:
        raise RuleBroken(f"the invoice comes to {totals.gross}: less than nothing is a credit note")
    if totals.due.amount < 0:
        raise RuleBroken(
            f"{totals.prepaid} was prepaid, more than the gross of {totals.gross}: refund the rest first"
        )
    document: dict[str, Any] = {
        "kind": kind,
        "number": number,
        "issued_on": issued_on.isoformat(),
        "tax_point": tax_point.isoformat(),
        "due_on": due_on.isoformat(),
        "supplied_from": supplied_from.isoformat() if supplied_from else "",
        "supplied_to": supplied_to.isoformat() if supplied_to else "",
        "language": language or client.language or studio.language,
        "locale": locale or client.locale or studio.locale,
        "paper_size": paper_size or studio.paper_size,
        "studio": studio.data(issued_on, logo_sha256=logo_sha256),
        "client": client.data(),
        "job": job,
        "title": title,
        "currency": currency,
        "quote": dict(quote) if quote else None,
        "purchase_order": purchase_order or client.purchase_order,
        "buyer_reference": client.buyer_reference,
        "simplified": simplified,
        **money_members(lines, allowances, taxes, totals),
        "tax_in": tax_at_home.data() if tax_at_home else None,
        "income": {section: amount.text for section, amount in (income or {}).items()},
        "payment": {
            "terms": terms,
            "account_name": studio.bank.account_name or studio.name,
            **studio.bank.numbers(),
            "reference": reference or number or job,
        },
        "licence_sentences": list(licence_sentences),
        "notes": list(notes),
    }
    if income and total(income.values(), currency) != totals.net:
        raise RuleBroken(f"income by kind adds up to {total(income.values(), currency)}, the net is {totals.net}")
    made = cast("BillOnFile", document)
    if kind != PRO_FORMA:
        check_contents(made, simplified=simplified)
    return made


def add_up(
    lines: Sequence[InvoiceLine],
    allowances: Sequence[Allowance],
    currency: str,
    prepaid: Money | None = None,
    rounding: Money | None = None,
    *,
    name: str,
) -> tuple[tuple[TaxLine, ...], Totals]:
    """Tax lines and sums of an invoice or credit note."""
    if not lines:
        raise RuleBroken("an invoice has at least one line (EN 16931 BR-16)")
    taxed: Iterable[Taxed] = [
        *(Taxed(line.category, line.tax_rate, line.amount, line.note, line.tax) for line in lines),
        *(Taxed(part.category, part.tax_rate, -part.amount.rounded(), part.note) for part in allowances),
    ]
    bearing = {(line.category, line.tax_rate.normalize()) for line in lines}
    for part in allowances:
        if (part.category, part.tax_rate.normalize()) not in bearing:
            raise RuleBroken(
                f"{part.reason}: no line bears tax {part.category} at {plain(part.tax_rate)} % to take it off"
            )
    taxes = tax_lines(taxed, currency, name=name)
    sum_lines = total((line.amount for line in lines), currency)
    sum_allowances = total((part.amount.rounded() for part in allowances), currency)
    net = sum_lines - sum_allowances
    tax = tax_total(taxes, currency)
    before = prepaid or Money(0, currency)
    if before.amount < 0:
        raise BadInput(wanted="zero or more prepaid", got=before, field="prepaid")
    extra = rounding or Money(0, currency)
    gross = net + tax
    return taxes, Totals(
        sum_lines, sum_allowances, net.rounded(), tax, gross.rounded(), before.rounded(), extra.rounded(),
        (gross - before + extra).rounded(),
    )  # fmt: skip


def money_members(
    lines: Sequence[InvoiceLine], allowances: Sequence[Allowance], taxes: Sequence[TaxLine], totals: Totals
) -> dict[str, Any]:
    """The money members of a document."""
    return {
        **kept_apart([line.data() for line in lines]),
        "allowances": [part.data() for part in allowances],
        "net": totals.net.text,
        "taxes": [tax.data() for tax in taxes],
        "tax": totals.tax.text,
        "gross": totals.gross.text,
        "prepaid": totals.prepaid.text,
        "rounding": totals.rounding.text,
        "due": totals.due.text,
    }
