"""Reading a CSV file of any ordinary kind: comma, semicolon or tab; UTF-8 with or without a mark."""

from __future__ import annotations

import csv
from pathlib import Path

from bizkit.domain.errors import BadInput
from bizkit.services.studio.source_file import MB, read_source_text

#: A table is no larger: an hour's observations of a hundred years have half of it.
MOST_BYTES = 100 * MB

#: What may stand between cells, in the order tried.
BETWEEN = (",", ";", "\t")


def read_rows(path: Path, what: str) -> list[dict[str, str]]:
    """Rows of the file as column -> cell. `what` says in messages what it should be. Raises BadInput."""
    lines = read_source_text(path, what, most=MOST_BYTES).splitlines()
    if not lines or not lines[0].strip():
        raise BadInput(wanted=f"{what} with a first line of column names", got="nothing", where=path.name)
    between = max(BETWEEN, key=lines[0].count)
    try:
        rows = list(csv.reader(lines, delimiter=between, strict=True))
    except csv.Error as error:
        raise BadInput(wanted=what, got=str(error), where=path.name) from None
    names = [name.strip() for name in rows[0]]
    if len(set(names)) != len(names):
        raise BadInput(wanted="each column name once", got=", ".join(names), where=path.name)
    found = []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(names):
            raise BadInput(wanted=f"{len(names)} cells", got=len(row), where=f"{path.name}, line {number}")
        found.append(dict(zip(names, row, strict=True)))
    return found
