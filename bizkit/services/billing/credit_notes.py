"""Credit notes: an issued invoice put right, whole or in part, never beyond what it came to.

A credit note either undoes what was billed wrongly - then it is left to invoice again, see `open_again` - or lowers
the price, which is a change agreed with the client and is kept as one, or it gives back what was invoiced beyond what
is owed by now.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Final, TypedDict

from bizkit.domain.billing.credit import credit_note, left_to_credit
from bizkit.domain.billing.credited_lines import (
    income_of_lines,
    left_of_lines,
    lines_left,
    shares_of_lines,
    taken_line,
)
from bizkit.domain.billing.lines import CREDIT_NOTE, InvoiceLine
from bizkit.domain.billing.payment import OVERPAID, Balance
from bizkit.domain.documents.on_file import lines_of
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.balances import balance_of, credit_notes_of, find_invoice
from bizkit.services.billing.bill_made import BillMade
from bizkit.services.billing.earlier import bills_quote
from bizkit.services.billing.issuing import Made
from bizkit.services.billing.open_again import charges_of_lines, lower, open_all, open_part, what_is_undone
from bizkit.services.billing.settled_income import income_after_settling, settled_income
from bizkit.services.billing.standing import standing
from bizkit.services.job.charges import BY_HAND, of_charge, of_source
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording, wording, words_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import BalanceState
    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.store.issued import IssuedBill
    from bizkit.store.register import Entry
    from bizkit.store.stamp import Stamp

#: What a credit note does to what its invoice billed.
UNDOES: Final = "undoes"
LOWERS: Final = "lowers"
SETTLES: Final = "settles"


def credit_invoice(
    folder: StudioFolder,
    number: str,
    on: date,
    *,
    reason: str,
    amount: str = "",
    lines: Sequence[str] = (),
    lower_price: bool = False,
) -> CreditMade:
    """Issue a credit note: for all that is left of the invoice, for a net amount, or for lines of it.

    lines: `2` for the whole second line, `2=150.00` for a part of it, net. Raises RuleBroken for more than is left,
    BadInput for an amount where the invoice bears several taxes (say which line then).
    """
    from bizkit.services.studio.papers_folder import refuse_unwritten

    if amount and lines:
        raise BadInput(wanted="either --amount or --line", got="both", field="--amount")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, number)
        refuse_unwritten(folder, work, kind=CREDIT_NOTE, about=found.key)
        original = found.document
        words = wording(folder, original["language"], original["locale"])
        before = [one.document for one in credit_notes_of(work, found)]
        by_line = _by_line(original, before, lines)
        chosen = _by_amount(original, before, amount, words) if amount else [line for _, line in by_line] or None
        made = issue_credit_note(
            folder, work, stamp, found, chosen,
            reason=reason, effect=LOWERS if lower_price else UNDOES, positions=[place for place, _ in by_line],
        )  # fmt: skip
        after = balance_of(work, found)
    made.write()
    return credited(made, after)


def credited(made: Made, after: Balance) -> CreditMade:
    """What a command prints of a credit note, and where its invoice stands `after` it."""
    document = made.document
    return {
        **made.data(),
        "credits": document["credits"]["number"],
        "reason": document["reason"],
        "lowers_price": document["lowers_price"],
        "open_again": bool(document["undoes"] or document["again"]),
        "settles": document["settles"],
        "balance": after.left.text,
        "state": after.state,
        "to_refund": (-after.left).text if after.state == OVERPAID else "0.00",
    }


def issue_credit_note(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    invoice: IssuedBill,
    lines: Sequence[InvoiceLine] | None,
    *,
    reason: str,
    effect: str = UNDOES,
    positions: Sequence[int] = (),
    notes: Sequence[str] = (),
) -> Made:
    """Issue a credit note in the caller's transaction; the caller writes the paper. lines: None for all that is left.

    effect: UNDOES opens what it takes back again; LOWERS keeps it as a lower price; SETTLES gives back what was
    invoiced beyond what is owed, see `standing`. positions: of the lines on the invoice. On a cancelled job the
    credit that takes away the last of it settles the fee: the open charges are billed by what stays of the invoices.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.filing import file_paper
    from bizkit.services.studio.numbers import draw
    from bizkit.store.charges import set_charge_invoice
    from bizkit.store.events import record
    from bizkit.store.issued import issue

    original, on = invoice.document, stamp.on
    before = [one.document for one in credit_notes_of(work, invoice)]
    stood = standing(work, the_job(work, invoice.key))
    series, drawn = draw(work, folder.studio.numbers.credit_note, on, practice=folder.studio.practice)
    words = words_of(folder, original)
    document = credit_note(
        original=original,
        number=drawn,
        issued_on=on,
        reason=reason,
        lines=lines_left(original, before) if lines is None and before else lines,
        credited=before,
        notes=notes,
        refund=words.say("lines.set_off", number=original["number"]),
    )
    settled = not stood.net + _net(document)
    document["lowers_price"] = effect == LOWERS or (effect == SETTLES and not stood.cancelled_on)
    document["of_lines"] = _of_lines(work, invoice, document, before, lower_price=effect == LOWERS)
    if (kinds := income_of_lines(original, document["of_lines"])) is not None:
        document["income"] = kinds
    if stood.settled and bills_quote(original) and not original.get("settles"):
        document["income"] = income_after_settling(work, invoice.key, _net(document)) or document["income"]
    document["settles"] = settled and stood.settles and effect != LOWERS and bills_quote(original)
    if document["settles"] and (kinds := settled_income(work, the_job(work, invoice.key), -_net(document))):
        document["income"] = {kind: (-Money(sum_, document["currency"])).text for kind, sum_ in kinds.items()}
    undone = what_is_undone(work, invoice, document, before, stood) if effect == UNDOES else None
    document["undoes"], document["again"] = bool(undone and undone.whole), []
    if effect == LOWERS:
        lower(work, stamp, invoice, document)
    elif undone and undone.whole:
        open_all(work, stamp, invoice, drawn, before)
    elif undone and not undone.by_itself:
        item = words.say("lines.again", title=original["title"], number=original["number"])
        by_line = dict(zip(positions, lines_of(document), strict=True)) if positions else {}
        document["again"] = open_part(work, stamp, invoice, document, by_line, item)
    sent = issue(work, stamp, kind=CREDIT_NOTE, series=series, number=drawn, key=invoice.key, document=document)
    if document["settles"]:
        for charge in stood.charges:
            set_charge_invoice(work, charge["id"], drawn)
    paper = file_paper(work, stamp, folder, sent.document)
    record(
        work, stamp, "issued", invoice.key, number=drawn, credits=invoice.number, gross=document["gross"],
        reason=document["reason"],
    )  # fmt: skip
    return Made(sent.document, paper)


