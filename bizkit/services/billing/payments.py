"""Money received: for one invoice or several at once, in part, too much, back again, with fees and in other money."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.payment import OVERPAID, Balance, Payment, check_payment, spread
from bizkit.domain.billing.records import Issued as Paper
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.balances import balance_of, balances, find_invoice, owed
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.billing.payment_rows import Paid, PartBooked, PaymentRow, SumBooked
    from bizkit.store.issued import IssuedBill
    from bizkit.store.stamp import Stamp


@dataclass(frozen=True, slots=True)
class Came:
    """A sum as it came in. amount: what the client's debt goes down by, below zero for a refund.

    fee: what a bank kept of it on the way. account: what reached the account where that is other money.
    """

    on: date
    amount: Money
    fee: Money | None = None
    account: Money | None = None
    reference: str = ""


def record_payment(
    folder: StudioFolder,
    invoice: str,
    on: date,
    *,
    amount: str | None = None,
    currency: str = "",
    reference: str = "",
    accept_over: bool = False,
) -> Paid:
    """Record money received for one invoice; all that is left when no amount is given.

    Raises RuleBroken for a payment before the invoice, in another currency, or of more than is left.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, invoice)
        own = str(found.document["currency"])
        if amount is None:
            left = balance_of(work, found).left
            if left.amount <= 0:
                raise RuleBroken(f"{found.number} is {balance_of(work, found).state}: nothing is left")
            sum_ = left
        else:
            sum_ = amount_of(amount, currency or own, "AMOUNT")
            _check_came(sum_, found.number)
        done = book(work, stamp, Came(on, sum_, reference=reference), [(found, sum_)], accept_over=accept_over)
    part = done["parts"][0]
    return {
        "number": found.number,
        "received": sum_.text,
        "currency": sum_.currency,
        "balance": part["balance"],
        "state": part["state"],
        "id": done["id"],
        "same": done["same"],
    }


