"""Bank statements: read once, suggest what each movement pays, book only what a person says."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.matching import BankEntry, Candidate, Suggestion, suggest
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.statement_columns import StatementColumns
from bizkit.services.billing.balances import balances, find_invoice, owed
from bizkit.services.studio.studio_folder import MARK, StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp

#: A suggestion of this score names the invoice and has exactly the sum.
SURE = 90


def import_statement(
    folder: StudioFolder, path: Path, on: date, *, bank: str = "", currency: str = ""
) -> dict[str, Any]:
    """Read a statement (CSV by the columns in studio.toml, or camt.053) and keep what was never read before.

    Nothing is booked. One wrong line refuses the whole file. bank: which `[statement.NAME]` of the settings.
    currency: of the account, where no column says it. Raises BadInput, NotFound.
    """
    from bizkit.services.studio.toml_file import sha256_of_bytes
    from bizkit.store.bank import add_entries
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    content, read = _read(folder, path, bank, currency)
    digest = sha256_of_bytes(content)
    with folder.book.work() as work:
        new = add_entries(work, stamp, read, digest)
        if new:
            record(work, stamp, "read statement", path.name, sha256=digest, movements=len(read), new=len(new))
        rows = [row for row in _rows(folder, work) if row["entry"] in set(new)]
    return {
        "file": path.name,
        "movements": len(read),
        "new": len(new),
        "seen_before": len(read) - len(new),
        "rows": rows,
    }


def _read(folder: StudioFolder, path: Path, bank: str, currency: str) -> tuple[bytes, list[BankEntry]]:
    from bizkit.exchange.bank.camt053 import read_camt053
    from bizkit.exchange.bank.statement_csv import read_statement

    try:
        content = path.read_bytes()
    except OSError as error:
        raise BadInput(wanted="a bank statement", got=error.strerror, where=str(path)) from None
    head = content[:200].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if head.startswith(b"<"):
        return content, read_camt053(content, where=path.name)
    columns = _columns(folder, bank)
    return content, read_statement(content, columns, (currency or folder.studio.currency).upper(), where=path.name)


def _columns(folder: StudioFolder, bank: str) -> StatementColumns:
    known = folder.studio.statements
    if bank:
        if bank not in known:
            raise NotFound("bank", bank, known, field="--bank", hint="" if known else f"Write [statement.{bank}]")
        return known[bank]
    if len(known) == 1:
        return next(iter(known.values()))
    if known:
        raise BadInput(wanted=f"--bank, one of {', '.join(known)}", got="none", field="--bank")
    raise BadInput(
        wanted="the columns of your bank's CSV in a [statement.NAME] table",
        got="none",
        where=MARK,
        hint='Such as: [statement.harbour] date = "Date", amount = "Amount", text = "Description"',
    )


def list_bank(folder: StudioFolder, *, everything: bool = False) -> list[dict[str, Any]]:
    """Movements that wait for a decision with the best suggestion, or all of them."""
    with folder.book.read() as work:
        rows = _rows(folder, work)
    return [row for row in rows if everything or row["state"] == "open"]


def _rows(folder: StudioFolder, work: Connection) -> list[dict[str, Any]]:
    from bizkit.store.bank import OPEN, entries

    candidates = _candidates(work)
    rows = []
    for id_, entry, became in entries(work):
        suggestions = suggest(entry, candidates) if became["state"] == OPEN else []
        rows.append(
            {
                "entry": id_,
                "on": entry.booked_on.isoformat(),
                "amount": entry.amount.text,
                "currency": entry.amount.currency,
                "original": entry.original.text if entry.original else "",
                "original_currency": entry.original.currency if entry.original else "",
                "name": entry.name,
                "text": entry.text,
                "reference": entry.reference,
                **became,
                "suggestions": [_suggestion(one) for one in suggestions[:3]],
            }
        )
    return rows


def _suggestion(one: Suggestion) -> dict[str, Any]:
    return {
        "parts": [{"invoice": number, "amount": part.text, "currency": part.currency} for number, part in one.parts],
        "score": one.score,
        "why": list(one.why),
    }


def _candidates(work: Connection) -> list[Candidate]:
    """Open invoices: what is left of each, whom it was sent to, and the structured reference of its number."""
    from bizkit.exchange.identifiers import creditor_reference
    from bizkit.store.issued import of_kind

    now = balances(work)
    found = []
    for one in of_kind(work, "invoice"):
        left = now[one.number].left
        if left.amount > 0:
            try:
                reference = creditor_reference(one.document["payment"]["reference"])
            except BadInput:
                reference = ""
            found.append(Candidate(owed(one), left, one.document["client"]["name"], reference))
    return found


def book_entry(
    folder: StudioFolder,
    entry: int,
    on: date,
    *,
    invoices: Sequence[str] = (),
    fee: str = "",
    accept_over: bool = False,
    yes: bool = False,
) -> dict[str, Any]:
    """Book a movement: on the invoices named, or as suggested when `yes` and one suggestion stands out.

    Without either nothing is booked and the suggestions come back. Raises RuleBroken for one that is decided already,
    or when no suggestion stands out; everything that a payment can raise.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = _the_entry(work, entry)
        suggestions = suggest(found, _candidates(work))
        if not invoices and not yes:
            return {"entry": entry, "booked": None, "suggestions": [_suggestion(one) for one in suggestions[:5]]}
        booked = _book(folder, work, stamp, entry, found, suggestions, invoices, fee, accept_over)
    return {"entry": entry, "booked": booked, "suggestions": []}


