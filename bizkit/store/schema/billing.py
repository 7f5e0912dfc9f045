"""Bank statements read, reminders sent, credit and tax records."""

from __future__ import annotations

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {}
