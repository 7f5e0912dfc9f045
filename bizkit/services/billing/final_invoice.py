"""The final invoice: everything that was quoted and agreed, less every invoice before."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.invoice import add_up
from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.billing.tax_point import BY_PERFORMANCE
from bizkit.domain.documents.reckoning import explained
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, decimal, total
from bizkit.services.billing.agreed import check_agreed
from bizkit.services.billing.charge_invoice import charge_line
from bizkit.services.billing.deposits import Left, deposits_left
from bizkit.services.billing.earlier import (
    bills_quote,
    earlier_for_quote,
    less_earlier,
    papers_of,
    put_back_lines,
    tax_of_part,
    without_undone,
)
from bizkit.services.billing.issuing import Asked, Billed, begin, quoted_by_section, send_out
from bizkit.services.billing.open_again import AGAIN
from bizkit.services.billing.said_of_tax import advances, preceding, told_of_advances
from bizkit.services.billing.supplied import supplied
from bizkit.services.job.called_off import refuse_cancelled
from bizkit.services.job.charges import OPEN, charge_rows, of_charge
from bizkit.services.job.jobs import quote_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile, QuoteOnFile
    from bizkit.domain.documents.sales import Tax
    from bizkit.services.billing.bill_made import BillMade


def issue_final(folder: StudioFolder, job: str, on: date, *, asked: Asked = Asked()) -> BillMade:
    """Issue the final invoice of a job: the quote's lines, the open charges, less what was invoiced for the quote.

    Credit notes of those invoices are added back: they put right what was billed wrongly, a lower price is a change
    agreed with the client. Every stage counts as billed afterwards. Raises RuleBroken when nothing is left, or when
    more was invoiced than is owed.
    """
    from bizkit.store.charges import set_charge_invoice
    from bizkit.store.jobs import set_stage_invoice, stages

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        billed = begin(folder, work, stamp, job, asked)
        refuse_cancelled(work, billed.key)
        quote = quote_of(work, billed.job)
        papers = papers_of(work, billed.key)
        earlier = earlier_for_quote(papers)
        finals = {one["number"] for one in earlier if one.get("final")}
        charges = charge_rows(work, billed.key)
        waiting = [one for one in charges if one["state"] == OPEN]
        check_agreed(work, stamp, billed.job, waiting, asked.agreed)
        unfinished = _unfinished(billed)
        _refuse_half_taxed(billed, earlier)
        source = f"quote {quote.number} revision {quote.revision}"
        lines = _lines(billed, quote.document, earlier, source)
        lines += [charge_line(one, billed) for one in charges if one in waiting or one["invoice"] in finals]
        again = _billed_again(billed, papers, finals)
        lines += [line for one in again for line in one.lines]
        net = total((line.amount for line in lines), billed.currency)
        if net.amount < 0:
            raise RuleBroken(
                f"{billed.key}: {-net} more was invoiced than is owed: credit it with bizkit invoice credit, or "
                f"what charges give back with bizkit invoice settle {billed.key}"
            )
        if not net and not waiting and not [one for one in stages(work, billed.key) if not one.invoice]:
            raise RuleBroken(f"{billed.key}: everything is invoiced, nothing is left for a final invoice")
        _, sums = add_up(lines, (), billed.currency, name=folder.studio.tax.name)
        off = {one["number"] for one in earlier} | {one.invoice["number"] for one in again}
        named = [one for one in papers if one["number"] in off or one.get("credits", {}).get("number") in off]
        before = None
        if folder.studio.country in BY_PERFORMANCE:
            parts = {
                one.invoice["number"]: [each.taken for each in again if each.invoice is one.invoice] for one in again
            }
            before = advances(
                work, billed.key, sums, [one for one in named if one["kind"] == "invoice"], named, parts
            )
        made = send_out(
            billed,
            lines,
            stage={"position": 0, "title": "Final", "reason": asked.reason},
            quoted=quoted_by_section(quote.document),
            licence_sentences=(billed.job.licence or {}).get("sentences", ()),
            notes=told_of_advances(billed.words, before, billed.currency, billed.how.name) if before else (),
            more={
                "charges": [one["id"] for one in waiting],
                "final": {"deducts": [one["number"] for one in earlier]},
                "preceding": preceding(named),
                "advances": before,
                "deducts": [
                    {"number": one["number"], "net": left.net.text} for one, left in deposits_left(work, billed.key)
                ],
            },
        )
        for stage in stages(work, billed.key):
            if not stage.invoice:
                set_stage_invoice(work, billed.key, stage.position, made.document["number"])
        for one in waiting:
            set_charge_invoice(work, one["id"], made.document["number"])
        made = replace(made, warnings=(*made.warnings, *unfinished))
    made.write()
    return made.data()


def _unfinished(billed: Billed) -> tuple[str, ...]:
    """What to look at where all that is left is billed before the work is done, without a word why.

    Raises RuleBroken then where the country asks a final invoice to say when the work was done (UStG § 14 Abs. 4
    Nr. 6): with a reason it is one more invoice in advance.
    """
    on = billed.stamp.on
    if billed.asked.reason.strip() or supplied(billed.work, billed.key, on) is not None:
        return ()
    if billed.folder.studio.country in BY_PERFORMANCE:
        raise RuleBroken(
            f"{billed.key}: the work is not done, not every deliverable is approved by {on}: a final "
            "invoice says when it was (UStG § 14 Abs. 4 Nr. 6). Approve the last with bizkit deliverable approve "
            f"{billed.key}, bill the next stage with bizkit invoice issue {billed.key}, or say --reason to bill the "
            "rest in advance"
        )
    return (
        f"it bills all that is left, and not every deliverable is approved by {on}: if that was a slip, credit it "
        "and bill the stage that is due",
    )


def _refuse_half_taxed(billed: Billed, earlier: Sequence[BillOnFile]) -> None:
    """What is done after registration bears the tax in full, also where a part of it was billed before as exempt
    (UStG § 27 Abs. 1 Satz 2 and 3, from memory). Raises RuleBroken: --reason says why tax is added at all, and is no
    adviser's word that only the rest bears it."""
    untaxed = [
        one["number"]
        for one in without_undone(earlier)
        if one["kind"] == "invoice" and {tax["category"] for tax in one["taxes"]} == {"E"}
    ]
    if not (untaxed and billed.how.rate):
        return
    if billed.folder.studio.country in BY_PERFORMANCE:
        raise RuleBroken(
            f"{billed.key}: the work was done on {billed.point.on}, when the studio is registered, and bears the "
            f"tax in full; {', '.join(untaxed)} billed a part of it without (UStG § 27 Abs. 1): credit "
            f"{'it' if len(untaxed) == 1 else 'them'} with bizkit invoice credit {untaxed[0]} --reason, then --final "
            f"bills all of it with tax. Where your tax adviser says that only the rest bears it, bill that as the "
            f"next stage: bizkit invoice issue {billed.key}"
        )


