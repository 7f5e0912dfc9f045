"""Income by payment: what the money that came in brings without tax, day by day (cash basis).

Each invoice is followed on its running total, so that one paid in full has brought exactly its net; a credit note
lowers what it can still bring, a refund takes back what it brought. Prepaid money counts on the tax point it made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.money import Money


def received_net(papers: Sequence[Issued], payments: Iterable[Payment]) -> list[tuple[date, Issued, Money]]:
    """Each change of the net that an invoice has brought: day, invoice, amount in the invoice's currency, rounded."""
    credited: dict[str, list[Issued]] = {}
    for paper in papers:
        if paper.sign < 0:
            credited.setdefault(paper.corrects, []).append(paper)
    paid: dict[str, list[Payment]] = {}
    for payment in payments:
        paid.setdefault(payment.invoice, []).append(payment)
    result: list[tuple[date, Issued, Money]] = []
    for paper in papers:
        if paper.sign > 0:
            result += _of_one(paper, credited.get(paper.number, []), paid.get(paper.number, []))
    return sorted(result, key=lambda entry: (entry[0], entry[1].number))


def _of_one(
    invoice: Issued, notes: Sequence[Issued], payments: Sequence[Payment]
) -> list[tuple[date, Issued, Money]]:
    zero = Money(0, invoice.currency)
    moves: list[tuple[date, Money, Money, Money]] = []  # day, came in, off the gross, off the net
    prepaid = invoice.gross - invoice.due
    if prepaid:
        moves.append((min(invoice.tax_point, invoice.issued_on), prepaid, zero, zero))
    moves += [(payment.received_on, payment.amount, zero, zero) for payment in payments]
    moves += [(note.issued_on, zero, note.gross, note.net) for note in notes]
    moves.sort(key=lambda move: move[0])
    came, gross, net, brought = zero, invoice.gross, invoice.net, zero
    result = []
    for day, amount, gross_off, net_off in moves:
        came, gross, net = came + amount, gross - gross_off, net - net_off
        if came.amount <= 0 or gross.amount <= 0:
            now = zero
        elif came.amount >= gross.amount:
            now = net
        else:
            now = Money(net.amount * came.amount / gross.amount, invoice.currency).rounded()
        if now != brought:
            result.append((day, invoice, (now - brought).rounded()))
            brought = now
    return result
