"""The main job: drafts, issued documents, jobs, deliverables, stages, payments, holdings, files, history."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
)

from bizkit.store.schema.base import Json, Whole, metadata

#: Quotes being written. One per key; replaced freely until sent.
draft = Table(
    "draft",
    metadata,
    Column("key", Text, primary_key=True),
    Column("brief_file", Text, nullable=False),
    Column("brief", Text, nullable=False),
    Column("card", Text, nullable=False),
    Column("document", Json, nullable=False),
    Column("drafted_at", Text, nullable=False),
    Column("drafted_by", Text, nullable=False),
)

#: Documents that left the studio, in the order issued, each chained to the one before by its SHA-256.
issued = Table(
    "issued",
    metadata,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("series", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("key", Text, nullable=False),
    Column("issued_on", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("document", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("previous", Text, nullable=False),
    UniqueConstraint("number", "revision", name="issued_number"),
    Index("issued_kind_key", "kind", "key"),
    Index("issued_series", "series"),
)

#: What lists and balances ask of each quote, invoice and credit note: written with its document, never changed.
register = Table(
    "register",
    metadata,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("key", Text, nullable=False, index=True),
    Column("issued_on", Text, nullable=False),
    Column("client", Text, nullable=False),
    Column("client_name", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("currency", Text, nullable=False),
    Column("net_minor", Whole, nullable=False),
    Column("tax_minor", Whole, nullable=False),
    Column("gross_minor", Whole, nullable=False),
    Column("prepaid_minor", Whole, nullable=False),
    Column("due_minor", Whole, nullable=False),
    Column("due_on", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("valid_until", Text, nullable=False),
    Column("accepted", Boolean, nullable=False),
    Column("stage", Text, nullable=False),
    Column("stage_position", Integer, nullable=False),
    Column("bills_quote", Boolean, nullable=False),
    Column("final", Boolean, nullable=False),
    Column("deposit_minor", Whole, nullable=False),
    Column("deposit_on", Text, nullable=False),
    Column("charges", Json, nullable=False),
    Column("credits", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("undoes", Boolean, nullable=False),
    Column("settles", Boolean, nullable=False),
    Column("late_payment_of", Text, nullable=False),
    Index("register_kind", "kind"),
)

#: What the client said to one revision of a quote.
answer = Table(
    "answer",
    metadata,
    Column("number", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("answer", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("data", Json, nullable=False),
    CheckConstraint("answer in ('accepted', 'declined', 'cancelled')", name="answer_known"),
)

job = Table(
    "job",
    metadata,
    Column("key", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("client", Text, nullable=False),
    Column("quote_number", Text, nullable=False, unique=True),
    Column("quote_revision", Integer, nullable=False),
    Column("opened_on", Text, nullable=False),
    Column("closed_on", Text, nullable=False, default=""),
    Column("currency", Text, nullable=False),
    Column("net_minor", Whole, nullable=False),
    Column("licence", Json, nullable=False),
    Column("crew", Json, nullable=False, server_default="[]"),
)

shoot_day = Table(
    "shoot_day",
    metadata,
    Column("job", Text, ForeignKey("job.key"), primary_key=True),
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("on", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("data", Json, nullable=False),
)

deliverable = Table(
    "deliverable",
    metadata,
    Column("job", Text, ForeignKey("job.key"), primary_key=True),
    Column("key", Text, primary_key=True),
    Column("position", Integer, nullable=False),
    Column("title", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("spec", Text, nullable=False),
    Column("rounds", Integer, nullable=False),
    Column("due_days", Integer),
    Column("due_on", Text, nullable=False),
    Column("approved_on", Text, nullable=False, default=""),
    Column("data", Json, nullable=False),
)

#: One file offered for a deliverable: v1, v2...
version = Table(
    "version",
    metadata,
    Column("job", Text, primary_key=True),
    Column("deliverable", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("sent_on", Text, nullable=False),
    Column("sent_to", Text, nullable=False),
    Column("file", Text, nullable=False),
    Column("bytes", Whole),
    Column("sha256", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("data", Json, nullable=False),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
)

#: One set of client notes on a version.
review_round = Table(
    "review_round",
    metadata,
    Column("job", Text, primary_key=True),
    Column("deliverable", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("version", Integer, nullable=False),
    Column("received_on", Text, nullable=False),
    Column("notes", Text, nullable=False),
    Column("data", Json, nullable=False),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
)

#: One stage of a job's billing plan; `invoice` is empty until it is issued.
stage = Table(
    "stage",
    metadata,
    Column("job", Text, ForeignKey("job.key"), primary_key=True),
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("title", Text, nullable=False),
    Column("percent", Text, nullable=False),
    Column("due_when", Text, nullable=False),
    Column("net_minor", Whole, nullable=False),
    Column("invoice", Text, nullable=False, default=""),
)

#: Money received against an invoice, in its currency; a negative amount takes a wrong entry back or is a refund.
#: fee: what a bank kept on the way. received: what reached the account where that is another currency.
payment = Table(
    "payment",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("invoice", Text, nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("fee_minor", Whole, nullable=False, default=0),
    Column("received_minor", Whole),
    Column("received_currency", Text, nullable=False, default=""),
    Column("reference", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: A right the studio holds, linked to a job. `data` is the holding as the rights rules read it.
holding = Table(
    "holding",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("kind", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("status", Text, nullable=False),
    Column("signed_on", Text, nullable=False),
    Column("expires_on", Text, nullable=False),
    Column("paper", Text, nullable=False),
    Column("data", Json, nullable=False),
)

#: Files kept under their SHA-256 in the papers folder: issued PDFs and signed scans.
filed = Table(
    "filed",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sha256", Text, nullable=False, index=True),
    Column("file", Text, nullable=False),
    Column("bytes", Whole, nullable=False),
    Column("kind", Text, nullable=False),
    Column("about", Text, nullable=False, index=True),
    Column("name", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: What happened, by whom, when: written in the same transaction as the thing itself.
event = Table(
    "event",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("verb", Text, nullable=False),
    Column("subject", Text, nullable=False, index=True),
    Column("data", Json, nullable=False),
)
