"""A bank statement as read, and which of its movements are in the book already.

A movement is known by its account, its own id on the statement, its day, its amount and its text, all together:
banks repeat ids (numbered anew on each statement, one for a whole batch, a word that means none), and an id with
other facts is another movement. Equal movements are counted: as many as a file has are that many, and of those that a
file read later has, as many are the same as are in the book. No row is ever dropped for an equal row of its own file.

Ids that mean "none": NONREF (SWIFT message standards, field 21 of the category 9 messages: the code where no related
reference was received), NOTPROVIDED (European Payments Council, guidelines for credit transfers, from memory); the
others are common practice.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Final

from bizkit.domain.billing.matching import BankEntry

#: What banks write where a movement has no id of its own, in capitals without signs.
NO_ID: Final = frozenset({"NONREF", "NOTPROVIDED", "NONE", "NOREF", "NA", "NULL", "NIL", "UNKNOWN", "KEINE"})


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row of a statement that is no movement. place: where it stands. said: what it says. why: in a few words."""

    place: str
    said: str
    why: str


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement as read: its movements in file order, which it is gone through by, and the rows left out."""

    movements: tuple[BankEntry, ...]
    left_out: tuple[LeftOut, ...] = ()

    def __len__(self) -> int:
        return len(self.movements)

    def __iter__(self) -> Iterator[BankEntry]:
        return iter(self.movements)

    def __getitem__(self, index: int) -> BankEntry:
        return self.movements[index]


@dataclass(frozen=True, slots=True)
class Recorded:
    """A movement that is in the book.

    account: empty where it was not kept (books of the first version: CSV files). ids: what its own id may have been;
    none where it had no id. without_ids: nothing of its file had an id, or it was not kept, so that no id speaks
    against it. silent: texts that nothing of its file had, as where no column was described for them. file: SHA-256
    of the file it was first read from.
    """

    number: int
    movement: BankEntry
    account: str
    ids: frozenset[str]
    without_ids: bool = False
    file: str = ""
    silent: frozenset[str] = frozenset()


def own_id(text: str) -> str:
    """The id that a statement gives a movement, empty where what it writes means none.

    >>> own_id(" NONREF "), own_id("000-0"), own_id("FT 27141/3")
    ('', '', 'FT 27141/3')
    """
    bare = "".join(sign for sign in text.upper() if sign.isalnum())
    return "" if not bare.strip("0") or bare in NO_ID else " ".join(text.split())


def facts(movement: BankEntry) -> tuple[str, ...]:
    """Day, amount, currency, name, text and reference, however spaced."""
    said = (movement.name, movement.text, movement.reference)
    return (
        movement.booked_on.isoformat(),
        movement.amount.text,
        movement.amount.currency,
        *(" ".join(unicodedata.normalize("NFC", text).split()) for text in said),
    )


#: The texts of a movement, in the order of `facts`.
TEXTS: Final = ("name", "text", "reference")


def silent_of(movements: Iterable[BankEntry]) -> frozenset[str]:
    """The texts that none of the movements of a file has."""
    each = list(movements)
    return frozenset(field for field in TEXTS if not any(getattr(one, field) for one in each))


def key_of(movement: BankEntry, count: int) -> str:
    """What names a movement in the book: digest of all it is known by, and which of equal ones it is (from 1)."""
    parts = (movement.account, own_id(movement.own_id), *facts(movement), str(count))
    return "m:" + sha256("\x1f".join(parts).encode()).hexdigest()[:40]


def numbered(movements: Sequence[BankEntry]) -> tuple[BankEntry, ...]:
    """The movements of one file with their keys as `id`, equal ones counted."""
    seen: dict[str, int] = {}
    result = []
    for movement in movements:
        first = key_of(movement, 1)
        seen[first] = seen.get(first, 0) + 1
        result.append(replace(movement, id=key_of(movement, seen[first])))
    return tuple(result)


def words_of(movement: BankEntry) -> frozenset[str]:
    """What its texts say, in whatever order and column: words and numbers in small letters, without accents.

    >>> from datetime import date
    >>> from bizkit.domain.money import Money
    >>> sorted(words_of(BankEntry("", date(2027, 5, 20), Money("1", "GBP"), "Skerrow, Ltd", "GL-2027-0001")))
    ['0001', '2027', 'gl', 'ltd', 'skerrow']
    """
    said = " ".join((movement.name, movement.text, movement.reference))
    plain = unicodedata.normalize("NFKD", said).encode("ascii", "ignore").decode().lower()
    return frozenset(re.findall(r"[a-z0-9]+", plain))


def recognised(
    read: Sequence[BankEntry], recorded: Sequence[Recorded], ibans: Mapping[str, str] | None = None
) -> list[int | None]:
    """For each movement of one file the number of the one in the book that it is, None for a new one.

    Each in the book is taken once. Those whose ids agree are paired first; where one side has no ids at all (a column
    of ids that was described to us later), an id does not tell them apart, and neither does a text in the end.

    ibans: account as a file of columns names it -> its IBAN. The same account in a file of another kind has other
    ids, and its texts in other columns: there day, amount and words tell, where one has all the words of the other.
    """
    known_as = ibans or {}

    silent = silent_of(read)
    told = {movement.account for movement in read if movement.own_id}
    waiting: dict[tuple[str, ...], list[Recorded]] = {}
    for one in recorded:
        waiting.setdefault(facts(one.movement), []).append(one)

    def agree(movement: BankEntry, one: Recorded) -> bool:
        mine = own_id(movement.own_id)
        return mine in one.ids if mine else not one.ids

    def no_id_speaks(movement: BankEntry, one: Recorded) -> bool:
        return one.without_ids or movement.account not in told

    def of_account(movement: BankEntry, one: Recorded) -> bool:
        return one.account in ("", movement.account)

    def of_the_other_kind(movement: BankEntry, one: Recorded) -> bool:
        names = (one.account, movement.account)
        mine, theirs = words_of(movement), words_of(one.movement)
        same = known_as.get(names[0], names[0]) == known_as.get(names[1], names[1]) and names[0] != names[1]
        return same and bool(mine and theirs) and (mine <= theirs or theirs <= mine)

    def texts_agree(movement: BankEntry, one: Recorded) -> bool:
        pairs = zip(TEXTS, facts(movement)[3:], facts(one.movement)[3:], strict=True)
        return all(mine == theirs or field in silent | one.silent for field, mine, theirs in pairs)

    found: list[int | None] = [None] * len(read)
    for same in (agree, no_id_speaks):
        for index, movement in enumerate(read):
            rows = waiting.get(facts(movement), [])
            mine = (one for one in rows if of_account(movement, one) and same(movement, one))
            if found[index] is None and (taken := next(mine, None)) is not None:
                found[index] = taken.number
                rows.remove(taken)
    rest: dict[tuple[str, ...], list[Recorded]] = {}
    for one in (each for rows in waiting.values() for each in rows):
        rest.setdefault(facts(one.movement)[:3], []).append(one)
    for same in (agree, no_id_speaks):
        for index, movement in enumerate(read):
            rows = rest.get(facts(movement)[:3], [])
            mine = (
                one
                for one in rows
                if of_account(movement, one) and same(movement, one) and texts_agree(movement, one)
            )
            if found[index] is None and (taken := next(mine, None)) is not None:
                found[index] = taken.number
                rows.remove(taken)
    for index, movement in enumerate(read):
        rows = rest.get(facts(movement)[:3], [])
        mine = (one for one in rows if of_the_other_kind(movement, one))
        if found[index] is None and (taken := next(mine, None)) is not None:
            found[index] = taken.number
            rows.remove(taken)
    return found


def alike(fresh: Sequence[BankEntry], recorded: Sequence[Recorded]) -> list[tuple[int, Recorded]]:
    """Movements that are new by all they are known by, but have day and sum of one in the book: place and that one.

    A table of columns by another name is another account, and a bank may word its texts anew.
    """
    known: dict[tuple[str, ...], Recorded] = {}
    for one in recorded:
        known.setdefault(facts(one.movement)[:3], one)
    pairs = ((index, known.get(facts(movement)[:3])) for index, movement in enumerate(fresh))
    return [(index, one) for index, one in pairs if one is not None]
