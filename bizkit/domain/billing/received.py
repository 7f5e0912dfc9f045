"""Income by payment: what the money that came in brings without tax, day by day (cash basis).

Each invoice is followed on its running total, so that one paid in full has brought exactly its net. A credit note
lowers what it can still bring; what it takes off money that came already goes back with the refund, not before.
Prepaid money counts on the tax point it made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.money import Money


def received_net(papers: Sequence[Issued], payments: Iterable[Payment]) -> list[tuple[date, Issued, Money, Money]]:
    """Each change of what an invoice has brought: day, invoice, without tax and with it, in its currency, rounded."""
    credited: dict[str, list[Issued]] = {}
    for paper in papers:
        if paper.sign < 0:
            credited.setdefault(paper.corrects, []).append(paper)
    paid: dict[str, list[Payment]] = {}
    for payment in payments:
        paid.setdefault(payment.invoice, []).append(payment)
    result: list[tuple[date, Issued, Money, Money]] = []
    for paper in papers:
        if paper.sign > 0:
            result += _of_one(paper, credited.get(paper.number, []), paid.get(paper.number, []))
    return sorted(result, key=lambda entry: (entry[0], entry[1].number))


def _of_one(
    invoice: Issued, notes: Sequence[Issued], payments: Sequence[Payment]
) -> list[tuple[date, Issued, Money, Money]]:
    zero = Money(0, invoice.currency)
    moves: list[tuple[date, Money, Money, Money]] = []  # day, came in, off the gross, off the net
    prepaid = invoice.gross - invoice.due
    if prepaid:
        moves.append((min(invoice.tax_point, invoice.issued_on), prepaid, zero, zero))
    moves += [(payment.received_on, payment.amount, zero, zero) for payment in payments]
    moves += [(note.issued_on, zero, note.gross, note.net) for note in notes]
    moves.sort(key=lambda move: move[0])
    came, off, net_off, brought = zero, zero, zero, (zero, zero)
    result = []
    for day, amount, gross_less, net_less in moves:
        came, off, net_off = came + amount, off + gross_less, net_off + net_less
        # Money that is owed and then money that was credited since and is to go back; beyond that it was overpaid.
        owed = _share(invoice.net - net_off, invoice.gross - off, came)
        back = _share(net_off, off, came - max(invoice.gross - off, zero, key=lambda money: money.amount))
        now = (owed[0] + back[0], owed[1] + back[1])
        if now != brought:
            result.append((day, invoice, (now[0] - brought[0]).rounded(), (now[1] - brought[1]).rounded()))
            brought = now
    return result


def _share(net: Money, gross: Money, came: Money) -> tuple[Money, Money]:
    """What of a sum with a tax inside came, without the tax and with it; never more than all of it."""
    if came.amount <= 0 or gross.amount <= 0:
        return Money(0, net.currency), Money(0, net.currency)
    if came.amount >= gross.amount:
        return net, gross
    return Money(net.amount * came.amount / gross.amount, net.currency).rounded(), came
