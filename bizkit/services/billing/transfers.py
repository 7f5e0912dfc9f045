"""Money that is over on one invoice, set against another of the same client: nothing comes in and nothing goes out.

It is a sum of zero with two payments, so that lists, statements, returns and reports count it as paid back on the one
and paid on the other, on one day. A second one the other way takes it back.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.payment import OVERPAID
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.balances import balance_of, find_invoice
from bizkit.services.billing.payments import Came, book
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import Payment
    from bizkit.store.issued import IssuedBill


def transfer(
    folder: StudioFolder, source: str, target: str, on: date, *, amount: str | None = None, reference: str = ""
) -> SetOff:
    """Set what is over on `source` against `target`: as much as is left of it, where no amount is given.

    What was set against `source` from `target` before goes back the same way, and is then owed again.

    Raises RuleBroken for invoices of two clients or currencies, for more than is over on the one or left of the
    other.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        giver = find_invoice(work, source)
        nothing = Money(0, str(giver.document["currency"]))
        wanted = amount_of(amount, nothing.currency, "AMOUNT") if amount is not None else None
        if wanted is not None and wanted <= nothing:
            raise BadInput(wanted="an amount above zero", got=wanted, field="AMOUNT")
        taker = find_invoice(work, target)
        _refuse_strangers(giver, taker)
        back = _set_before(work, target, source, nothing.currency)
        undone = back > nothing
        sum_ = _sum_back(back, wanted, source, target) if undone else _sum(work, giver, taker, wanted)
        came = Came(on, nothing.rounded(), reference=reference.strip() or f"set off: {source} to {target}")
        done = book(work, stamp, came, [(giver, -sum_), (taker, sum_)], accept_over=undone, owed_again=undone)
    return {
        "id": done["id"],
        "on": done["on"],
        "source": source,
        "target": target,
        "amount": sum_.text,
        "currency": sum_.currency,
        "taken_back": undone,
        "reference": done["reference"],
        "invoices": [{name: part[name] for name in ("number", "balance", "state")} for part in done["parts"]],
    }


def _sum_back(before: Money, wanted: Money | None, source: str, target: str) -> Money:
    """How much of what was set off before goes back. Raises RuleBroken."""
    if wanted is not None and wanted > before:
        raise RuleBroken(f"{wanted} is more than the {before} that was set against {source} from {target}")
    return before if wanted is None else wanted


def _sum(work: Connection, giver: IssuedBill, taker: IssuedBill, wanted: Money | None) -> Money:
    """How much of what is over is set off. Raises RuleBroken."""
    has, needs = balance_of(work, giver), balance_of(work, taker)
    over = -has.left
    if has.state != OVERPAID:
        raise RuleBroken(
            f"nothing is over on {giver.number}: it is {has.state}, {has.left} left. What is set against another "
            "invoice was paid and then credited, or paid twice"
        )
    if needs.left.amount <= 0:
        raise RuleBroken(f"nothing is left of {taker.number}: it is {needs.state}")
    if wanted is None:
        return min(over, needs.left)
    if wanted > over:
        raise RuleBroken(f"{wanted} is more than the {over} that is over on {giver.number}")
    if wanted > needs.left:
        raise RuleBroken(f"{wanted} is more than the {needs.left} that is left of {taker.number}")
    return wanted


def _refuse_strangers(giver: IssuedBill, taker: IssuedBill) -> None:
    """Raises BadInput for one invoice, RuleBroken for those of two clients or currencies."""
    if giver.number == taker.number:
        raise BadInput(wanted="two invoices", got=f"{giver.number} twice", field="TARGET")
    for name, word in (("client", "clients"), ("currency", "currencies")):
        one, other = getattr(giver.entry, name), getattr(taker.entry, name)
        if one != other:
            raise RuleBroken(
                f"{giver.number} and {taker.number} are of two {word}, {one} and {other}: money is set against an "
                "invoice of the same client in the same currency; pay it back instead, with bizkit payment refund"
            )


def _set_before(work: Connection, source: str, target: str, currency: str) -> Money:
    """How much stands set against `target` from `source`, what went back taken off; below zero the other way."""
    from bizkit.store.payments import payments_by_id

    between = (
        one.amount for one in payments_by_id(work).values() if (one.invoice, one.counterpart) == (target, source)
    )
    return total(between, currency)


def refuse_set_off(work: Connection, gone: Payment) -> None:
    """Refuse to take a payment back of which more was set against other invoices than stays. Raises RuleBroken."""
    from bizkit.store.payments import payments_by_id

    of_it = [one for one in payments_by_id(work).values() if one.invoice == gone.invoice]
    nothing = Money(0, gone.amount.currency)
    moved = -total((one.amount for one in of_it if one.counterpart), nothing.currency)
    came = total((one.amount for one in of_it if not one.counterpart), nothing.currency)
    if moved > nothing and came - gone.amount < moved:
        other = next(one.counterpart for one in reversed(of_it) if one.counterpart and one.amount < nothing)
        raise RuleBroken(
            f"{moved} of what came for {gone.invoice} was set against {other}: take that back first, with bizkit "
            f"payment transfer {other} {gone.invoice}"
        )


class SetOff(TypedDict):
    """A sum set against `target` from `source`, or back again, and where both stand by now."""

    id: int
    on: str
    source: str
    target: str
    amount: str
    currency: str
    taken_back: bool
    reference: str
    invoices: list[dict[str, str]]
