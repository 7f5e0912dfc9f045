"""Letters about money, sums received and how they were split, bank statements read, evidence, overheads, journeys."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table, Text

from bizkit.store.schema.base import Json, Whole, metadata

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "letter": (("id",), ("name",)),
    "money_in": (("id",),),
    "bank_entry": (("id",), ("key",)),
    "booking": (("id",),),
    "evidence": (("id",),),
    "overhead": (("id",),),
    "input_tax": (("id",),),
    "journey": (("id",),),
}

#: Receipts, statements, reminders and pro formas as sent: papers about money that are no invoices.
#: about: the invoice, client or job. name: of the PDF, without its ending. document: canonical JSON.
letter = Table(
    "letter",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("about", Text, nullable=False, index=True),
    Column("name", Text, nullable=False, unique=True),
    Column("on", Text, nullable=False),
    Column("document", Json, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: One sum of money that came in or (below zero) went back, and the payments it was split into, as JSON.
#: amount: what the client's debt goes down by. fee: what a bank kept of it. account: what reached the account where
#: that is another currency. over: the part that no invoice was open for, kept on one of them as overpaid.
money_in = Table(
    "money_in",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("client", Text, nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("fee_minor", Whole, nullable=False),
    Column("account_minor", Whole),
    Column("account_currency", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("payments", Json, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: One movement of a bank statement. key: names it (`domain.billing.bank_statement.key_of`; in books of the first
#: version the bank's id or a digest). file: SHA-256 of the file it was first read from. account: whose movement it
#: is, own_id: what the statement calls it, both empty where they were not kept.
bank_entry = Table(
    "bank_entry",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", Text, nullable=False, unique=True),
    Column("file", Text, nullable=False, index=True),
    Column("booked_on", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("original_minor", Whole),
    Column("original_currency", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("account", Text, server_default="", nullable=False),
    Column("own_id", Text, server_default="", nullable=False),
)

#: What became of a movement; the newest row counts. state: booked, same (it is a sum recorded before, `money_in`),
#: aside (it is no client's money) or open again.
booking = Table(
    "booking",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("entry", Integer, ForeignKey("bank_entry.id"), nullable=False, index=True),
    Column("state", Text, nullable=False),
    Column("money_in", Integer, ForeignKey("money_in.id")),
    Column("reason", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: What shows that a client abroad is a business. paper: SHA-256 of the filed copy, or empty.
evidence = Table(
    "evidence",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("client", Text, nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("paper", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: A cost of the business that belongs to no job, in the money of the tax office. paid_on: a day to come while it is
#: only expected. goods, capital: see `domain.billing.records.Cost`. A negative amount takes a wrong entry back.
overhead = Table(
    "overhead",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("on", Text, nullable=False),
    Column("paid_on", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("supplier", Text, nullable=False),
    Column("net_minor", Whole, nullable=False),
    Column("tax_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("goods", Integer, nullable=False),
    Column("capital", Integer, nullable=False),
    Column("receipt", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: The tax inside a cost of a job that can be reclaimed, in the money of the tax office. The newest row counts.
input_tax = Table(
    "input_tax",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("cost", Integer, ForeignKey("cost.id"), nullable=False, index=True),
    Column("tax_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("goods", Integer, nullable=False),
    Column("capital", Integer, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: One journey by own vehicle for the business. A negative distance takes a wrong entry back.
journey = Table(
    "journey",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("on", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("vehicle", Text, nullable=False),
    Column("distance", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("origin", Text, nullable=False),
    Column("destination", Text, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("job", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)
