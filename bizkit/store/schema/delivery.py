"""Files looked at, notes and their answers, further rounds agreed, handovers, the archive, schedules."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, ForeignKey, ForeignKeyConstraint, Index, Integer, Table, Text

from bizkit.store.schema.base import Json, Whole, metadata

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "file_check": (("id",),),
    "note": (("job", "deliverable", "number"),),
    "note_answer": (("id",),),
    "round_answer": (("job", "deliverable", "number"),),
    "handover": (("number",),),
    "schedule": (("id",),),
}

#: A file held against a spec. points: what was wanted and got; facts: what was found. wrong: points that failed.
file_check = Table(
    "file_check",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sha256", Text, nullable=False, index=True),
    Column("file", Text, nullable=False),
    Column("job", Text, ForeignKey("job.key"), nullable=False),
    Column("deliverable", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("wrong", Integer, nullable=False),
    Column("points", Json, nullable=False),
    Column("facts", Json, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
)

#: One remark of the client's. number: counted through all versions of the deliverable. intake: the number of the
#: review_round row it came with. at, until: as timecode, empty for a note on the whole.
note = Table(
    "note",
    metadata,
    Column("job", Text, primary_key=True),
    Column("deliverable", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("intake", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("at", Text, nullable=False),
    Column("until", Text, nullable=False),
    Column("frame", Integer),
    Column("text", Text, nullable=False),
    Column("who", Text, nullable=False),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
)

#: What the studio said to one note; the newest answer counts.
note_answer = Table(
    "note_answer",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, nullable=False),
    Column("deliverable", Text, nullable=False),
    Column("note", Integer, nullable=False),
    Column("answer", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    CheckConstraint("answer in ('done', 'declined', 'asked')", name="note_answer_known"),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
    Index("note_answer_note", "job", "deliverable", "note"),
)

#: The client's yes or no to a round beyond those included, with the price as it was said then.
round_answer = Table(
    "round_answer",
    metadata,
    Column("job", Text, primary_key=True),
    Column("deliverable", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("answer", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("amount_minor", Whole, nullable=False),
    Column("currency", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    CheckConstraint("answer in ('yes', 'no')", name="round_answer_known"),
    ForeignKeyConstraint(["job", "deliverable"], ["deliverable.job", "deliverable.key"]),
)

#: Files handed over, under the number of their delivery note. manifest: as written beside the files.
handover = Table(
    "handover",
    metadata,
    Column("number", Text, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("folder", Text, nullable=False),
    Column("how", Text, nullable=False),
    Column("sent_to", Text, nullable=False),
    Column("manifest", Text, nullable=False),
    Column("manifest_sha256", Text, nullable=False, index=True),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: What of a job is kept where, and until when it was promised; `gone_on` is empty while it is there.
archive = Table(
    "archive",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("what", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("since", Text, nullable=False),
    Column("keep_until", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("gone_on", Text, nullable=False, default=""),
    Column("gone_why", Text, nullable=False, default=""),
)

#: A job's plan as it was saved; the newest row counts. steps: JSON, each with its dates.
schedule = Table(
    "schedule",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("on", Text, nullable=False),
    Column("due", Text, nullable=False),
    Column("steps", Json, nullable=False),
    Column("why", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)
