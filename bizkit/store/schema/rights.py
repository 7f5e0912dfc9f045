"""Persons, who and what is in each work, licences granted and what became of them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, ForeignKey, Integer, Table, Text

from bizkit.store.schema.base import Json, metadata

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "licence": (("number",),),
    "licence_change": (("id",),),
}

#: Somebody whose personal data is kept, by name in this one place: everything else says `person-ID`. basis, purpose,
#: keep_until: why and how long. contact: JSON. An erased person's row stays, emptied.
person = Table(
    "person",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("born_on", Text, nullable=False),
    Column("contact", Json, nullable=False),
    Column("basis", Text, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("keep_until", Text, nullable=False),
    Column("erased_on", Text, nullable=False, default=""),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: Who or what is in one work. work: a deliverable's key or a clip's title. part: "who", "place", "music"... subjects:
#: JSON, ids of persons or names of things, all there are. Without a row every one known is in every deliverable.
shown = Table(
    "shown",
    metadata,
    Column("job", Text, ForeignKey("job.key"), primary_key=True),
    Column("work", Text, primary_key=True),
    Column("part", Text, primary_key=True),
    Column("subjects", Json, nullable=False),
)

#: A form written to be signed: what the paper of that number asks for. kind: of the holding it becomes. terms: as
#: printed. data: whom it is about, conditions, and the SHA-256 of all that it prints. A name in it may be taken out.
form = Table(
    "form",
    metadata,
    Column("number", Text, primary_key=True),
    Column("series", Text, nullable=False, index=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("kind", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("terms", Json, nullable=False),
    Column("data", Json, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: A grant, under the number of its certificate. data: the licence as the rights rules read it, on the day of the
#: grant. Why one was granted beyond what is held is in the history ("overridden").
licence = Table(
    "licence",
    metadata,
    Column("number", Text, primary_key=True),
    Column("job", Text, ForeignKey("job.key"), nullable=False, index=True),
    Column("client", Text, nullable=False),
    Column("granted_on", Text, nullable=False),
    Column("data", Json, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
)

#: What became of a licence: first used on a day, or ended early after one (that day included).
licence_change = Table(
    "licence_change",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("licence", Text, ForeignKey("licence.number"), nullable=False, index=True),
    Column("change", Text, nullable=False),
    Column("on", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text, nullable=False),
    CheckConstraint("change in ('first used', 'ended')", name="licence_change_known"),
)
