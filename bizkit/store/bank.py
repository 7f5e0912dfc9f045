"""Bank statements read and what became of each movement: append-only rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, TypedDict

from sqlalchemy import Connection, func, insert, select

from bizkit.domain.billing.bank_statement import TEXTS, Recorded, key_of, own_id
from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.money import Money
from bizkit.store.schema.billing import bank_entry, booking
from bizkit.store.stamp import Stamp

Row = dict[str, Any]

#: What became of a movement. SAME: it is a sum that was recorded before, by hand.
OPEN, BOOKED, SAME, ASIDE = "open", "booked", "same", "aside"
#: Before the invoice of a deposit in the reason of a movement that is that deposit: it has no row of its own.
DEPOSIT = "deposit "

_DIGEST = re.compile(r"[0-9a-f]{32}")


def recorded(work: Connection, first: date, last: date, accounts: Mapping[str, str]) -> list[Recorded]:
    """The movements of these days (inclusive) that are in the book, as statements are held against them.

    accounts: SHA-256 of a file of the first version -> the account that it was found to be of.
    """
    query = select(bank_entry).where(bank_entry.c.booked_on.between(first.isoformat(), last.isoformat()))
    with_ids = set(work.execute(select(bank_entry.c.file).where(bank_entry.c.own_id != "").distinct()).scalars())
    silent = _silent_of_files(work)
    found = []
    for row in work.execute(query.order_by(bank_entry.c.id)).mappings():
        entry = _entry(row)
        if row["key"].startswith("m:"):
            account, without = entry.account, row["file"] not in with_ids
            ids = _real_ids(entry.own_id)
        else:
            account, ids = _first_version(row["key"])
            account, without = account or accounts.get(row["file"], ""), not ids
        said_nothing = silent.get(row["file"], frozenset())
        found.append(Recorded(row["id"], entry, account, ids, without, row["file"], said_nothing))
    return found


def _silent_of_files(work: Connection) -> dict[str, frozenset[str]]:
    """File -> the texts that none of its movements has."""
    columns = [getattr(bank_entry.c, name) for name in TEXTS]
    rows = work.execute(select(bank_entry.c.file, *(func.max(one) for one in columns)).group_by(bank_entry.c.file))
    return {row[0]: frozenset(name for name, said in zip(TEXTS, row[1:], strict=True) if not said) for row in rows}


def _first_version(key: str) -> tuple[str, frozenset[str]]:
    """Account and possible ids in a key of the first version: `csv:ID` or `csv:DIGEST`, `camt:ACCOUNT:ID`.

    One transaction of a camt entry was known by the entry's id and its place in it (`ID/1`).
    """
    kind, _, rest = key.partition(":")
    if kind != "camt":
        return "", _real_ids() if _DIGEST.fullmatch(rest) else _real_ids(rest)
    account, _, ref = rest.partition(":")
    shared, _, place = ref.rpartition("/")
    if shared and place.isdigit() and not own_id(shared):
        return account, frozenset()
    return account, _real_ids(*(one for one in (ref, shared) if not _DIGEST.fullmatch(one)))


def _real_ids(*texts: str) -> frozenset[str]:
    return frozenset(found for text in texts if (found := own_id(text)))


def add_entries(work: Connection, stamp: Stamp, entries: Sequence[BankEntry], file: str) -> list[int]:
    """Write movements that are new; returns their ids in the same order. file: SHA-256 of the file."""
    taken = set(work.execute(select(bank_entry.c.key)).scalars())
    ids = []
    for one in entries:
        count = 1
        while (key := key_of(one, count)) in taken:
            count += 1
        taken.add(key)
        done = work.execute(
            insert(bank_entry)
            .values(
                key=key,
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
                account=one.account,
                own_id=one.own_id,
            )
            .returning(bank_entry.c.id)
        )
        ids.append(int(done.scalar_one()))
    return ids


def entries(work: Connection, id_: int | None = None) -> list[tuple[int, BankEntry, Became]]:
    """Movements in the order read, or the one of that id: id, movement, and what became of it.

    The last is `state`, `money_in` (the id of the sum that it is; None for none or several) and `reason`.
    """
    query = select(bank_entry).order_by(bank_entry.c.id)
    if id_ is not None:
        query = query.where(bank_entry.c.id == id_)
    newest = _newest(work)
    found = []
    for row in work.execute(query).mappings():
        became = newest.get(row["id"], [{"state": OPEN, "money_in": None, "reason": ""}])
        state, reason = became[0]["state"], "; ".join(one["reason"] for one in became)
        sum_ = became[0]["money_in"] if state in (BOOKED, SAME) and len(became) == 1 else None
        now: Became = {"state": state, "money_in": sum_, "reason": reason}
        found.append((row["id"], _entry(row), now))
    return found


def sums_of_movements(work: Connection) -> set[int]:
    """The sums that came to the book by a movement, or are known to be one; also those taken back since."""
    made = {row["money_in"] for row in _decisions(work) if row["state"] != SAME}
    return (made | {row["money_in"] for rows in _newest(work).values() for row in rows}) - {None}


def deposits_of_movements(work: Connection) -> set[str]:
    """The invoices of the deposits that a movement is known to be."""
    rows = (row for rows in _newest(work).values() for row in rows if row["state"] == SAME)
    return {row["reason"].removeprefix(DEPOSIT) for row in rows if row["money_in"] is None}


def _decisions(work: Connection) -> list[Row]:
    return [dict(row) for row in work.execute(select(booking).order_by(booking.c.id)).mappings()]


def _newest(work: Connection) -> dict[int, list[Row]]:
    """Movement -> what was decided about it last: one row, or one for each of several sums that it is."""
    found: dict[int, list[Row]] = {}
    for row in _decisions(work):
        before = found.get(row["entry"], [])
        together = row["state"] == SAME and before and before[-1]["state"] == SAME
        found[row["entry"]] = [*before, row] if together else [row]
    return found


def _entry(row: Any) -> BankEntry:
    original = row["original_minor"]
    return BankEntry(
        row["key"],
        date.fromisoformat(row["booked_on"]),
        Money.from_minor(row["amount_minor"], row["currency"]),
        row["name"],
        row["text"],
        row["reference"],
        Money.from_minor(original, row["original_currency"]) if original is not None else None,
        row["account"],
        row["own_id"],
    )


def set_entry(
    work: Connection, stamp: Stamp, entry: int, state: str, *, money_in: int | None = None, reason: str = ""
) -> None:
    """Write what became of a movement; the newest row counts, and all in a row that say SAME.

    money_in: the sum that it is, or that takes it back.
    """
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


class Became(TypedDict):
    """What was decided about a movement; money_in: the sum that it is, None for none or several."""

    state: str
    money_in: int | None
    reason: str
