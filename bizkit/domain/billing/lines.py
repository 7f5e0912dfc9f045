"""What stands on an invoice: lines, allowances, and the lines that stages and earlier invoices make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from bizkit.domain.billing.plan import StageAmount
from bizkit.domain.billing.tax import TaxTreatment
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, decimal, plain

#: Documents that look like an invoice. A pro forma has no number of the series and is no tax invoice.
INVOICE: Final = "invoice"
CREDIT_NOTE: Final = "credit_note"
PRO_FORMA: Final = "pro_forma"


@dataclass(frozen=True, slots=True)
class InvoiceLine:
    """One line. rate: per unit, exact, without tax. fixed: its amount where that is not quantity x rate.

    category, tax_rate, note: how it is taxed (see `TaxTreatment`). section: what kind of income it is, one of the
    estimate's sections, empty where several are mixed (then the invoice's `income` says how). source: the record it
    comes from ("quote Q-2027-0001 rev 1", "round 3 of cut-60"), for the person who asks why. tax: its tax where that
    is stated elsewhere (see `tax.tax_of_parts`), below zero where it is taken off.
    """

    item: str
    quantity: Decimal
    unit: str
    rate: Money
    category: str
    tax_rate: Decimal
    note: str = ""
    why: str = ""
    section: str = ""
    source: str = ""
    fixed: Money | None = None
    tax: Money | None = None

    def __post_init__(self) -> None:
        if not self.item.strip():
            raise BadInput(wanted="what the line is for", got="nothing", field="item")
        if self.quantity == 0:
            raise BadInput(wanted="a quantity other than zero", got=0, field=f"{self.item}: quantity")
        if self.rate.amount < 0:
            raise BadInput(
                wanted="a unit price of zero or more (EN 16931 BR-27)",
                got=self.rate,
                field=f"{self.item}: rate",
                hint="Take something off by a negative quantity or an allowance",
            )

    @property
    def amount(self) -> Money:
        """The line's amount without tax, rounded once."""
        return (self.rate * self.quantity if self.fixed is None else self.fixed).rounded()

    @classmethod
    def under(
        cls, how: TaxTreatment, item: str, quantity: Decimal | int, unit: str, rate: Money, **more: Any
    ) -> InvoiceLine:
        """A line taxed as the treatment says."""
        return cls(item, decimal(quantity), unit, rate, how.category, how.rate, how.note, **more)

    def data(self) -> dict[str, str]:
        """The entry of a document's `lines`."""
        return {
            "item": self.item,
            "quantity": plain(self.quantity),
            "unit": self.unit,
            "rate": self.rate.text,
            "amount": self.amount.text,
            "category": self.category,
            "tax_rate": plain(self.tax_rate),
            "why": self.why,
            "section": self.section,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Allowance:
    """Something off the sum of the lines (above zero), with the tax of the part it is taken off."""

    reason: str
    amount: Money
    category: str
    tax_rate: Decimal
    note: str = ""

    def __post_init__(self) -> None:
        if not self.reason.strip():
            raise BadInput(
                wanted="a reason for the allowance (EN 16931 BR-33)", got="nothing", field="allowances.reason"
            )
        if self.amount.amount <= 0:
            raise BadInput(wanted="an allowance above zero", got=self.amount, field="allowances.amount")

    def data(self) -> dict[str, str]:
        """The entry of a document's `allowances`."""
        return {
            "reason": self.reason,
            "amount": self.amount.rounded().text,
            "category": self.category,
            "tax_rate": plain(self.tax_rate),
        }


def stage_lines(stage: StageAmount, *, item: str, source: str, notes: Mapping[str, str]) -> tuple[InvoiceLine, ...]:
    """The lines of a deposit or stage invoice: one per tax category and rate.

    item: what is printed ("On acceptance: 50 % of Follow the Kelp"). notes: wording per category without tax.
    """
    return tuple(
        InvoiceLine(item, Decimal(1), "stage", amount, category, rate, notes.get(category, ""), source=source)
        for (category, rate), amount in stage.nets
    )


def deduction_lines(
    earlier: Sequence[Mapping[str, Any]], *, item: str = "Less invoice {number} of {issued_on}"
) -> tuple[InvoiceLine, ...]:
    """Lines that take earlier invoices (and add back their credit notes) off a final invoice, per category and rate,
    each with the tax that it states.

    earlier: documents of the same job and currency. A unit price may not be negative, so the quantity is.
    """
    lines = []
    for document in earlier:
        sign = 1 if document["kind"] == CREDIT_NOTE else -1
        for tax in document["taxes"]:
            base, amount = Money(tax["base"], document["currency"]), Money(tax["amount"], document["currency"])
            if not (base or amount):
                continue
            lines.append(
                InvoiceLine(
                    item.format(number=document["number"], issued_on=document["issued_on"]),
                    Decimal(sign if base.amount > 0 else -sign),
                    "invoice",
                    base if base.amount > 0 else -base,
                    tax["category"],
                    decimal(tax["rate"]),
                    tax["note"],
                    source=f"{document['kind'].replace('_', ' ')} {document['number']}",
                    tax=amount * sign,
                )
            )
    return tuple(lines)


def income_split(lines: Sequence[InvoiceLine], net: Money, quoted: Mapping[str, Money]) -> dict[str, Money]:
    """The net of an invoice by kind of income, adding up to it exactly.

    Lines with a section count there; the rest (stage lines, allowances) is shared in proportion to the quote's own
    sections (`quoted`, those above zero), else to those of the lines, else it is "other".
    """
    result: dict[str, Money] = {}
    rest = net
    for line in lines:
        if line.section:
            result[line.section] = result.get(line.section, Money(0, net.currency)) + line.amount
            rest = rest - line.amount
    shares = {section: amount for section, amount in (quoted or result).items() if amount.amount > 0}
    if not shares:
        shares = {"other": Money(1, net.currency)}
    if rest:
        parts = rest.rounded().allocate([amount.amount for amount in shares.values()])
        for section, part in zip(shares, parts, strict=True):
            result[section] = result.get(section, Money(0, net.currency)) + part
    return {section: amount for section, amount in result.items() if amount}
