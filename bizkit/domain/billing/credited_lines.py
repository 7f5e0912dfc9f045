"""Which lines of an invoice its credit notes take back, and what of each line is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.credit import Bracket, left_to_credit
from bizkit.domain.billing.lines import InvoiceLine
from bizkit.domain.documents.on_file import lines_of
from bizkit.domain.documents.reckoning import explained
from bizkit.domain.money import Money, decimal, total

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile


def line_source(number: str, position: int) -> str:
    """What a line of a credit note says of the line that it takes back.

    >>> line_source("GL-2027-0004", 3)
    'line 3 of invoice GL-2027-0004'
    """
    return f"line {position} of invoice {number}"


def left_of_lines(original: BillOnFile, credited: Sequence[BillOnFile]) -> list[Money]:
    """What credit notes have not taken back of each line of an invoice. credited: its credit notes, oldest first."""
    left = [Money(line["amount"], original["currency"]) for line in original["lines"]]
    for note in credited:
        taken = note.get("of_lines")
        if taken is None:  # a note from before it was kept
            shares = shares_of_lines(original, note, left)
        else:
            shares = {int(position): Money(sum_, original["currency"]) for position, sum_ in taken.items()}
        for position, part in shares.items():
            left[position - 1] = left[position - 1] - part
    return left


def shares_of_lines(original: BillOnFile, note: BillOnFile, left: Sequence[Money]) -> dict[int, Money]:
    """What a credit note takes off each line of its invoice, by position. left: of each line before it.

    A line of the note that names one of the invoice is that one's. A sum that names none is a discount on all that is
    left: it is shared by what is left of each line taxed alike, and is all of them where it is the whole of it.
    """
    currency = original["currency"]
    named = {line_source(original["number"], place): place for place in range(1, len(left) + 1)}
    shares: dict[int, Money] = {}
    sums: dict[Bracket, Money] = {}
    for line in lines_of(note):
        amount, place = Money(line["amount"], currency), named.get(line.get("source", ""))
        if place is None:
            bracket = _bracket(line)
            sums[bracket] = sums.get(bracket, Money(0, currency)) + amount
        else:
            shares[place] = shares.get(place, Money(0, currency)) + amount
    rest = [amount - shares.get(place, Money(0, currency)) for place, amount in enumerate(left, start=1)]
    for bracket, sum_ in sums.items():
        alike = [place for place, line in enumerate(original["lines"], start=1) if _bracket(line) == bracket]
        if sum_ == total((rest[place - 1] for place in alike), currency):
            parts = {place: rest[place - 1] for place in alike}
        else:
            alike = [place for place in alike if rest[place - 1].amount > 0]
            weights = [rest[place - 1].amount for place in alike]
            parts = dict(zip(alike, sum_.rounded().allocate(weights), strict=True)) if alike else {}
        for place, part in parts.items():
            if part:
                shares[place] = shares.get(place, Money(0, currency)) + part
    return dict(sorted(shares.items()))


def taken_line(original: BillOnFile, position: int, amount: Money) -> InvoiceLine:
    """The line of a credit note that takes a line of an invoice back: as it stands, or an amount of it."""
    line, currency = explained(original)[position - 1], original["currency"]
    quantity, unit, rate = decimal(line["quantity"]), line["unit"], Money(line["rate"], currency)
    if amount != Money(line["amount"], currency):
        sign = -1 if amount.amount < 0 else 1
        quantity, unit, rate = Decimal(sign), "flat", amount * sign
    notes = {tax["category"]: tax["note"] for tax in original["taxes"]}
    return InvoiceLine(
        line["item"],
        quantity,
        unit,
        rate,
        line["category"],
        decimal(line["tax_rate"]),
        notes.get(line["category"], ""),
        line["why"],
        line.get("section", ""),
        line_source(original["number"], position),
        amount,
    )


def lines_left(original: BillOnFile, credited: Sequence[BillOnFile]) -> list[InvoiceLine] | None:
    """What is left of each line of an invoice, to be taken back; None where that is not what is left to credit."""
    left = left_of_lines(original, credited)
    sums: dict[Bracket, Money] = {}
    for line, amount in zip(original["lines"], left, strict=True):
        bracket = _bracket(line)
        sums[bracket] = sums.get(bracket, Money(0, original["currency"])) + amount
    if any(sums.get(bracket) != base for bracket, (base, _) in left_to_credit(original, credited).items()):
        return None  # an allowance stands below the lines
    return [taken_line(original, place, amount) for place, amount in enumerate(left, start=1) if amount]


def income_of_lines(original: BillOnFile, of_lines: Mapping[str, str]) -> dict[str, str] | None:
    """By kind, what a credit note takes off the lines of an invoice; None where they do not say of which kind."""
    if original["allowances"] or not all(line.get("section") for line in lines_of(original)):
        return None
    sums: dict[str, Money] = {}
    for place, text in of_lines.items():
        kind = lines_of(original)[int(place) - 1]["section"]
        sums[kind] = sums.get(kind, Money(0, original["currency"])) + Money(text, original["currency"])
    return {kind: sum_.text for kind, sum_ in sums.items() if sum_}


def _bracket(line: Mapping[str, Any]) -> tuple[str, Decimal]:
    return line["category"], decimal(line["tax_rate"]).normalize()
