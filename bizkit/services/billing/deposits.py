"""Deposits: money that came in before there was an invoice for it makes a tax point, and gets one of its own.

Source: VAT Act 1994 s. 6(4), HMRC manual VATTOS5105; Directive 2006/112/EC article 65.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.billing.tax import tax_within
from bizkit.domain.dated_ahead import check_not_before
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal, percent
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.earlier import papers_of, put_back
from bizkit.services.billing.issuing import Asked, Made, begin, quoted_by_section, send_out
from bizkit.services.job.jobs import quote_of
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.services.billing.bill_made import BillMade
    from bizkit.services.billing.issuing import Billed
    from bizkit.store.stamp import Stamp


def invoice_deposit(
    folder: StudioFolder,
    job: str,
    amount: str,
    on: date,
    *,
    received_on: date,
    reference: str = "",
    asked: Asked = Asked(),
) -> BillMade:
    """Issue the invoice of a deposit: money that came in on `received_on`, before any invoice; tax is inside it.

    Later stage and final invoices take it off. Raises RuleBroken for more than is left of the price.
    """
    stamp = folder.stamp(on, ("--received", received_on))
    with folder.book.work() as work:
        from bizkit.services.job.jobs import the_job

        sum_ = amount_of(amount, the_job(work, job).currency, "AMOUNT")
        made = issue_deposit(folder, work, stamp, job, sum_, received_on, reference, asked)
    made.write()
    return made.data()


def issue_deposit(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    job: str,
    amount: Money,
    received_on: date,
    reference: str,
    asked: Asked = Asked(),
) -> Made:
    """The same in the caller's transaction; the caller writes the paper."""
    from bizkit.services.billing.job_money import money_of_job

    if amount.amount <= 0:
        raise BadInput(wanted="an amount above zero", got=amount, field="AMOUNT")
    check_not_before(received_on, stamp.on, field="--received", why="a deposit is invoiced once it came in")
    billed = begin(folder, work, stamp, job, asked, paid_on=received_on)
    if amount.currency != billed.currency:
        raise RuleBroken(f"{billed.key} is billed in {billed.currency}, the deposit came in {amount.currency}")
    if received_on.isoformat() < billed.job.opened_on:
        raise RuleBroken(f"{billed.key} was opened on {billed.job.opened_on}: no deposit for it came before")
    net = amount - tax_within(amount, billed.how.rate)
    left = money_of_job(work, billed.job).left_to_invoice
    if left < net <= left + Money.from_minor(1, net.currency):
        net = left  # rounded apart: all the bills of a job come to what was quoted
    if net > left:
        raise RuleBroken(
            f"{billed.key} has {left} without tax left to invoice, the deposit is {net}: pay the rest back, "
            "or agree the change first with bizkit charge add"
        )
    words = billed.words
    # The tax is the share of what came, whatever its net would bear: so the paper comes to what the client paid.
    line = InvoiceLine.under(
        billed.how,
        words.say("lines.deposit", title=billed.job.title, date=words.day(received_on.isoformat())),
        1,
        "flat",
        net,
        source=reference or f"deposit of {received_on.isoformat()}",
        tax=amount - net,
    )
    looks = tuple(_typed_twice(work, billed.key, amount, received_on))
    made = send_out(
        billed,
        [line],
        stage={"position": 0, "title": "Deposit", "reason": asked.reason},
        quoted=quoted_by_section(quote_of(work, billed.job).document),
        prepaid=amount,
        more={"deposit": {"received_on": received_on.isoformat(), "amount": amount.text, "reference": reference}},
    )
    return replace(made, warnings=(*made.warnings, *looks))


def _typed_twice(work: Connection, job: str, amount: Money, received_on: date) -> Iterator[str]:
    """A deposit of the job that says just the same, none that was credited."""
    from bizkit.store.payments import deposits
    from bizkit.store.register import net_left

    left = net_left(work, job)
    same = [
        one.invoice
        for _, one in deposits(work)
        if left.get(one.invoice) and (one.amount, one.received_on) == (amount, received_on)
    ]
    if same:
        yield (
            f"{' and '.join(same)} of money received on {received_on} says just the same; if it was typed twice, "
            "take it back: bizkit invoice credit"
        )