def _lines(billed: Billed, quote: QuoteOnFile, earlier: Sequence[BillOnFile], source: str) -> list[InvoiceLine]:
    """The quote's lines less the earlier invoices; one line for the rest where those were taxed otherwise."""
    currency = billed.currency
    bracket = (billed.how.category, billed.how.rate.normalize())
    if any(_bracket(tax) != bracket for one in earlier for tax in one["taxes"]):
        earlier = without_undone(earlier)
    taxed = {_bracket(tax) for one in earlier for tax in one["taxes"]}
    net = Money(quote["net"], currency)
    if taxed - {bracket}:
        gone = total(
            (Money(one["net"], currency) * (-1 if one["kind"] == "credit_note" else 1) for one in earlier), currency
        )
        if not net - gone:
            return []
        words = billed.words
        item = words.say("lines.rest", title=billed.job.title, quote=quote["number"])
        rest = net - gone
        sign, amount = (1, rest) if rest.amount > 0 else (-1, -rest)
        return [InvoiceLine.under(billed.how, item, sign, "flat", amount, source=source)]
    lines = [_quote_line(billed, line, source) for line in explained(quote) if Money(line["amount"], currency)]
    return lines + less_earlier(billed.words, earlier)


@dataclass(frozen=True, slots=True)
class BilledAgain:
    """A part of an earlier invoice that was credited and billed again.

    lines: both, which come to nothing together; none where it was taxed otherwise, as the paper then has one line for
    the rest. invoice: the one that billed it again. taken: what of that one is so taken off, net and tax.
    """

    lines: tuple[InvoiceLine, ...]
    invoice: BillOnFile
    taken: Left


def _billed_again(billed: Billed, papers: Sequence[BillOnFile], finals: Collection[str]) -> list[BilledAgain]:
    """What of earlier invoices was credited and billed again.

    Without them the paper would take an invoice off of which nothing is left, and not the one that stands for it.
    """
    from bizkit.store.charges import charges

    by_number = {one["number"]: one for one in papers}
    found: list[BilledAgain] = []
    for row in charges(billed.work, billed.key):
        note = by_number.get(row.source.removeprefix("credit note "))
        again = row.kind == AGAIN and not of_charge(row) and row.invoice and row.invoice not in finals
        if note is None or not again or row.invoice not in by_number or len(note["taxes"]) != 1:
            continue
        if not bills_quote(by_number[note["credits"]["number"]]):
            continue
        part, other = Money(row.amount.text, billed.currency), by_number[row.invoice]
        back = put_back_lines(billed.words, note, part)
        item = billed.words.say(
            "lines.less_invoice", number=other["number"], date=billed.words.day(other["issued_on"])
        )
        tax = tax_of_part(note, part) or Money(0, billed.currency)
        less = [replace(line, item=item, quantity=-line.quantity, tax=-tax) for line in back]
        alike = _bracket(note["taxes"][0]) == (billed.how.category, billed.how.rate.normalize())
        found.append(BilledAgain((*back, *less) if alike else (), other, Left(part, tax)))
    return found


def _bracket(tax: Tax) -> tuple[str, Decimal]:
    return tax["category"], decimal(tax["rate"]).normalize()


def _quote_line(billed: Billed, line: Mapping[str, str], source: str) -> InvoiceLine:
    """A line of the quote on the invoice. What takes something off has no section: it lowers them all."""
    quantity, rate = Decimal(line["quantity"]), Money(line["rate"], billed.currency)
    amount = Money(line["amount"], billed.currency)
    if rate.amount < 0:
        quantity, rate = -quantity, -rate
    if not rate or not quantity:
        quantity, rate = Decimal(1 if amount.amount > 0 else -1), Money(abs(amount.amount), billed.currency)
    return InvoiceLine.under(
        billed.how,
        line["item"],
        quantity,
        line["unit"],
        rate,
        why=line["why"],
        section=line["section"] if amount.amount > 0 else "",
        source=source,
        fixed=amount,
    )
