"""The tables of a book, by ledger: core (the main job), planning, rights, billing, delivery.

Money is stored as whole minor units beside its currency; rates, percents and quantities as exact decimal text;
dates as ISO text (a calendar day has no time zone); moments as ISO text in UTC.

The tables named in `APPEND_ONLY` never change: triggers abort every UPDATE and DELETE, and on SQLite any INSERT that
would take over an existing row through OR REPLACE. Drafts live in a table of their own.
"""

from bizkit.store.schema import billing, delivery, planning, rights
from bizkit.store.schema.base import HEAD, guards, metadata
from bizkit.store.schema.core import (
    answer,
    deliverable,
    draft,
    event,
    filed,
    holding,
    issued,
    job,
    payment,
    register,
    review_round,
    shoot_day,
    stage,
    version,
)

#: Tables whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {
    "issued": (("position",), ("number", "revision")),
    "register": (("position",),),
    "event": (("id",),),
    "payment": (("id",),),
    "filed": (("id",),),
    **planning.APPEND_ONLY,
    **rights.APPEND_ONLY,
    **billing.APPEND_ONLY,
    **delivery.APPEND_ONLY,
}

__all__ = [
    "APPEND_ONLY", "HEAD", "answer", "deliverable", "draft", "event", "filed", "guards", "holding", "issued", "job",
    "metadata", "payment", "register", "review_round", "shoot_day", "stage", "version",
]  # fmt: skip