def _net(document: BillOnFile) -> Money:
    return Money(document["net"], document["currency"])


def _by_amount(original: BillOnFile, before: Sequence[BillOnFile], amount: str, words: Wording) -> list[InvoiceLine]:
    """One line over a net amount, taxed as the one tax of the invoice."""
    sum_ = amount_of(amount, original["currency"], "--amount")
    if sum_.amount <= 0:
        raise BadInput(wanted="an amount above zero", got=amount, field="--amount")
    brackets = [bracket for bracket, (base, _) in left_to_credit(original, before).items() if base.amount > 0]
    if not brackets:
        raise RuleBroken(f"{original['number']} is credited in full already")
    if len(brackets) > 1:
        raise BadInput(
            wanted="--line, as the invoice bears several taxes",
            got=f"--amount {amount}",
            field=str(original["number"]),
        )
    category, rate = brackets[0]
    note = next(tax["note"] for tax in original["taxes"] if tax["category"] == category)
    item = words.say("lines.credit", title=original["title"], number=original["number"])
    source = f"invoice {original['number']}"
    return [InvoiceLine(item, Decimal(1), "flat", sum_, category, rate, note, source=source)]


def _of_lines(
    work: Connection, invoice: IssuedBill, note: BillOnFile, before: Sequence[BillOnFile], *, lower_price: bool
) -> dict[str, str]:
    """What a credit note takes off each line of its invoice, by position.

    A lower price is never more than is still asked for what the line bills: what was given back of it otherwise, or
    waits to be, is not given back again. Raises RuleBroken.
    """
    from bizkit.store.charges import charges

    original, currency = invoice.document, note["currency"]
    left = left_of_lines(original, before)
    shares = shares_of_lines(original, note, left)
    rows = {row.id: row for row in charges(work, invoice.key)}
    asked: dict[str, Money] = {}
    for place, row in charges_of_lines(work, invoice).items() if lower_price else ():
        source = rows[of_charge(row) or row.id].source
        if place not in shares or source == BY_HAND:
            continue
        still = asked[source] if source in asked else of_source(work, invoice.key, source).stands
        if shares[place] > still:
            raise RuleBroken(
                f"line {place} of {original['number']} bills {row.item}: {still} is still asked for it, "
                f"{shares[place]} of it cannot be given back; see bizkit charge list {invoice.key}"
            )
        asked[source] = still - shares[place]
    return {str(place): Money(part.text, currency).text for place, part in shares.items()}


