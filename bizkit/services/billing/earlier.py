"""What was invoiced for a job before: which papers bill the quote, and the lines that take them off a later one."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.billing.lines import InvoiceLine, deduction_lines
from bizkit.domain.money import Money, decimal, percent
from bizkit.services.studio.wording import Wording

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import BillOnFile


def papers_of(work: Connection, job: str) -> list[BillOnFile]:
    """Invoices and credit notes of a job in the order issued."""
    from bizkit.store.issued import of_kind

    return [one.document for one in of_kind(work, "invoice", "credit_note", key=job)]


def earlier_for_quote(papers: Sequence[BillOnFile]) -> list[BillOnFile]:
    """Invoices of a job that bill the quote (stages, deposits, an earlier final one) and their credit notes.

    Invoices of charges alone stand for themselves, as do credit notes for which a charge stands, see `put_back`.
    """
    billing = {one["number"] for one in papers if one["kind"] == "invoice" and bills_quote(one)}
    back = {one["number"] for one in put_back(papers) if one["credits"]["number"] in billing}
    return [one for one in papers if one["number"] in billing | back]


def put_back(papers: Sequence[BillOnFile]) -> list[BillOnFile]:
    """The credit notes of a job for which no charge stands in the book.

    A lower price is a charge below zero; what a part of an invoice billed and is to be invoiced again is one too, as
    long as the invoice is not undone as a whole.
    """
    gone = undone(papers)
    return [
        one
        for one in papers
        if one["kind"] == "credit_note"
        and not one.get("lowers_price")
        and (not one.get("again") or one["credits"]["number"] in gone)
    ]


def bills_quote(invoice: BillOnFile) -> bool:
    """Whether an invoice bills the quote or a part of it, and not charges alone."""
    return bool(invoice["stage"]["position"] or invoice.get("deposit") or invoice.get("final"))


def undone(papers: Sequence[BillOnFile]) -> set[str]:
    """Numbers of the invoices that a credit note has undone, so that what they billed is open again."""
    return {str(one["credits"]["number"]) for one in papers if one["kind"] == "credit_note" and one.get("undoes")}


def tax_of_part(note: BillOnFile, part: Money) -> Money | None:
    """The tax that a credit note of one tax states of a part of its net; None where it bears several."""
    if len(note["taxes"]) != 1:
        return None
    (tax,) = note["taxes"]
    rest = Money(tax["base"], note["currency"]) - part
    return Money(tax["amount"], note["currency"]) - percent(rest, decimal(tax["rate"]))


def put_back_lines(words: Wording, note: BillOnFile, part: Money) -> list[InvoiceLine]:
    """The lines that put a part of a credit note back on a later invoice, taxed as it was."""
    bases = [Money(tax["base"], note["currency"]) for tax in note["taxes"]]
    stated = tax_of_part(note, part)
    item = words.say("lines.back_credit_note", number=note["number"], date=words.day(note["issued_on"]))
    return [
        InvoiceLine(
            item, Decimal(1), "invoice", sum_, tax["category"], decimal(tax["rate"]), tax["note"],
            source=f"credit note {note['number']}", tax=stated,
        )
        for tax, sum_ in zip(note["taxes"], part.allocate([base.amount for base in bases]), strict=True)
        if sum_
    ]  # fmt: skip


def without_undone(papers: Sequence[BillOnFile]) -> list[BillOnFile]:
    """These papers without the invoices of which credit notes among them left nothing, and without those notes."""
    left: dict[str, dict[tuple[str, str], Decimal]] = {}
    for one in papers:
        credit = one["kind"] == "credit_note"
        sums = left.setdefault(one["credits"]["number"] if credit else one["number"], {})
        for tax in one["taxes"]:
            bracket = (tax["category"], tax["rate"])
            base = Decimal(tax["base"])
            sums[bracket] = sums.get(bracket, Decimal(0)) + (-base if credit else base)
    return [one for one in papers if any(left[(one.get("credits") or one)["number"]].values())]


def less_earlier(words: Wording, earlier: Sequence[BillOnFile]) -> list[InvoiceLine]:
    """The lines that take earlier invoices off, and put their credit notes back on."""
    lines: list[InvoiceLine] = []
    for one in earlier:
        name = "lines.back_credit_note" if one["kind"] == "credit_note" else "lines.less_invoice"
        item = words.say(name, number=one["number"], date=words.day(one["issued_on"]))
        lines += deduction_lines([one], item=item.replace("{", "{{").replace("}", "}}"))
    return lines