def receive(
    folder: StudioFolder,
    on: date,
    *,
    amount: str,
    client: str = "",
    invoices: Sequence[str] = (),
    currency: str = "",
    fee: str = "",
    account: str = "",
    account_currency: str = "",
    reference: str = "",
    accept_over: bool = False,
) -> SumBooked:
    """Record one sum for several invoices: those named, else all that the client has open, the longest due first.

    invoices: numbers, or NUMBER=AMOUNT for how much of the sum goes to it. Raises RuleBroken when more came than is
    left of them (unless `accept_over`, which keeps the rest on the last), BadInput for parts that do not add up.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        candidates = _candidates(folder, work, client, invoices, currency)
        own = str(candidates[0].document["currency"])
        if currency and currency.upper() != own:
            raise RuleBroken(
                f"{candidates[0].number} is in {own}, the payment in {currency.upper()}: give the sum in {own} that "
                "it settles, and what reached the account with --account and --account-currency"
            )
        sum_ = amount_of(amount, own, "AMOUNT")
        _check_came(sum_, candidates[0].number)
        came = Came(
            on,
            sum_,
            fee=amount_of(fee, own, "--fee") if fee else None,
            account=_account(account, account_currency, folder.studio.currency),
            reference=reference,
        )
        parts = split(work, sum_, candidates, invoices, accept_over=accept_over)
        return book(work, stamp, came, parts, accept_over=accept_over)


def refund(
    folder: StudioFolder,
    invoice: str,
    on: date,
    *,
    amount: str | None = None,
    reference: str = "",
    owed_again: bool = False,
) -> SumBooked:
    """Record money paid back: all that was overpaid when no amount is given.

    Raises RuleBroken for more than came, and for more than was overpaid unless the rest is `owed_again`.
    """
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        found = find_invoice(work, invoice)
        before = balance_of(work, found)
        if amount is None:
            if before.state != OVERPAID:
                raise RuleBroken(f"{found.number} is not overpaid: {before.left} is left; say how much is paid back")
            sum_ = -before.left
        else:
            sum_ = amount_of(amount, before.left.currency, "AMOUNT")
        if sum_.amount <= 0:
            raise BadInput(wanted="an amount above zero", got=sum_, field="AMOUNT")
        return book(work, stamp, Came(on, -sum_, reference=reference), [(found, -sum_)], owed_again=owed_again)


def split(
    work: Connection,
    sum_: Money,
    candidates: Sequence[IssuedBill],
    wanted: Sequence[str] = (),
    *,
    accept_over: bool = False,
) -> list[tuple[IssuedBill, Money]]:
    """A sum set against invoices. wanted: the parts as typed, where the person says them."""
    said = {number: part for number, sign, part in (one.partition("=") for one in wanted) if sign}
    if said:
        if len(said) != len(wanted):
            raise BadInput(wanted="an amount for each invoice, or for none", got=", ".join(wanted), field="--invoice")
        parts = [(one, amount_of(said[one.number], sum_.currency, "--invoice")) for one in candidates]
        whole = total((part for _, part in parts), sum_.currency)
        if whole != sum_:
            raise BadInput(wanted=f"parts that add up to {sum_}", got=f"parts of {whole}", field="--invoice")
        return parts
    if sum_.amount < 0:
        if len(candidates) != 1:
            raise BadInput(wanted="one invoice for money paid back", got=len(candidates), field="--invoice")
        return [(candidates[0], sum_)]
    by_number = {one.number: one for one in candidates}
    left = {one.number: balance_of(work, one).left for one in candidates}
    set_, over = spread(sum_, [(owed(one.entry), left[one.number]) for one in candidates])
    parts = [(by_number[each.number], part) for each, part in set_]
    if over.amount > 0:
        if not accept_over:
            raise RuleBroken(
                f"{sum_} is {over} more than is left of {', '.join(by_number)}: name more invoices, or take it "
                "with --accept-over"
            )
        last, part = parts.pop() if parts else (candidates[-1], Money(0, sum_.currency))
        parts.append((last, part + over))
    return parts


def book(
    work: Connection,
    stamp: Stamp,
    came: Came,
    parts: Sequence[tuple[IssuedBill, Money]],
    *,
    accept_over: bool = False,
    owed_again: bool = False,
) -> SumBooked:
    """Write a sum and its parts, each checked, in the caller's transaction."""
    from bizkit.store.events import record
    from bizkit.store.payments import add_money_in, add_payment

    weights = [abs(part.amount) for _, part in parts]
    fees = came.fee.allocate(weights) if came.fee else [None] * len(parts)
    accounts = came.account.allocate(weights) if came.account else [None] * len(parts)
    clients = {one.document["client"]["key"] for one, _ in parts}
    if len(clients) > 1:
        raise RuleBroken(f"one sum cannot settle invoices of {' and '.join(sorted(clients))}: record it per client")
    same = _said_before(work, came, parts)
    ids, rows = [], []
    for (invoice, part), fee, account in zip(parts, fees, accounts, strict=True):
        payment = Payment(invoice.number, came.on, part, fee=fee, received=account, reference=came.reference)
        before = balance_of(work, invoice)
        check_payment(owed(invoice.entry), payment, before, accept_over=accept_over, owed_again=owed_again)
        ids.append(add_payment(work, stamp, payment))
        after = balance_of(work, invoice)
        verb = "set off" if not came.amount else "paid" if part.amount > 0 else "refunded"
        record(
            work, stamp, verb, invoice.key, number=invoice.number,
            amount=part.text, currency=part.currency,
        )  # fmt: skip
        rows.append(_part(invoice, payment, after))
    done = add_money_in(
        work, stamp, client=clients.pop(), on=came.on, amount=came.amount, fee=came.fee, account=came.account,
        reference=came.reference, payments=ids,
    )  # fmt: skip
    return {
        "id": done,
        "on": came.on.isoformat(),
        "amount": came.amount.text,
        "currency": came.amount.currency,
        "fee": came.fee.text if came.fee else "0.00",
        "account": came.account.text if came.account else "",
        "account_currency": came.account.currency if came.account else "",
        "reference": came.reference,
        "parts": rows,
        "same": same,
    }


def _said_before(work: Connection, came: Came, parts: Sequence[tuple[IssuedBill, Money]]) -> list[int]:
    """The sums that say just what a new one says, those that an equal sum the other way took back left out."""
    from bizkit.store.payments import all_money_in, payments_by_id

    by_id = payments_by_id(work)
    new = sorted((invoice.number, part.minor) for invoice, part in parts)
    back = sorted((number, -part) for number, part in new)
    same, gone = [], 0
    for one in all_money_in(work):
        said = sorted((by_id[each].invoice, by_id[each].amount.minor) for each in one.payments)
        gone += said == back and one.on >= came.on.isoformat()
        same += [one.id] if said == new and one.on == came.on.isoformat() else []
    return same[gone:]


def _part(invoice: IssuedBill, payment: Payment, after: Balance) -> PartBooked:
    return {
        "number": invoice.number,
        "amount": payment.amount.text,
        "fee": payment.fee.text if payment.fee else "0.00",
        "balance": after.left.text,
        "state": after.state,
        "exchange_difference": exchange_difference(invoice.document, payment),
    }


