"""How releases and permissions are shown; shared by their two commands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bizkit.cli.show import shorten, table


def holding_table(rows: list[dict[str, Any]]) -> list[str]:
    """Papers as aligned text; none for no rows."""
    if not rows:
        return []
    head = ["ID", "JOB", "WHO OR WHERE", "STATE", "SIGNED", "BY", "ALLOWS", "UNTIL"]
    body = [
        [
            str(row["id"]),
            row["job"],
            shorten(row["subject"], 30),
            row["status"],
            row["signed_on"],
            shorten(row["signed_by"], 22),
            shorten(row["covers"], 44),
            row["expires_on"] or ("no end" if row["signed_on"] else ""),
        ]
        for row in rows
    ]
    return table([head, *body], right=[0])


def added(row: dict[str, Any]) -> Iterator[str]:
    """What was filed."""
    what = row["kind"].replace("_", " ")
    if row["paper"]:
        yield f"{what} of {row['subject']}, signed {row['signed_on']} by {row['signed_by']}: filed as {row['file']}"
        yield f"Allows {row['covers']}, until {row['expires_on'] or 'no end'}"
    else:
        yield f"{what} of {row['subject']} noted: still to be signed"
    for warning in row["warnings"]:
        yield f"Look: {warning}"
