"""The register of what was issued: what lists and balances ask of each quote, invoice and credit note, in columns.

An entry is written with its document, and no document is read for a list: that would take as long as parsing every
line ever quoted and billed. What an entry says is what its document says; `bizkit verify` compares the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from sqlalchemy import Connection, RowMapping, Select, func, insert, select

from bizkit.domain.money import Money
from bizkit.store.ahead import of_job, of_one
from bizkit.store.schema.core import answer, payment, register

#: Kinds of document that the register holds.
KINDS: Final = ("quote", "invoice", "credit_note")


@dataclass(frozen=True, slots=True)
class Entry:
    """One issued quote, invoice or credit note. key: that of its job, for a quote of the one it opens.

    Amounts in minor units of `currency`; of a credit note they are above zero. due: of an invoice, gross less what
    was prepaid. deposit_minor, deposit_on: money that came before its invoice. valid_until: of a quote. accepted: a
    quote issued as accepted, with the options taken.

    stage, stage_position: the stage an invoice bills, 0 for none. bills_quote: an invoice of what was quoted, a
    deposit or a final one included. charges: ids of those it bills. credits: the invoice a credit note is of; undoes:
    what that billed is to be billed again. settles: it sets the fee of a cancelled job against what was invoiced.
    late_payment_of: the invoice whose interest and compensation it is of.
    """

    position: int
    kind: str
    number: str
    revision: int
    key: str
    issued_on: str
    client: str
    client_name: str
    title: str
    currency: str
    net_minor: int
    tax_minor: int
    gross_minor: int
    prepaid_minor: int
    due_minor: int
    due_on: str
    reference: str
    valid_until: str
    accepted: bool
    stage: str
    stage_position: int
    bills_quote: bool
    final: bool
    deposit_minor: int
    deposit_on: str
    charges: tuple[int, ...]
    credits: str
    reason: str
    undoes: bool
    settles: bool
    late_payment_of: str

    @property
    def net(self) -> Money:
        """Before tax."""
        return Money.from_minor(self.net_minor, self.currency)

    @property
    def tax(self) -> Money:
        """The tax."""
        return Money.from_minor(self.tax_minor, self.currency)

    @property
    def gross(self) -> Money:
        """With tax."""
        return Money.from_minor(self.gross_minor, self.currency)

    @property
    def prepaid(self) -> Money:
        """Paid before an invoice was issued."""
        return Money.from_minor(self.prepaid_minor, self.currency)

    @property
    def amount(self) -> Money:
        """What an invoice asks for, or a credit note gives back."""
        return Money.from_minor(self.due_minor if self.kind == "invoice" else self.gross_minor, self.currency)


def entry_of(document: Mapping[str, Any], *, kind: str, position: int, key: str) -> Entry:
    """What the register says of a document of one of `KINDS`."""
    currency = document.get("currency", "")
    stage, client = document.get("stage") or {}, document.get("client") or {}
    # Of a quote it is what is left for kit, an amount.
    deposit = (document.get("deposit") or {}) if kind == "invoice" else {}

    def minor(amount: str | None) -> int:
        return Money(amount, currency).minor if amount else 0

    place = int(stage.get("position") or 0)
    return Entry(
        position=position,
        kind=kind,
        number=document["number"],
        revision=document["revision"],
        key=key,
        issued_on=document["issued_on"],
        client=client.get("key", ""),
        client_name=client.get("name", ""),
        title=document.get("title", ""),
        currency=currency,
        net_minor=minor(document.get("net")),
        tax_minor=minor(document.get("tax")),
        gross_minor=minor(document.get("gross")),
        prepaid_minor=minor(document.get("prepaid")),
        due_minor=minor(document.get("due")),
        due_on=document.get("due_on", ""),
        reference=(document.get("payment") or {}).get("reference", ""),
        valid_until=document.get("valid_until", ""),
        accepted=bool(document.get("accepted")),
        stage=stage.get("title", ""),
        stage_position=place,
        bills_quote=bool(place or deposit or document.get("final")),
        final=bool(document.get("final")),
        deposit_minor=minor(deposit.get("amount")),
        deposit_on=deposit.get("received_on", ""),
        charges=tuple(document.get("charges") or ()),
        credits=(document.get("credits") or {}).get("number", ""),
        reason=document.get("reason", "") if kind == "credit_note" else "",
        undoes=bool(document.get("undoes")),
        settles=bool(document.get("settles")),
        late_payment_of=document.get("late_payment_of") or "",
    )


def enter(work: Connection, entry: Entry) -> None:
    """Write an entry, in the transaction that issues its document."""
    work.execute(insert(register).values({**asdict(entry), "charges": list(entry.charges)}))


def bills(work: Connection, job: str | None = None) -> list[Entry]:
    """Invoices and credit notes in the order issued, of one job or all."""
    found = of_one(work, "bills", job, lambda: bills(work), lambda entry: entry.key)
    if found is not None:
        return found
    query = select(register).where(register.c.kind.in_(("invoice", "credit_note"))).order_by(register.c.position)
    return [_entry(row) for row in work.execute(of_job(work, query, register.c.key, job)).mappings()]


def net_left(work: Connection, job: str) -> dict[str, Money]:
    """What credit notes left of each invoice of a job, net."""
    left: dict[str, Money] = {}
    for one in bills(work, job):
        if one.kind == "invoice":
            left[one.number] = one.net
        else:
            left[one.credits] = left[one.credits] - one.net
    return left


def left_of_invoices() -> Select[Any]:
    """Every invoice's entry and `left`, what is due less payments and credit notes, in minor units: below zero it is
    to be paid back."""
    paid = select(payment.c.invoice, func.sum(payment.c.amount_minor).label("paid")).group_by(payment.c.invoice)
    notes = select(register.c.credits, func.sum(register.c.gross_minor).label("credited"))
    came = paid.subquery()
    gone = notes.where(register.c.kind == "credit_note").group_by(register.c.credits).subquery()
    left = register.c.due_minor - func.coalesce(came.c.paid, 0) - func.coalesce(gone.c.credited, 0)
    invoices = select(register, left.label("left")).where(register.c.kind == "invoice")
    return invoices.outerjoin(came, came.c.invoice == register.c.number).outerjoin(
        gone, gone.c.credits == register.c.number
    )


def unsettled(work: Connection) -> list[Entry]:
    """The invoices of which something is left, in the order issued."""
    every = left_of_invoices().subquery()
    query = select(*(every.c[column.name] for column in register.c)).where(every.c["left"] > 0)
    return [_entry(row) for row in work.execute(query.order_by(every.c.position)).mappings()]


def overpaid(work: Connection) -> list[Entry]:
    """The invoices of which more was paid than they come to, in the order issued."""
    every = left_of_invoices().subquery()
    query = select(*(every.c[column.name] for column in register.c)).where(every.c["left"] < 0)
    return [_entry(row) for row in work.execute(query.order_by(every.c.position)).mappings()]


def paid_late(work: Connection) -> list[Entry]:
    """The invoices of which nothing is left and something was paid after its day, in the order issued."""
    every = left_of_invoices().subquery()
    late = select(payment.c.id).where(payment.c.invoice == every.c.number, payment.c.on > every.c.due_on)
    query = select(*(every.c[column.name] for column in register.c)).where(every.c["left"] <= 0, late.exists())
    return [_entry(row) for row in work.execute(query.order_by(every.c.position)).mappings()]


def quotes(work: Connection, *, number: str | None = None, waiting_only: bool = False) -> list[Entry]:
    """Every revision of every quote in the order issued, or of the one with that number.

    waiting_only: those neither answered nor followed by one that was; one issued as accepted, of which the acceptance
    was taken back, waits for nothing.
    """
    query = select(register).where(register.c.kind == "quote").order_by(register.c.position)
    if number is not None:
        query = query.where(register.c.number == number)
    if waiting_only:
        later = answer.c.revision >= register.c.revision
        answered = select(answer).where(answer.c.number == register.c.number, later)
        query = query.where(~register.c.accepted, ~answered.exists())
    return [_entry(row) for row in work.execute(query).mappings()]


def everything(work: Connection) -> dict[int, Entry]:
    """Every entry by the position of its document."""
    return {row["position"]: _entry(row) for row in work.execute(select(register)).mappings()}


def _entry(row: RowMapping) -> Entry:
    return Entry(**{**row, "charges": tuple(row["charges"])})
