"""What movements on the account pay: suggested, and booked only as a person says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.billing.matching import BankEntry, Suggestion, says, suggest
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.balances import balances, find_invoice
from bizkit.services.billing.bank_sums import (
    SumRow,
    candidates_of,
    payment_options,
    same_sums,
    structured_reference,
    the_sums,
    unmatched_sums,
)
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.payment import BalanceState
    from bizkit.services.billing.bank_rows import (
        EntryBooked,
        MayBe,
        MayBeOf,
        MovementAhead,
        MovementBooked,
        MovementDecided,
        MovementRow,
        SuggestionOf,
        SuggestionRow,
        SureBooked,
    )
    from bizkit.services.billing.bank_sums import Sum
    from bizkit.store.issued import IssuedBill
    from bizkit.store.stamp import Stamp

#: A suggestion of this score names the invoice and has exactly the sum.
SURE = 90


def list_bank(folder: StudioFolder, *, everything: bool = False) -> list[MovementRow]:
    """Movements that wait for a decision with the best suggestion, or all of them."""
    with folder.book.read() as work:
        rows = movement_rows(work)
    return [row for row in rows if everything or row["state"] == "open"]


def movement_rows(work: Connection, only: set[int] | None = None) -> list[MovementRow]:
    """Movements in the order read, of `only` these numbers or all: what became of each, or what it may pay.

    same: sums recorded by hand that an open one may be, together: several of one client. names: a settled invoice
    that an open one names, and what became of that.
    """
    from bizkit.store.bank import OPEN, entries

    rows: list[MovementRow] = []
    movements = [one for one in entries(work) if only is None or one[0] in only]
    any_open = any(became["state"] == OPEN for _, _, became in movements)
    candidates, sums, settled = (
        (candidates_of(work), unmatched_sums(work), _settled(work)) if any_open else ([], [], [])
    )
    for id_, entry, became in movements:
        waits = became["state"] == OPEN
        suggestions = suggest(entry, candidates) if waits else []
        named = _names_settled(entry, suggestions, settled) if waits else None
        if named:
            suggestions = [one for one in suggestions if one.named]
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
                "account": entry.account,
                **became,
                **(_same_data(same_sums(entry, sums)) if waits else _same_data([])),
                "names": {"invoice": named[0], "state": named[1]} if named else None,
                "suggestions": [_suggestion(one) for one in suggestions[:3]],
            }
        )
    return rows


def _same_data(groups: Sequence[tuple[Sum, ...]]) -> MayBe:
    """What a movement may be: `same` one sum each, `together` several at once."""
    return {
        "same": [group[0].data() for group in groups if len(group) == 1],
        "together": [[one.data() for one in group] for group in groups if len(group) > 1],
    }


def _suggestion(one: Suggestion) -> SuggestionRow:
    return {
        "parts": [{"invoice": number, "amount": part.text, "currency": part.currency} for number, part in one.parts],
        "score": one.score,
        "why": list(one.why),
    }


def book_entry(
    folder: StudioFolder,
    entry: int,
    on: date,
    *,
    invoices: Sequence[str] = (),
    payments: Sequence[str] = (),
    fee: str = "",
    accept_over: bool = False,
    owed_again: bool = False,
    another: bool = False,
    yes: bool = False,
) -> EntryBooked:
    """Book a movement: on the invoices named, or as suggested when `yes` and one suggestion stands out.

    payments: the sum or sums, recorded by hand, that the movement is (numbers, or the invoice of a deposit); then
    nothing more is booked. another: though such a sum of the client's was recorded, this is another one. Without any
    of them nothing is booked and the suggestions come back. Raises RuleBroken for one that is decided already, when
    no suggestion stands out or only the amount speaks for it, when the same sum was recorded, or for a movement dated
    after today without a reason; everything that a payment can raise.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = _the_entry(work, entry)
        if payments:
            linked = _link(work, stamp, entry, found, payments)
            return {"entry": entry, "booked": None, "is": linked, "suggestions": []}
        suggestions = suggest(found, candidates_of(work))
        same = same_sums(found, unmatched_sums(work))
        if not invoices and not yes:
            if _names_settled(found, suggestions, _settled(work)):
                suggestions = [one for one in suggestions if one.named]
            shown = [_suggestion(one) for one in suggestions[:5]]
            may = _same_data(same)
            return {
                "entry": entry, "booked": None, "same": may["same"], "together": may["together"],
                "suggestions": shown,
            }  # fmt: skip
        if not invoices:
            _check_named(work, entry, found, suggestions)
            _check_sign(entry, suggestions, same)
        stamp = folder.stamp(on, (f"movement {entry} of", found.booked_on))
        on_these = _invoices(work, found, suggestions, invoices)
        if not another:
            _check_same(entry, [one for one in same if one[0].client in _clients(one for one, _ in on_these)])
        booked = _book(work, stamp, entry, found, on_these, fee, accept_over, owed_again=owed_again)
    return {"entry": entry, "booked": booked, "suggestions": []}


