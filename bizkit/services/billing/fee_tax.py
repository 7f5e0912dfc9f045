"""Whether the fee of a cancelled job bears the tax: pay for a service, or damages, which are no supply.

In Germany the fee for an order called off before any work is damages (BFH 30.6.2010, XI R 22/08; § 648 BGB); once
work was begun what is owed all the same is pay (CJEU C-622/23 of 28.11.2024). In the United Kingdom every such fee is
pay (HMRC Brief 2/2022). All from memory: where your adviser says otherwise, `cancelling_fee` under [tax] of
studio.toml or --fee-tax decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.billing.tax import TaxTreatment
from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.registrations import FEE_TAX, TAXED, UNTAXED
from bizkit.services.billing.balances import find_invoice
from bizkit.services.billing.earlier import bills_quote, papers_of, without_undone
from bizkit.services.billing.issuing import Asked, Billed
from bizkit.services.billing.open_again import AGAIN, charges_of_lines
from bizkit.services.job.charges import of_charge
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.charges import Charge

Row = Mapping[str, Any]

#: Rules of charges that show that work was begun.
_WORKED: Final = ("cancellation.worked_day", "cancellation.post_done", "cancellation.hold_day")
#: What a document says it is that bills such damages.
NO_SUPPLY: Final = "cancelling fee"


@dataclass(frozen=True, slots=True)
class FeeTax:
    """How the invoice of a fee is taxed. members: further ones of its document. warnings: what to look at again.
    fallen: ids of charges for parts of the quote to be invoiced again, which it closes: they fell away with it."""

    how: TaxTreatment
    members: Mapping[str, str]
    warnings: tuple[str, ...]
    fallen: frozenset[int] = frozenset()


def fee_tax(billed: Billed, charges: Sequence[Row]) -> FeeTax:
    """How these charges are taxed. Raises RuleBroken as `refuse_taxed_before`, and for a fee that bears no tax
    beside charges that do (EN 16931 BR-O-11)."""
    folder, how = billed.folder, billed.how
    fee = _fee(charges)
    if not fee or not _asks(folder, billed.stamp.on.isoformat(), billed.asked):
        return FeeTax(how, {}, ())
    if not _untaxed(folder, fee, billed.asked):
        why = "work was begun (CJEU C-622/23)" if _begun(fee) else "so it is set"
        told = f"the fee bears {how.name} as pay, as {why}: ask your adviser; --fee-tax {UNTAXED} bills it as damages"
        return FeeTax(how, {}, (told,) if how.rate and folder.studio.country == "DE" else ())
    refuse_taxed_before(folder, billed.work, billed.key, charges, billed.stamp.on.isoformat(), billed.asked)
    fallen = frozenset(row.id for row in _again_of_quote(billed.work, billed.key) if not row.invoice)
    others = [str(one["id"]) for one in charges if one not in fee and one["id"] not in fallen]
    if others:
        raise RuleBroken(
            f"{billed.key}: the fee bears no {how.name}, charge {', '.join(others)} does, and one invoice cannot "
            "hold both (EN 16931 BR-O-11): give them up with bizkit charge waive, or bill all with --fee-tax taxed"
        )
    note = billed.words.say("lines.cancelled_outside", tax=how.name)
    rule = "a fee for a job called off before any work is damages and no supply (BFH XI R 22/08)"
    told = (
        f"the fee bears no {how.name}, as no work was begun and it is damages (BFH XI R 22/08): ask your adviser; "
        f"--fee-tax {TAXED}, or cancelling_fee under [tax] in studio.toml, bills it with tax"
    )
    return FeeTax(TaxTreatment("O", how.name, Decimal(0), note, rule), {"no_supply": NO_SUPPLY}, (told,), fallen)


def refuse_taxed_before(
    folder: StudioFolder, work: Connection, job: str, charges: Sequence[Row], on: str, asked: Asked
) -> None:
    """Refuse to set a fee that is no supply against invoices for work that is not done now: they are undone first.

    Raises RuleBroken.
    """
    fee = _fee(charges)
    if not fee or not _asks(folder, on, asked) or not _untaxed(folder, fee, asked):
        return
    before = [
        one["number"] for one in without_undone(papers_of(work, job)) if one["kind"] == "invoice" and bills_quote(one)
    ]
    if before:
        raise RuleBroken(
            f"{job}: the fee is damages and no supply (BFH XI R 22/08), {', '.join(before)} billed work that is not "
            f"done now: credit {'it' if len(before) == 1 else 'them'} whole, with bizkit invoice credit {before[0]} "
            f"--reason WHY, then settle; what was paid on it can be set against the fee. Or say --fee-tax {TAXED}"
        )
    for row in _again_of_quote(work, job):
        if not row.invoice:
            continue
        lines = charges_of_lines(work, find_invoice(work, row.invoice))
        place = next((place for place, each in lines.items() if each.id == row.id), 1)
        raise RuleBroken(
            f"{job}: the fee is damages and no supply (BFH XI R 22/08), {row.invoice} billed again what was credited "
            f"of work that is not done now: credit its line {place}, with bizkit invoice credit {row.invoice} "
            f"--line {place} --reason WHY, then settle. Or say --fee-tax {TAXED}"
        )


def _again_of_quote(work: Connection, job: str) -> list[Charge]:
    """What credit notes left of invoices of the quote to be invoiced again, billed again or not."""
    from bizkit.store.charges import charges

    papers = papers_of(work, job)
    quoted = {one["number"] for one in papers if one["kind"] == "invoice" and bills_quote(one)}
    notes = {
        f"credit note {one['number']}" for one in papers if "credits" in one and one["credits"]["number"] in quoted
    }
    return [
        row
        for row in charges(work, job)
        if row.kind == AGAIN and row.source in notes and not of_charge(row) and not row.waived
    ]


def _asks(folder: StudioFolder, on: str, asked: Asked) -> bool:
    """Whether the question is there at all: a studio that charges the tax. Raises NotFound for a wrong word."""
    from datetime import date

    if asked.fee_tax and asked.fee_tax not in FEE_TAX:
        raise NotFound("way to tax the fee", asked.fee_tax, FEE_TAX, field="--fee-tax")
    return folder.studio.tax.registered_on(date.fromisoformat(on))


def _fee(charges: Sequence[Row]) -> list[Row]:
    return [one for one in charges if one["kind"] == "cancellation"]


def _begun(fee: Sequence[Row]) -> bool:
    return any(one["working"]["rule"] in _WORKED for one in fee)


def _untaxed(folder: StudioFolder, fee: Sequence[Row], asked: Asked) -> bool:
    said = asked.fee_tax or folder.studio.tax.cancelling_fee
    return said == UNTAXED if said else folder.studio.country == "DE" and not _begun(fee)
