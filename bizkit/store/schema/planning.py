"""Days as worked and moved, costs as spent, jobs called off, charges beyond the quote."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table, Text

from bizkit.store.schema.base import Json, Whole, metadata

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "basis": (("number", "revision"),),
    "worked_day": (("id",),),
    "moved_day": (("id",),),
    "called_off": (("id",),),
    "cost": (("id",),),
}

#: The brief and the rate card that a revision of a quote was priced from, as they stood when it was sent.
#: options: the keys taken, where the client chose among several.
basis = Table(
    "basis",
    metadata,
    Column("number", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("key", Text, nullable=False, index=True),
    Column("brief_file", Text, nullable=False),
    Column("brief", Text, nullable=False),
    Column("card", Text, nullable=False),
    Column("options", Json, nullable=False),
)

#: What a job costs the client beyond its quote, net: fees for calling off, overruns, costs, rounds, extensions.
#: `source` names the record it comes from. `invoice` is empty until it is billed; `waived` says why it never is, and
#: `waived_on` from which day on (empty in books of before 0009).
charge = Table(
    "charge",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("section", Text, nullable=False),
    Column("item", Text, nullable=False),
    Column("quantity", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("rate", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("working", Json, nullable=False),
    Column("source", Text, nullable=False),
    Column("invoice", Text, nullable=False, default=""),
    Column("waived", Text, nullable=False, default=""),
    Column("waived_on", Text, nullable=False, default="", server_default=""),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: Call and wrap of one shoot day as it was; the newest row of a day counts. who: names, as JSON.
worked_day = Table(
    "worked_day",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("position", Integer, nullable=False),
    Column("on", Text, nullable=False),
    Column("who", Json, nullable=False),
    Column("call", Text, nullable=False),
    Column("wrap", Text, nullable=False),
    Column("meal_minutes", Integer),
    Column("dives", Integer),
    Column("note", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: A shoot day that went to another date. hold: 1 when crew and kit waited in vain on the date it left.
moved_day = Table(
    "moved_day",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("position", Integer, nullable=False),
    Column("moved_from", Text, nullable=False),
    Column("moved_to", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("hold", Integer, nullable=False),
    Column("note", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("noticed_on", Text, nullable=False, default="", server_default=""),
)

#: A job cancelled or postponed (`kind`) by notice on a day, with the fee and its working.
called_off = Table(
    "called_off",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("kind", Text, nullable=False),
    Column("notice_on", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("fee_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("working", Json, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: Money spent on a job. amount: as on the receipt; job_minor: the same in the job's currency, at `rate` as
#: `rate_source` says. A negative amount takes a wrong entry back. receipt: SHA-256 of the filed paper, or empty.
cost = Table(
    "cost",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("supplier", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("job_minor", Whole, nullable=False),
    Column("rate", Text, nullable=False),
    Column("rate_source", Text, nullable=False),
    Column("receipt", Text, nullable=False),
    Column("reverses", Integer, nullable=False, default=0, server_default="0"),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)
