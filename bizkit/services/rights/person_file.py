"""Everything kept about one person, put together for them; and where else their name stands."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bizkit.services.rights.persons import named_in, the_person
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.mentions import Mention

Row = dict[str, Any]

#: Files that people write by hand and that are searched for names.
_WRITTEN: Final = (".toml", ".txt", ".md", ".csv", ".vtt", ".srt")
_OWN_FOLDERS: Final = ("clients", "briefs", "jobs", "forms", "incoming", "templates")


def export_person(folder: StudioFolder, name: str, out: Path, on: date) -> Row:
    """Write person.json and copies of the filed papers about somebody into `out`. Raises NotFound.

    A person may ask for this: UK GDPR Articles 15 and 20.
    """
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.studio.filing import write_whole
    from bizkit.store.mentions import mentions
    from bizkit.store.rights import persons

    with folder.book.read() as work:
        person = the_person(persons(work), name)
        papers = papers_of(work, person)
        data_of = {paper["id"]: paper["data"] for paper in papers}
        rows = [{**row, **data_of[row["id"]]} for row in holding_rows(work) if row["id"] in data_of]
        found = mentions(work, person["name"])
        licences = resting_licences(folder, work, person, on)
    data = {
        "person": {key: person[key] for key in ("name", "born_on", "contact", "basis", "purpose", "keep_until")},
        "papers": rows,
        "licences_that_rest_on_them": licences,
        "also_named_in": [
            {"what": what_of(one), "row": one.row, "columns": list(one.columns)}
            for one in found
            if one.table != "person" and (one.table, one.row) not in {("holding", str(number)) for number in data_of}
        ],
        "files": [row["file"] for row in rows if row["file"]],
        "other_files": [path.relative_to(folder.path).as_posix() for path in files_naming(folder, person["name"])],
    }
    written = []
    for row in rows:
        source = folder.path / row["file"]
        if row["file"] and source.is_file():
            target = out / f"paper-{row['id']}{source.suffix}"
            write_whole(target, source.read_bytes())
            written.append(str(target))
    write_whole(out / "person.json", json.dumps(data, ensure_ascii=False, indent=2).encode() + b"\n")
    return {"person": data, "files": [str(out / "person.json"), *written]}


def papers_of(work: Connection, person: Row) -> list[Row]:
    """Papers about a person, or signed by them."""
    from bizkit.services.rights.holdings import VOID
    from bizkit.store.jobs import holdings

    return [row for row in holdings(work) if row["status"] != VOID and named_in(row, person)]


def resting_licences(folder: StudioFolder, work: Connection, person: Row, on: date) -> list[Row]:
    """Licences, over or not, of works that somebody's papers are needed for."""
    from bizkit.services.rights.licences import granted, licence_row
    from bizkit.services.rights.needs import needs_of
    from bizkit.services.rights.works import works_of_job
    from bizkit.store.jobs import jobs

    papers = papers_of(work, person)
    subjects = {(row["kind"], row["subject"]) for row in papers}
    works: set[str] = set()
    for job in {row["job"] for row in papers}:
        (row,) = jobs(work, job)
        needs, _ = needs_of(folder, work, row, works_of_job(work, row))
        works |= {one for need in needs if (need.kind, need.subject) in subjects for one in need.works}
    return [licence_row(one, on) for one in granted(work, works=works)]


def what_of(mention: Mention) -> str:
    """What a table is, in words."""
    return _WORDS.get(mention.table, mention.table.replace("_", " "))


def files_naming(folder: StudioFolder, name: str) -> Iterator[Path]:
    """Files of the studio, the book apart, with a name in their own or, where people write them, in their text."""
    words = name.casefold().split()
    in_name = re.compile(r"[\W_]*".join(re.escape(word) for word in words))
    in_text = re.compile(r"\s+".join(re.escape(word) for word in words))
    below = [path for top in _OWN_FOLDERS for path in sorted((folder.path / top).rglob("*"))]
    for path in [*sorted(folder.path.glob("*.toml")), *below]:
        if not path.is_file():
            continue
        text = ""
        if path.suffix in _WRITTEN:
            text = path.read_text(encoding="utf-8", errors="replace").casefold()
        if in_name.search(path.stem.casefold()) or in_text.search(text):
            yield path


_WORDS: Final = {
    "issued": "issued paper",
    "basis": "brief and rate card behind a quote",
    "event": "history",
    "payment": "payment",
    "version": "version sent",
    "review_round": "client's notes",
    "note": "client's note",
    "worked_day": "day as worked",
    "cost": "cost",
    "letter": "letter",
    "holding": "paper on file",
    "draft": "draft of a quote",
    "answer": "answer to a quote",
}
