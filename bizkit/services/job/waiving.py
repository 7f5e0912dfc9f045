"""Charges that are given up, with the reason."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.services.job.charges import (
    BY_HAND,
    INVOICED,
    WAIVED,
    ChargeRow,
    charge_rows,
    of_charge,
    of_source,
    take_less,
)
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp


def waive(folder: StudioFolder, charge_id: int, on: date, *, reason: str) -> Waived:
    """Give a charge up. Raises RuleBroken when it is billed or waived already."""
    if not reason.strip():
        raise BadInput(wanted="why it is not charged", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        return waive_one(work, stamp, charge_id, reason)


def waive_one(work: Connection, stamp: Stamp, charge_id: int, reason: str) -> Waived:
    """The same in the caller's transaction. What waits to be given back of what is given up is given up with it."""
    from bizkit.store.charges import waive_charge
    from bizkit.store.events import record

    rows = {row["id"]: row for row in charge_rows(work)}
    if charge_id not in rows:
        raise NotFound("charge", charge_id, [str(one) for one in rows], field="CHARGE")
    row = rows[charge_id]
    if row["state"] == INVOICED:
        raise RuleBroken(f"charge {charge_id} is billed by {row['invoice']}: credit the invoice instead")
    if row["state"] == WAIVED:
        raise RuleBroken(f"charge {charge_id} is waived already: {row['waived']}")
    waive_charge(work, stamp, charge_id, reason.strip())
    _give_back_less(work, stamp, charge_id, Money(row["amount"], row["currency"]))
    record(work, stamp, "waived", row["job"], charge=charge_id, amount=row["amount"], reason=reason.strip())
    return {**row, "state": WAIVED, "waived": reason.strip(), "waived_on": stamp.on.isoformat()}


def _give_back_less(work: Connection, stamp: Stamp, charge_id: int, given_up: Money) -> None:
    """Take what was given up of a charge off what its source has open to give back: nobody pays it any more."""
    from bizkit.store.charges import charges

    known = {one.id: one for one in charges(work)}
    row = known[of_charge(known[charge_id]) or charge_id]
    if row.source != BY_HAND:
        take_less(work, stamp, of_source(work, row.job, row.source).open_back, given_up)


class Waived(ChargeRow):
    """A charge that was given up."""

    waived_on: str