def _link(work: Connection, stamp: Stamp, id_: int, entry: BankEntry, payments: Sequence[str]) -> list[SumRow]:
    """Note that a movement is what was recorded by hand, in one sum or several."""
    from bizkit.store.bank import DEPOSIT, SAME, set_entry

    sums = the_sums(work, id_, entry, payments)
    for one in sums:
        said = (
            f"payment {one.name}: {', '.join(one.invoices)}" if one.money_in is not None else f"{DEPOSIT}{one.name}"
        )
        set_entry(work, stamp, id_, SAME, money_in=one.money_in, reason=said)
    return [one.data() for one in sums]


def _settled(work: Connection) -> list[tuple[str, str, BalanceState]]:
    """Invoices of which nothing is left: number, structured reference and state."""
    from bizkit.store.register import bills

    now = balances(work)
    invoices = (one for one in bills(work) if one.kind == "invoice" and now[one.number].left.amount <= 0)
    return [(one.number, structured_reference(one), now[one.number].state) for one in invoices]


def _names_settled(
    entry: BankEntry, suggestions: Sequence[Suggestion], settled: Sequence[tuple[str, str, BalanceState]]
) -> tuple[str, BalanceState] | None:
    """The settled invoice that money names which came in, and its state, unless it surely pays another."""
    if entry.amount.amount <= 0 or (suggestions and suggestions[0].score >= SURE):
        return None
    found = ((number, state) for number, ref, state in settled if says(entry, number) or says(entry, ref))
    return next(found, None)


def _check_named(work: Connection, id_: int, entry: BankEntry, suggestions: Sequence[Suggestion]) -> None:
    """What names an invoice that is settled is not booked on another for its amount."""
    if named := _names_settled(entry, suggestions, _settled(work)):
        number, state = named
        raise RuleBroken(
            f"movement {id_} names {number}, which is {state}: if it came twice, say "
            f"--invoice {number} --accept-over; if it is for another, say which with --invoice"
        )


def _check_sign(id_: int, suggestions: Sequence[Suggestion], same: Sequence[tuple[Sum, ...]]) -> None:
    """Only what stands out, and not by its amount alone, is booked without naming the invoice."""
    perhaps = f"; or it is {_and(same[0])}: {payment_options(same[0])}" if same else ""
    if not _stands_out(suggestions):
        none = "no suggestion" if not suggestions else "no suggestion stands out"
        raise RuleBroken(f"movement {id_}: {none}: say which with --invoice{perhaps}")
    if not suggestions[0].signed:
        numbers = " ".join(f"--invoice {number}" for number, _ in suggestions[0].parts)
        raise RuleBroken(
            f"movement {id_}: only the amount speaks for it, no name, number or reference: if it is right, say "
            f"{numbers}{perhaps}"
        )


def _and(sums: Sequence[Sum]) -> str:
    return " and ".join(map(str, sums))


def _check_same(id_: int, same: Sequence[tuple[Sum, ...]]) -> None:
    """The same money is not booked twice."""
    if same:
        raise RuleBroken(
            f"movement {id_}: the same sum of this client was recorded by hand as {_and(same[0])}: say "
            f"{payment_options(same[0])} if it is the same money, --another if it came twice"
        )


def _clients(invoices: Iterable[IssuedBill]) -> set[str]:
    return {str(one.document["client"]["key"]) for one in invoices}


