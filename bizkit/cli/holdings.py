"""How papers on file are shown; shared by the commands about them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from bizkit.cli.show import shorten, table

if TYPE_CHECKING:
    from bizkit.services.rights.holdings import Filed, HoldingRow


def holding_table(rows: list[HoldingRow], *, kinds: bool = False) -> list[str]:
    """Papers as aligned text, with their kind when asked; none for no rows."""
    if not rows:
        return []
    head = ["ID", "JOB", *(["KIND"] if kinds else []), "ABOUT", "STATE", "SIGNED", "BY", "ALLOWS", "UNTIL"]
    body = [
        [
            str(row["id"]),
            row["job"],
            *([row["kind"].replace("_", " ")] if kinds else []),
            shorten(row["subject"], 30),
            f"corrected by {row['corrected_by']}" if row["corrected_by"] else row["status"],
            row["signed_on"],
            shorten(row["signed_by"], 22),
            shorten(_allows(row), 44),
            row["expires_on"] or ("no end" if row["signed_on"] else "") if _counts(row) else "",
        ]
        for row in rows
    ]
    return table([head, *body], right=[0])


def _counts(row: HoldingRow) -> bool:
    """Whether a paper holds what it says: not where nobody's signature counts, nor where it was recorded wrongly."""
    return not (row["holds_nothing"] or row["corrected_by"])


def _allows(row: HoldingRow) -> str:
    if row["holds_nothing"]:
        return f"nothing: {row['holds_nothing']}"
    return row["covers"] if _counts(row) else f"see {row['corrected_by']}"


def added(row: Filed) -> Iterator[str]:
    """What was filed."""
    what = row["kind"].replace("_", " ")
    if row["status"] == "signed":
        yield f"{what} of {row['subject']}, signed {row['signed_on']} by {row['signed_by']}: filed as {row['file']}"
        by_form = f", as the form {row['form']} printed" if row["form"] else ""
        yield f"Allows {row['covers']}{by_form}"
    elif row["status"] == "withdrawn":
        yield f"{what} of {row['subject']}, signed {row['signed_on']} by {row['signed_by']} and withdrawn since"
        yield f"Allowed {row['covers']}" if row["covers"] else "Allows nothing"
    elif row["status"] == "valid":
        yield f"{what} of {row['subject']}: {row['covers']}" + (f", filed as {row['file']}" if row["file"] else "")
    elif row["status"] == "needed":
        yield f"{what} of {row['subject']} noted: still to be got"
    else:
        yield f"{what} of {row['subject']} noted: {'sent, ' if row['status'] == 'sent' else ''}still to be signed"
    for warning in row["warnings"]:
        yield f"Look: {warning}"
