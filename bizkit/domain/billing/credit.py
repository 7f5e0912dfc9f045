"""Credit notes: the only way to correct an issued invoice, whole or in part, never beyond what it came to.

Source: SI 1995/2518 regulation 15C (contents); Directive 2006/112/EC article 219. The amounts of a credit note are
above zero (UNTDID 1001 code 381).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, cast

from bizkit.domain.billing.contents import check_contents
from bizkit.domain.billing.home_tax import TaxAtHome
from bizkit.domain.billing.invoice import add_up, money_members
from bizkit.domain.billing.lines import CREDIT_NOTE, INVOICE, Allowance, InvoiceLine
from bizkit.domain.billing.tax import TaxLine
from bizkit.domain.documents.reckoning import explained
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, plain, round_half_away

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.domain.documents.sales import Tax


Bracket = tuple[str, Decimal]


def left_to_credit(original: BillOnFile, credited: Sequence[BillOnFile] = ()) -> dict[Bracket, tuple[Money, Money]]:
    """Base and tax that credit notes have not taken back yet, per tax category and rate.

    credited: the earlier credit notes of this invoice. Raises RuleBroken for one of another invoice.
    """
    currency = original["currency"]
    left: dict[Bracket, tuple[Money, Money]] = {}
    for tax in original["taxes"]:
        left[_bracket(tax)] = (Money(tax["base"], currency), Money(tax["amount"], currency))
    for note in credited:
        if note["credits"]["number"] != original["number"]:
            raise RuleBroken(f"{note['number']} corrects {note['credits']['number']}, not {original['number']}")
        for tax in note["taxes"]:
            base, amount = left[_bracket(tax)]
            left[_bracket(tax)] = (
                base - Money(tax["base"], currency),
                amount - Money(tax["amount"], currency),
            )
    return left


def credit_note(
    *,
    original: BillOnFile,
    number: str,
    issued_on: date,
    reason: str,
    lines: Sequence[InvoiceLine] | None = None,
    credited: Sequence[BillOnFile] = (),
    tax_point: date | None = None,
    notes: Sequence[str] = (),
    refund: str = "",
) -> BillOnFile:
    """The frozen document of a credit note.

    lines: what is taken back, amounts above zero, taxed as on the invoice; None for all that is left. credited: the
    earlier credit notes of the same invoice. Tax is rounded per category, but never beyond what is left of the
    invoice's own, and all of it when the whole base is taken back, so that the sum can reach zero and not pass it.
    refund: the sentence on what becomes of the credit.

    Raises RuleBroken for more than is left, a credit before the invoice, a credit of a credit note; BadInput for an
    empty reason.
    """
    if original["kind"] != INVOICE:
        raise RuleBroken(f"only an invoice can be credited, {original['number']} is a {original['kind']}")
    if not reason.strip():
        raise BadInput(wanted="a reason for the credit", got="nothing", field="reason")
    invoiced_on = date.fromisoformat(original["issued_on"])
    if issued_on < invoiced_on:
        raise RuleBroken(
            f"{original['number']} was issued on {invoiced_on}: it cannot be credited on {issued_on}; give the day "
            "with --on"
        )
    currency = original["currency"]
    left = left_to_credit(original, credited)
    allowances: Sequence[Allowance] = ()
    if lines is None and not credited:
        lines, allowances = _copied(original)
    elif lines is None:
        lines = _rest(original, left)
    if not lines:
        raise RuleBroken(f"{original['number']} is credited in full already")
    name = original["taxes"][0]["name"]
    taxes, totals = add_up(lines, allowances, currency, name=name)
    taxes = tuple(_within(tax, left, original["number"]) for tax in taxes)
    tax = sum((line.amount.amount for line in taxes), Decimal(0))
    totals = totals.with_tax(Money(tax, currency))
    document: dict[str, Any] = {
        **{
            key: original[key]
            for key in (
                "language", "locale", "paper_size", "studio", "client", "job", "title", "currency", "quote",
                "purchase_order", "buyer_reference", "payment",
            )
        },
        "kind": CREDIT_NOTE,
        "number": number,
        "issued_on": issued_on.isoformat(),
        "tax_point": (tax_point or issued_on).isoformat(),
        "due_on": "",
        "supplied_from": "",
        "supplied_to": "",
        "credits": {"number": original["number"], "issued_on": original["issued_on"]},
        "reason": reason.strip(),
        "refund": refund,
        "simplified": original["simplified"],
        **money_members(lines, allowances, taxes, totals),
        "tax_in": _at_home(original, totals.tax),
        "income": _income(original, totals.net),
        "licence_sentences": [],
        "notes": list(notes),
    }  # fmt: skip
    made = cast("BillOnFile", document)
    check_contents(made, simplified=bool(original.get("simplified")))
    return made


def _bracket(tax: Tax) -> Bracket:
    return tax["category"], decimal(tax["rate"]).normalize()


def _notes(original: BillOnFile) -> dict[str, str]:
    return {tax["category"]: tax["note"] for tax in original["taxes"]}


def _copied(original: BillOnFile) -> tuple[list[InvoiceLine], list[Allowance]]:
    """Lines and allowances of the invoice as they stand."""
    currency, notes = original["currency"], _notes(original)
    lines = [
        InvoiceLine(
            line["item"],
            decimal(line["quantity"]),
            line["unit"],
            Money(line["rate"], currency),
            line["category"],
            decimal(line["tax_rate"]),
            notes.get(line["category"], ""),
            line["why"],
            line.get("section", ""),
            line.get("source", ""),
            Money(line["amount"], currency),
        )
        for line in explained(original)
    ]
    allowances = [
        Allowance(
            part["reason"],
            Money(part["amount"], currency),
            part["category"],
            decimal(part["tax_rate"]),
            notes.get(part["category"], ""),
        )
        for part in original["allowances"]
    ]
    return lines, allowances


def _rest(original: BillOnFile, left: Mapping[Bracket, tuple[Money, Money]]) -> list[InvoiceLine]:
    """One line per category and rate with what is left."""
    notes = _notes(original)
    return [
        InvoiceLine(
            original["title"] or original["number"],
            Decimal(1),
            "invoice",
            base,
            category,
            rate,
            notes.get(category, ""),
            source=f"invoice {original['number']}",
        )
        for (category, rate), (base, _) in left.items()
        if base.amount > 0
    ]


def _within(tax: TaxLine, left: Mapping[Bracket, tuple[Money, Money]], number: str) -> TaxLine:
    """The tax line held within what is left of the invoice. Raises RuleBroken when its base is more."""
    bracket = (tax.category, tax.rate.normalize())
    if bracket not in left:
        raise RuleBroken(
            f"{number} has nothing taxed as {tax.category} at {plain(tax.rate)} %: credit it as it was taxed"
        )
    base, amount = left[bracket]
    if tax.base == base:
        return TaxLine(tax.category, tax.name, tax.rate, base, amount, tax.note)
    if tax.base.amount <= 0:
        raise RuleBroken(f"a credit note takes back an amount above zero, not {tax.base}")
    if tax.base > base:
        raise RuleBroken(
            f"{number} has {base} without tax left to credit at {plain(tax.rate)} %, not {tax.base}: "
            "credit less, or issue a new invoice"
        )
    taken = min(tax.amount.amount, amount.amount)
    return TaxLine(tax.category, tax.name, tax.rate, tax.base, Money(taken, base.currency), tax.note)


def _at_home(original: BillOnFile, tax: Money) -> dict[str, str] | None:
    """The credited tax in the tax office's money, at the rate of the invoice it corrects."""
    home = original.get("tax_in")
    if not home:
        return None
    rate = decimal(home["rate"])
    digits = Money(0, home["currency"]).text.partition(".")[2]
    amount = Money(round_half_away(tax.amount * rate, len(digits)), home["currency"])
    return TaxAtHome(amount, rate, home["source"], date.fromisoformat(home["on"])).data()


def _income(original: BillOnFile, net: Money) -> dict[str, str]:
    """The credited net by kind of income, in proportion to the invoice's own, and just that of a whole invoice."""
    if net.text == original.get("net"):
        return dict(original.get("income", {}))
    shares = {section: decimal(amount) for section, amount in original.get("income", {}).items()}
    weights = {section: amount for section, amount in shares.items() if amount > 0}
    if not weights:
        return {}
    parts = net.allocate(list(weights.values()))
    return {section: part.text for section, part in zip(weights, parts, strict=True) if part}