def book_sure(folder: StudioFolder, on: date, *, yes: bool = False) -> dict[str, Any]:
    """Book every open movement that names an invoice and has exactly its sum; only show them without `yes`."""
    from bizkit.store.bank import OPEN, entries

    stamp = folder.stamp(on)
    booked, found = [], []
    with folder.book.work() as work:
        for id_, entry, became in entries(work):
            if became["state"] != OPEN:
                continue
            suggestions = suggest(entry, _candidates(work))
            if not suggestions or not _stands_out(suggestions) or suggestions[0].score < SURE:
                continue
            found.append({"entry": id_, **_suggestion(suggestions[0])})
            if yes:
                booked.append(_book(folder, work, stamp, id_, entry, suggestions, (), "", False))
    return {"found": found, "booked": booked}


def _stands_out(suggestions: Sequence[Suggestion]) -> bool:
    return bool(suggestions) and (len(suggestions) == 1 or suggestions[0].score > suggestions[1].score)


def _the_entry(work: Connection, entry: int) -> BankEntry:
    from bizkit.store.bank import OPEN, entries

    found = entries(work, entry)
    if not found:
        known = [str(id_) for id_, _, _ in entries(work)]
        raise NotFound("movement", entry, known, field="MOVEMENT", hint="Read a statement: bizkit bank import FILE")
    if found[0][2]["state"] != OPEN:
        state, reason = found[0][2]["state"], found[0][2]["reason"]
        raise RuleBroken(
            f"movement {entry} is {state} already" + (f": {reason}" if reason else "")
            + f": take it back first with bizkit bank reopen {entry}"
        )  # fmt: skip
    return found[0][1]