def exchange_difference(document: Mapping[str, Any], payment: Payment) -> str:
    """What the account received and the bank kept, less the payment at the invoice's own rate; empty in home money.

    Above zero is a gain. The bank's fee is a cost of its own and is not counted as a loss.
    """
    home = document.get("tax_in")
    found = Paper.from_document(document).exchange_difference(payment, home["currency"]) if home else None
    return "" if found is None else found.text


def list_payments(folder: StudioFolder, *, client: str = "", invoice: str = "") -> list[PaymentRow]:
    """Every sum that came in or went back, by day; of one client or for one invoice.

    A deposit has no `id`: the invoice that was issued for it is its record.
    """
    from bizkit.store.issued import numbered
    from bizkit.store.payments import all_money_in, deposits, payments_by_id

    with folder.book.read() as work:
        by_id = payments_by_id(work)
        abroad = sorted({part.invoice for part in by_id.values() if part.received is not None})
        documents = {one.number: one.document for one in numbered(work, abroad)}
        if invoice:
            find_invoice(work, invoice)
        rows: list[PaymentRow] = []
        for one in all_money_in(work):
            parts = [by_id[each] for each in one.payments]
            if (client and one.client != client) or (invoice and invoice not in {part.invoice for part in parts}):
                continue
            rows.append(
                {
                    "id": one.id,
                    "client": one.client,
                    "on": one.on,
                    "amount": one.amount.text,
                    "currency": one.currency,
                    "fee": one.fee.text,
                    "reference": one.reference,
                    "account": one.account.text if one.account is not None else "",
                    "account_currency": one.account_currency,
                    "parts": [
                        {
                            "number": part.invoice,
                            "amount": part.amount.text,
                            "exchange_difference": exchange_difference(documents.get(part.invoice, {}), part),
                        }
                        for part in parts
                    ],
                }
            )
        for whose, deposit in deposits(work):
            if client in ("", whose) and invoice in ("", deposit.invoice):
                came = deposit.amount.text
                rows.append(
                    {
                        "id": None,
                        "client": whose,
                        "on": deposit.received_on.isoformat(),
                        "amount": came,
                        "currency": deposit.amount.currency,
                        "fee": Money(0, deposit.amount.currency).rounded().text,
                        "reference": "",
                        "account": "",
                        "account_currency": "",
                        "parts": [{"number": deposit.invoice, "amount": came, "exchange_difference": ""}],
                    }
                )
    return sorted(rows, key=lambda row: str(row["on"]))


def _candidates(
    folder: StudioFolder, work: Connection, client: str, invoices: Sequence[str], currency: str
) -> list[IssuedBill]:
    """The invoices named, else everything that the client has open."""
    from bizkit.store.issued import numbered
    from bizkit.store.register import bills

    if invoices:
        found = [find_invoice(work, one.partition("=")[0]) for one in invoices]
        if client and any(one.document["client"]["key"] != client for one in found):
            raise RuleBroken(f"not all of {', '.join(one.number for one in found)} are invoices of {client}")
    else:
        if not client:
            raise BadInput(wanted="--client or --invoice", got="neither", field="--client")
        now = balances(work)
        invoices_now = [one for one in bills(work) if one.kind == "invoice"]
        theirs = [one for one in invoices_now if one.client == client]
        if not theirs:
            raise NotFound("client with invoices", client, {one.client for one in invoices_now}, field="--client")
        found = numbered(work, [one.number for one in theirs if now[one.number].left.amount > 0])
        if currency:
            found = [one for one in found if one.document["currency"] == currency.upper()]
        if not found:
            raise RuleBroken(f"{client} has nothing open: name the invoice with --invoice, or issue one first")
    currencies = sorted({one.document["currency"] for one in found})
    if len(currencies) > 1:
        raise RuleBroken(f"these invoices are in {' and '.join(currencies)}: say which with --currency or --invoice")
    return found


def _account(text: str, currency: str, usual: str) -> Money | None:
    if not text:
        if currency:
            raise BadInput(wanted="--account with it", got="nothing", field="--account")
        return None
    reached = amount_of(text, (currency or usual).upper(), "--account")
    if reached.amount <= 0:
        raise BadInput(wanted="what reached the account, above zero", got=text, field="--account")
    return reached


def _check_came(sum_: Money, number: str) -> None:
    """Refuse money typed as received that did not come in: that has a command of its own. Raises BadInput."""
    if sum_.amount <= 0:
        back = f"Money paid back is recorded with bizkit payment refund {number} {-sum_.amount}" if sum_ else ""
        raise BadInput(wanted="an amount above zero", got=sum_, field="AMOUNT", hint=back)