def book_sure(folder: StudioFolder, on: date, *, yes: bool = False) -> SureBooked:
    """Book every open movement that names an invoice and has exactly its sum; only show them without `yes`.

    same: those which may be a sum that was recorded by hand, ahead: those dated after today without a reason; they
    are left for a person.
    """
    from bizkit.store.bank import OPEN, entries

    folder.stamp(on)  # refuses a day ahead before anything is read
    booked: list[MovementBooked] = []
    found: list[SuggestionOf] = []
    left: list[MayBeOf] = []
    ahead: list[MovementAhead] = []
    with folder.book.work() as work:
        sums = unmatched_sums(work)
        for id_, entry, became in entries(work):
            if became["state"] != OPEN:
                continue
            suggestions = suggest(entry, candidates_of(work))
            if not suggestions or not _stands_out(suggestions) or suggestions[0].score < SURE:
                continue
            on_these = _invoices(work, entry, suggestions, ())
            clients = _clients(one for one, _ in on_these)
            same = [one for one in same_sums(entry, sums) if one[0].client in clients]
            if same:
                left.append({"entry": id_, **_same_data(same)})
                continue
            try:
                mine = folder.stamp(on, (f"movement {id_} of", entry.booked_on))
            except RuleBroken as error:
                ahead.append({"entry": id_, "on": entry.booked_on.isoformat(), "why": str(error)})
                continue
            found.append({"entry": id_, **_suggestion(suggestions[0])})
            if yes:
                booked.append(_book(work, mine, id_, entry, on_these, "", False))
    return {"found": found, "booked": booked, "same": left, "ahead": ahead}


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


def _invoices(
    work: Connection, entry: BankEntry, suggestions: Sequence[Suggestion], invoices: Sequence[str]
) -> list[tuple[IssuedBill, str]]:
    """The invoices that a movement is to be booked on, each with how it was said (NUMBER or NUMBER=AMOUNT)."""
    wanted = list(invoices)
    if not wanted:
        best = suggestions[0]
        wanted = [f"{number}={part.text}" for number, part in best.parts]
        whole = sum((part.amount for _, part in best.parts), Money(0, entry.amount.currency).amount)
        own = best.parts[0][1].currency
        came = next(money for money in (entry.amount, entry.original) if money and money.currency == own)
        if whole != came.amount:
            wanted = [number for number, _ in best.parts]
    return [(find_invoice(work, one.partition("=")[0]), one) for one in wanted]


def _book(
    work: Connection,
    stamp: Stamp,
    id_: int,
    entry: BankEntry,
    on_these: Sequence[tuple[IssuedBill, str]],
    fee: str,
    accept_over: bool,
    *,
    owed_again: bool = False,
) -> MovementBooked:
    """Write one movement as payments, in the caller's transaction."""

    from bizkit.services.billing.payments import Came, book, split
    from bizkit.store.bank import BOOKED, set_entry

    found = [invoice for invoice, _ in on_these]
    own = str(found[0].document["currency"])
    sums = [money for money in (entry.amount, entry.original) if money is not None and money.currency == own]
    if not sums:
        raise RuleBroken(
            f"movement {id_} is in {entry.amount.currency}, {found[0].number} in {own}: record it with "
            f"bizkit payment add --invoice {found[0].number} --account {entry.amount.text} "
            f"--account-currency {entry.amount.currency}, then bizkit bank book {id_} --payment NUMBER"
        )
    sum_ = sums[0]
    account = entry.amount if sum_.currency != entry.amount.currency else None
    kept = amount_of(fee, own, "--fee") if fee else None
    if kept is not None:
        sum_ = sum_ + kept  # the bank took it on the way: the client's debt goes down by what was sent
    wanted = [said for _, said in on_these if "=" in said and kept is None]
    parts = split(work, sum_, found, wanted, accept_over=accept_over)
    came_in = Came(entry.booked_on, sum_, fee=kept, account=account, reference=_said(entry))
    done = book(work, stamp, came_in, parts, accept_over=accept_over, owed_again=owed_again)
    set_entry(work, stamp, id_, BOOKED, money_in=done["id"], reason=", ".join(one["number"] for one in done["parts"]))
    return {"entry": id_, **done}


def _said(entry: BankEntry) -> str:
    """What the statement says about a movement, in one line."""
    return " ".join(" ".join((entry.reference, entry.text, entry.name)).split())[:140]


def set_aside(folder: StudioFolder, entry: int, on: date, *, reason: str) -> MovementDecided:
    """Note that a movement is no client's payment. Raises RuleBroken for one that is decided already."""
    from bizkit.store.bank import ASIDE, set_entry

    if not reason.strip():
        raise BadInput(wanted="why it is no payment of a client", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        _the_entry(work, entry)
        set_entry(work, stamp, entry, ASIDE, reason=reason.strip())
    return {"entry": entry, "state": ASIDE, "reason": reason.strip()}
