"""Taking back what was decided about a movement of an account."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.billing.bank_rows import MovementDecided


def reopen(folder: StudioFolder, entry: int, on: date, *, reason: str) -> MovementDecided:
    """Take back what was decided about a movement; what was booked is taken back by payments below zero.

    With them go the fee that the bank kept and what reached the account. A sum recorded by hand stays as it is.
    """
    from bizkit.domain.billing.payment import Payment
    from bizkit.services.billing.transfers import refuse_set_off
    from bizkit.store.bank import BOOKED, OPEN, entries, set_entry
    from bizkit.store.events import record
    from bizkit.store.payments import add_money_in, add_payment, all_money_in, payments_by_id

    if not reason.strip():
        raise BadInput(wanted="why it is taken back", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    said = f"taken back: {reason.strip()}"
    with folder.book.work() as work:
        found = entries(work, entry)
        if not found or found[0][2]["state"] == OPEN:
            raise RuleBroken(f"movement {entry} is not decided: there is nothing to take back")
        became = found[0][2]
        back = None
        if became["state"] == BOOKED and became["money_in"] is not None:
            (sum_,) = all_money_in(work, became["money_in"])
            by_id = payments_by_id(work)
            ids = []
            for one in (by_id[each] for each in sum_.payments):
                refuse_set_off(work, one)
                ids.append(
                    add_payment(
                        work, stamp,
                        Payment(
                            one.invoice, one.received_on, -one.amount, fee=-one.fee if one.fee else None,
                            received=-one.received if one.received else None, reference=said,
                        ),
                    )
                )  # fmt: skip
            back = add_money_in(
                work, stamp, client=sum_.client, on=date.fromisoformat(sum_.on),
                amount=-sum_.amount, fee=-sum_.fee,
                account=-sum_.account if sum_.account else None, reference=said, payments=ids,
            )  # fmt: skip
        set_entry(work, stamp, entry, OPEN, money_in=back, reason=reason.strip())
        record(work, stamp, "took back", f"movement {entry}", reason=reason.strip())
    return {"entry": entry, "state": OPEN, "reason": reason.strip()}