#: The category of what is outside the scope of the tax, of UNCL5305.
OUTSIDE_SCOPE: Final = "O"


@dataclass(frozen=True, slots=True)
class Left:
    """What of a deposit, or of a part of it, is left, and the tax on that."""

    net: Money
    tax: Money

    def __add__(self, other: Left) -> Left:
        return Left(self.net + other.net, self.tax + other.tax)

    def __sub__(self, other: Left) -> Left:
        return Left(self.net - other.net, self.tax - other.tax)

    def part(self, net: Money, rate: Decimal) -> Left:
        """Of it the part of a net, all of it at most; the last of it has all the tax that is left."""
        if net >= self.net:
            return self
        return Left(net, min(percent(net, rate), self.tax))


def refuse_other_scope(billed: Billed, deposit: BillOnFile) -> None:
    """Refuse to take a deposit off that is outside the scope of the tax where the rest is not, or the other way.

    One invoice cannot hold both (EN 16931 BR-O-11 to BR-O-14). Raises RuleBroken.
    """
    before = deposit["taxes"][0]["category"]
    if (before == OUTSIDE_SCOPE) != (billed.how.category == OUTSIDE_SCOPE):
        number = deposit["number"]
        raise RuleBroken(
            f"{number}, the deposit to take off, is {'' if before == OUTSIDE_SCOPE else 'not '}outside the scope of "
            "tax, and this invoice the other way round: no invoice can hold both (EN 16931 BR-O-11). Credit it with "
            f"bizkit invoice credit {number} --reason WHY, issue this one, then set the money against it with "
            f"bizkit payment transfer {number} NEW"
        )


def deposits_left(work: Connection, job: str) -> list[tuple[BillOnFile, Left]]:
    """Deposit invoices of a job with what no later invoice has taken off and no credit note gave back.

    A credit note for which a charge stands gives nothing of it back. An invoice that was undone gives its part back.
    A final invoice takes off only what was left of a deposit when it was issued: the rest stood in earlier invoices,
    which it takes off whole.
    """
    papers = papers_of(work, job)
    back = {one["number"] for one in put_back(papers)}
    deposits = {one["number"]: one for one in papers if one.get("deposit")}
    left = {number: _stated(one) for number, one in deposits.items()}
    taken: dict[str, list[tuple[str, Left]]] = {}
    for one in papers:
        if one["kind"] == "credit_note":
            number = one["credits"]["number"]
            if number in left and one["number"] in back:
                left[number] = left[number] - _stated(one)
            elif one.get("undoes"):
                for deposit, part in taken.pop(number, ()):
                    left[deposit] = left[deposit] + part
        for entry in one.get("deducts", ()):
            room = left[entry["number"]]
            if room.net.amount <= 0:
                continue
            rate = decimal(deposits[entry["number"]]["taxes"][0]["rate"])
            part = room.part(Money(entry["net"], one["currency"]), rate)
            left[entry["number"]] = room - part
            taken.setdefault(one["number"], []).append((entry["number"], part))
    return [(deposits[number], one) for number, one in left.items() if one.net.amount > 0]


def _stated(paper: BillOnFile) -> Left:
    return Left(Money(paper["net"], paper["currency"]), Money(paper["tax"], paper["currency"]))


def deposit_line(words: Wording, deposit: Mapping[str, Any], part: Left) -> InvoiceLine:
    """The line that takes a deposit, or a part of it, off a later invoice, with the tax that it states."""
    tax = deposit["taxes"][0]
    return InvoiceLine(
        words.say("lines.less_deposit", number=deposit["number"], date=words.day(deposit["issued_on"])),
        Decimal(-1),
        "flat",
        part.net,
        tax["category"],
        decimal(tax["rate"]),
        tax["note"],
        source=f"invoice {deposit['number']}",
        tax=-part.tax,
    )
