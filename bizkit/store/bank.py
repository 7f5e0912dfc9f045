"""Bank statements read and what became of each movement: append-only rows."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Connection, insert, select

from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.money import Money
from bizkit.store.schema.billing import bank_entry, booking
from bizkit.store.stamp import Stamp

Row = dict[str, Any]

OPEN, BOOKED, ASIDE = "open", "booked", "aside"


def add_entries(work: Connection, stamp: Stamp, entries: list[BankEntry], file: str) -> list[int]:
    """Write the movements that were never read before; returns their ids. file: SHA-256 of the file."""
    known = set(work.execute(select(bank_entry.c.key)).scalars())
    ids = []
    for one in entries:
        if one.id in known:
            continue
        known.add(one.id)
        done = work.execute(
            insert(bank_entry)
            .values(
                key=one.id,
                file=file,
                booked_on=one.booked_on.isoformat(),
                amount_minor=one.amount.minor,
                currency=one.amount.currency,
                name=one.name,
                text=one.text,
                reference=one.reference,
                original_minor=one.original.minor if one.original else None,
                original_currency=one.original.currency if one.original else "",
                recorded_at=stamp.at,
                recorded_by=stamp.who,
            )
            .returning(bank_entry.c.id)
        )
        ids.append(int(done.scalar_one()))
    return ids


def entries(work: Connection, id_: int | None = None) -> list[tuple[int, BankEntry, Row]]:
    """Movements in the order read, or the one of that id: id, movement, and what became of it.

    The last is `state` (open, booked, aside), `money_in` (the id of the sum, None) and `reason`.
    """
    query = select(bank_entry).order_by(bank_entry.c.id)
    if id_ is not None:
        query = query.where(bank_entry.c.id == id_)
    newest: dict[int, Row] = {}
    for row in work.execute(select(booking).order_by(booking.c.id)).mappings():
        newest[row["entry"]] = dict(row)
    found = []
    for row in work.execute(query).mappings():
        original = row["original_minor"]
        entry = BankEntry(
            row["key"],
            date.fromisoformat(row["booked_on"]),
            Money.from_minor(row["amount_minor"], row["currency"]),
            row["name"],
            row["text"],
            row["reference"],
            Money.from_minor(original, row["original_currency"]) if original is not None else None,
        )
        became = newest.get(row["id"], {"state": OPEN, "money_in": None, "reason": ""})
        found.append((row["id"], entry, {name: became[name] for name in ("state", "money_in", "reason")}))
    return found


def set_entry(
    work: Connection, stamp: Stamp, entry: int, state: str, *, money_in: int | None = None, reason: str = ""
) -> None:
    """Write what became of a movement; the newest row counts."""
    work.execute(
        insert(booking).values(
            entry=entry,
            state=state,
            money_in=money_in,
            reason=reason,
            recorded_at=stamp.at,
            recorded_by=stamp.who,
        )
    )
