"""The final invoice: everything that was quoted and agreed, less every invoice before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.documents.reckoning import explained
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, decimal, total
from bizkit.services.billing.agreed import check_agreed
from bizkit.services.billing.charge_invoice import charge_line
from bizkit.services.billing.deposits import deposits_left
from bizkit.services.billing.earlier import earlier_for_quote, less_earlier, papers_of
from bizkit.services.billing.issuing import Asked, Billed, begin, quoted_by_section, send_out
from bizkit.services.job.called_off import refuse_cancelled
from bizkit.services.job.charges import OPEN, charge_rows
from bizkit.services.job.jobs import quote_of
from bizkit.services.studio.studio_folder import StudioFolder

Document = Mapping[str, Any]


def issue_final(folder: StudioFolder, job: str, on: date, *, asked: Asked = Asked()) -> dict[str, Any]:
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
        earlier = earlier_for_quote(papers_of(work, billed.key))
        finals = {one["number"] for one in earlier if one.get("final")}
        charges = charge_rows(work, billed.key)
        waiting = [one for one in charges if one["state"] == OPEN]
        check_agreed(work, stamp, billed.job, waiting, asked.agreed)
        source = f"quote {quote.number} revision {quote.revision}"
        lines = _lines(billed, quote.document, earlier, source)
        lines += [charge_line(one, billed) for one in charges if one in waiting or one["invoice"] in finals]
        net = total((line.amount for line in lines), billed.currency)
        if net.amount < 0:
            raise RuleBroken(
                f"{billed.key}: {-net} more was invoiced than is owed: credit it with bizkit invoice credit, or "
                f"what charges give back with bizkit invoice settle {billed.key}"
            )
        if not net and not waiting and not [one for one in stages(work, billed.key) if not one.invoice]:
            raise RuleBroken(f"{billed.key}: everything is invoiced, nothing is left for a final invoice")
        made = send_out(
            billed,
            lines,
            stage={"position": 0, "title": "Final", "reason": asked.reason},
            quoted=quoted_by_section(quote.document),
            licence_sentences=(billed.job.licence or {}).get("sentences", ()),
            more={
                "charges": [one["id"] for one in waiting],
                "final": {"deducts": [one["number"] for one in earlier]},
                "deducts": [
                    {"number": one["number"], "net": left.text} for one, left in deposits_left(work, billed.key)
                ],
            },
        )
        for stage in stages(work, billed.key):
            if not stage.invoice:
                set_stage_invoice(work, billed.key, stage.position, made.document["number"])
        for one in waiting:
            set_charge_invoice(work, one["id"], made.document["number"])
    made.write()
    return made.data()


def _lines(billed: Billed, quote: Document, earlier: Sequence[Document], source: str) -> list[InvoiceLine]:
    """The quote's lines less the earlier invoices; one line for the rest where those were taxed otherwise."""
    currency = billed.currency
    bracket = (billed.how.category, billed.how.rate.normalize())
    taxed = {(tax["category"], decimal(tax["rate"]).normalize()) for one in earlier for tax in one["taxes"]}
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
