"""Specs, file checks, answers to notes, handovers, archive."""

from __future__ import annotations

#: Tables of this ledger whose rows never change, each with the columns that name a row.
APPEND_ONLY: dict[str, tuple[tuple[str, ...], ...]] = {}