def _by_line(
    original: BillOnFile, before: Sequence[BillOnFile], wanted: Sequence[str]
) -> list[tuple[int, InvoiceLine]]:
    """The lines asked for, whole or in part, each with its position on the invoice. before: earlier credit notes.

    Raises RuleBroken for more than is left of a line, BadInput for one said twice.
    """
    left, said = left_of_lines(original, before), set()
    chosen = []
    for one in wanted:
        position, sign, part = one.partition("=")
        count = len(original["lines"])
        if not position.strip().isdigit() or not 1 <= int(position) <= count:
            raise BadInput(wanted=f"a line from 1 to {count}, or LINE=AMOUNT", got=one, field="--line")
        if int(position) in said:
            raise BadInput(wanted="each line once", got=f"line {int(position)} twice", field="--line")
        said.add(int(position))
        line = original["lines"][int(position) - 1]
        whole = Money(line["amount"], original["currency"])
        sum_ = amount_of(part, original["currency"], "--line") if sign else whole
        if not 0 < sum_.amount <= whole.amount:
            raise RuleBroken(
                f"line {position} of {original['number']} comes to {whole}: {sum_} of it cannot be credited"
            )
        if sum_ > left[int(position) - 1]:
            raise RuleBroken(
                f"line {position} of {original['number']} comes to {whole}, and credit notes took "
                f"{whole - left[int(position) - 1]} of it back: {left[int(position) - 1]} is left, {sum_} cannot be "
                "credited"
            )
        chosen.append((int(position), taken_line(original, int(position), sum_)))
    return chosen


def list_credit_notes(folder: StudioFolder, job: str | None = None) -> list[CreditNoteRow]:
    """Credit notes in the order issued, of one job or all."""
    from bizkit.services.job.jobs import the_job
    from bizkit.store.register import bills

    with folder.book.read() as work:
        papers = bills(work, the_job(work, job).key if job else None)
    return [credit_note_row(one) for one in papers if one.kind == CREDIT_NOTE]


def credit_note_row(note: Entry) -> CreditNoteRow:
    """One credit note: which invoice it credits, why, and what it takes back, above zero."""
    return {
        "number": note.number,
        "credits": note.credits,
        "job": note.key,
        "issued_on": note.issued_on,
        "currency": note.currency,
        "net": note.net.text,
        "tax": note.tax.text,
        "gross": note.gross.text,
        "reason": note.reason,
    }


class CreditNoteRow(TypedDict):
    """A credit note in a list."""

    number: str
    credits: str
    job: str
    issued_on: str
    currency: str
    net: str
    tax: str
    gross: str
    reason: str


class CreditMade(BillMade):
    """A credit note, what it does, and where its invoice stands then."""

    credits: str
    reason: str
    lowers_price: bool
    open_again: bool
    settles: bool
    balance: str
    state: BalanceState
    to_refund: str
