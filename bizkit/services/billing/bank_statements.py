"""Reading a bank's statement into the book: what is new, what was read before, what is left out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.bank_statement import Statement, alike, recognised
from bizkit.domain.errors import BadInput, NotFound
from bizkit.services.billing.bank import movement_rows
from bizkit.services.billing.bank_rows import MovementRow
from bizkit.services.studio.source_file import read_source
from bizkit.services.studio.studio_folder import MARK, StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.matching import BankEntry
    from bizkit.domain.statement_columns import StatementColumns

READ = "read statement"


def import_statement(
    folder: StudioFolder, path: Path, on: date, *, bank: str = "", currency: str = "", take: Sequence[int] = ()
) -> StatementRead:
    """Read a statement (CSV by the columns in studio.toml, or camt.053) and keep what was never read before.

    Nothing is booked. One wrong line refuses the whole file. bank: which `[statement.NAME]` of the settings, which is
    the account too. currency: of the account, where no column says it. take: lines of a CSV file that are movements
    though their words say otherwise. Raises BadInput, NotFound.
    """
    from bizkit.store.bank import add_entries, recorded
    from bizkit.store.canonical import sha256
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    content, statement = _read(folder, path, bank, currency, take)
    digest = sha256(content)
    with folder.book.work() as work:
        accounts = _accounts_of_files(work)
        days = [one.booked_on for one in statement] or [on]
        known = {one.number: one for one in recorded(work, min(days), max(days), accounts)}
        found = recognised(statement.movements, list(known.values()), _ibans(folder))
        fresh = [one for one, number in zip(statement, found, strict=True) if number is None]
        taken = {number for number in found if number is not None}
        others = alike(fresh, [one for one in known.values() if one.number not in taken])
        new = add_entries(work, stamp, fresh, digest)
        before = [(one, known[number]) for one, number in zip(statement, found, strict=True) if number is not None]
        older = {one.file: movement.account for movement, one in before if not one.account}
        if new or older:
            record(
                work, stamp, READ, path.name, sha256=digest, movements=len(statement), new=len(new),
                accounts=sorted({one.account for one in statement}), older=older,
            )  # fmt: skip
        rows = movement_rows(work, set(new))
    places = {number: one.place for number, one in zip(new, fresh, strict=True)}
    return {
        **_state(path.name, statement),
        "new": len(new),
        "seen_before": len(before),
        "read_before": [{**_movement(one), "entry": same.number} for one, same in before],
        "alike": [
            {
                "entry": new[index],
                "as": one.number,
                "account": one.account,
                "of": fresh[index].account,
                **_movement(one.movement),
            }
            for index, one in others
        ],
        "ahead": [number for number, one in zip(new, fresh, strict=True) if folder.is_ahead(one.booked_on)],
        "rows": [{**row, "place": places[row["entry"]]} for row in rows],
    }


def refused(path: Path, error: BadInput) -> StatementRead:
    """What there is to say of a file of which nothing was read."""
    return {
        **_state(path.name, Statement(())),
        "new": 0,
        "seen_before": 0,
        "read_before": [],
        "alike": [],
        "ahead": [],
        "rows": [],
        "refused": str(error),
    }


def _state(name: str, statement: Statement) -> FileState:
    return {
        "file": name,
        "movements": len(statement),
        "left_out": [{"place": one.place, "said": one.said, "why": one.why} for one in statement.left_out],
        "refused": "",
    }


def _movement(one: BankEntry) -> MovementSaid:
    return {
        "place": one.place,
        "on": one.booked_on.isoformat(),
        "amount": one.amount.text,
        "currency": one.amount.currency,
        "said": " ".join(part for part in (one.name, one.reference, one.text) if part),
    }


def _ibans(folder: StudioFolder) -> dict[str, str]:
    """Statement of the settings -> the IBAN of its account, where it is said."""
    return {name: columns.iban for name, columns in folder.studio.statements.items() if columns.iban}


def _accounts_of_files(work: Connection) -> dict[str, str]:
    """Files whose account was not kept (books of the first version) -> the account that a later file showed."""
    from bizkit.store.events import of_verb

    found: dict[str, str] = {}
    for one in of_verb(work, READ):
        for file, account in one.data.get("older", {}).items():
            found.setdefault(file, account)
    return found


def _read(folder: StudioFolder, path: Path, bank: str, currency: str, take: Sequence[int]) -> tuple[bytes, Statement]:
    from bizkit.exchange.bank.camt053 import MOST_BYTES, read_camt053
    from bizkit.exchange.bank.statement_csv import read_statement

    content = read_source(path, "a bank statement", most=MOST_BYTES)
    head = content[:200].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if head.startswith(b"<"):
        if take:
            raise BadInput(wanted="a CSV file", got=f"camt.053: {path.name}", field="--take")
        return content, read_camt053(content, where=path.name)
    name, columns = _columns(folder, bank)
    code = (currency or folder.studio.currency).upper()
    return content, read_statement(content, columns, code, account=name, take=take, where=path.name)


def _columns(folder: StudioFolder, bank: str) -> tuple[str, StatementColumns]:
    """The name and the columns of the statement to read."""
    known = folder.studio.statements
    if bank:
        if bank not in known:
            raise NotFound("bank", bank, known, field="--bank", hint="" if known else f"Write [statement.{bank}]")
        return bank, known[bank]
    if len(known) == 1:
        return next(iter(known.items()))
    if known:
        raise BadInput(wanted=f"--bank, one of {', '.join(known)}", got="none", field="--bank")
    raise BadInput(
        wanted="the columns of your bank's CSV in a [statement.NAME] table",
        got="none",
        where=MARK,
        hint='Such as: [statement.harbour] date = "Date", amount = "Amount", text = "Description"',
    )


class FileState(TypedDict):
    """A file of movements: how many, what was left out, and why it was refused, empty where it was not."""

    file: str
    movements: int
    left_out: list[LeftOut]
    refused: str


class StatementRead(FileState):
    """What reading a file of movements came to. alike: new ones that look like older ones of other accounts."""

    new: int
    seen_before: int
    read_before: list[MovementSeen]
    alike: list[MovementAlike]
    ahead: list[int]
    rows: list[MovementRead]


class LeftOut(TypedDict):
    """A line that is no movement."""

    place: str
    said: str
    why: str


class MovementSaid(TypedDict):
    """A movement as its file says it."""

    place: str
    on: str
    amount: str
    currency: str
    said: str


class MovementSeen(MovementSaid):
    """One that was read before, under its number."""

    entry: int


class MovementRead(MovementRow):
    """A movement just read, and where it stands in the file."""

    place: str


#: The number of the older movement.
_As = TypedDict("_As", {"as": int})


class MovementAlike(MovementSaid, _As):
    """A new one that looks like an older one; as: that one, account and of: their accounts."""

    entry: int
    account: str
    of: str