def _book(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    id_: int,
    entry: BankEntry,
    suggestions: Sequence[Suggestion],
    invoices: Sequence[str],
    fee: str,
    accept_over: bool,
) -> dict[str, Any]:
    """Write one movement as payments, in the caller's transaction."""
    from bizkit.services.billing.issuing import amount_of
    from bizkit.services.billing.payments import Came, book, split
    from bizkit.store.bank import BOOKED, set_entry

    wanted = list(invoices)
    if not wanted:
        if not _stands_out(suggestions):
            raise RuleBroken(
                f"movement {id_}: {'no suggestion' if not suggestions else 'no suggestion stands out'}: "
                "say which with --invoice"
            )
        wanted = [f"{number}={part.text}" for number, part in suggestions[0].parts]
        whole = sum((part.amount for _, part in suggestions[0].parts), Money(0, entry.amount.currency).amount)
        own = suggestions[0].parts[0][1].currency
        came = next(money for money in (entry.amount, entry.original) if money and money.currency == own)
        if whole != came.amount:
            wanted = [number for number, _ in suggestions[0].parts]
    found = [find_invoice(work, one.partition("=")[0]) for one in wanted]
    own = str(found[0].document["currency"])
    sums = [money for money in (entry.amount, entry.original) if money is not None and money.currency == own]
    if not sums:
        raise RuleBroken(
            f"movement {id_} is in {entry.amount.currency}, {found[0].number} in {own}: record it with "
            f"bizkit payment add --invoice {found[0].number} --account {entry.amount.text} "
            f"--account-currency {entry.amount.currency}, then bizkit bank aside {id_}"
        )
    sum_ = sums[0]
    account = entry.amount if sum_.currency != entry.amount.currency else None
    kept = amount_of(fee, own, "--fee") if fee else None
    if kept is not None:
        sum_ = sum_ + kept  # the bank took it on the way: the client's debt goes down by what was sent
    parts = split(work, sum_, found, [one for one in wanted if "=" in one and kept is None], accept_over=accept_over)
    came_in = Came(entry.booked_on, sum_, fee=kept, account=account, reference=_said(entry))
    done = book(work, stamp, came_in, parts, accept_over=accept_over)
    set_entry(work, stamp, id_, BOOKED, money_in=done["id"], reason=", ".join(one["number"] for one in done["parts"]))
    return {"entry": id_, **done}


def _said(entry: BankEntry) -> str:
    """What the statement says about a movement, in one line."""
    return " ".join(" ".join((entry.reference, entry.text, entry.name)).split())[:140]


def set_aside(folder: StudioFolder, entry: int, on: date, *, reason: str) -> dict[str, Any]:
    """Note that a movement is no client's payment. Raises RuleBroken for one that is decided already."""
    from bizkit.store.bank import ASIDE, set_entry

    if not reason.strip():
        raise BadInput(wanted="why it is no payment of a client", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        _the_entry(work, entry)
        set_entry(work, stamp, entry, ASIDE, reason=reason.strip())
    return {"entry": entry, "state": ASIDE, "reason": reason.strip()}


def reopen(folder: StudioFolder, entry: int, on: date, *, reason: str) -> dict[str, Any]:
    """Take back what was decided about a movement; what was booked is taken back by payments below zero."""
    from bizkit.domain.billing.payment import Payment
    from bizkit.store.bank import BOOKED, OPEN, entries, set_entry
    from bizkit.store.events import record
    from bizkit.store.payments import add_money_in, add_payment, all_money_in, payments_by_id

    if not reason.strip():
        raise BadInput(wanted="why it is taken back", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = entries(work, entry)
        if not found or found[0][2]["state"] == OPEN:
            raise RuleBroken(f"movement {entry} is not decided: there is nothing to take back")
        became = found[0][2]
        if became["state"] == BOOKED and became["money_in"] is not None:
            (sum_,) = all_money_in(work, became["money_in"])
            by_id = payments_by_id(work)
            ids = []
            for one in (by_id[each] for each in sum_["payments"]):
                back = Payment(one.invoice, one.received_on, -one.amount, reference=f"taken back: {reason.strip()}")
                ids.append(add_payment(work, stamp, back))
            amount = Money(sum_["amount"], sum_["currency"])
            add_money_in(
                work, stamp, client=sum_["client"], on=date.fromisoformat(sum_["on"]), amount=-amount, fee=None,
                account=None, reference=f"taken back: {reason.strip()}", payments=ids,
            )  # fmt: skip
        set_entry(work, stamp, entry, OPEN, reason=reason.strip())
        record(work, stamp, "took back", f"movement {entry}", reason=reason.strip())
    return {"entry": entry, "state": OPEN, "reason": reason.strip()}
