"""Everything kept about one person, put together for them; and where else their name stands."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.services.rights.keeping import resting_on
from bizkit.services.rights.person_list import person_rows
from bizkit.services.rights.persons import named_in, the_person
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import PaperOnFile
    from bizkit.store.mentions import Mention
    from bizkit.store.rights import Person


def export_person(folder: StudioFolder, name: str, out: Path, on: date) -> PersonExported:
    """Write person.json and copies of the filed papers about somebody into `out`. Raises NotFound.

    A person may ask for this: UK GDPR Articles 15 and 20. Raises RuleBroken for a scan that is not as it was filed.
    """
    from bizkit.services.rights.erasure_files import search
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.studio.leaving import filed_bytes
    from bizkit.services.studio.out_file import write_out
    from bizkit.store.filed import all_filed
    from bizkit.store.mentions import mentions
    from bizkit.store.rights import persons

    with folder.book.read() as work:
        person = the_person(persons(work), name)
        papers = papers_of(work, person)
        data_of = {paper.id: paper.data for paper in papers}
        rows = [{**row, **data_of[row["id"]]} for row in holding_rows(work) if row["id"] in data_of]
        found = mentions(work, person.name)
        resting = resting_on(folder, work, papers, on)
        licences = list({row["number"]: row for found in resting.values() for row in found}.values())
        (kept,) = [one["keep_until"] for one in person_rows(folder, work, on, [person])]
        scans = {row["id"]: filed_bytes(folder, work, row["file"]) for row in rows if row["file"]}
        others = search(folder, person.name, [folder.path / row.file for row in all_filed(work)])
    data = {
        "person": {
            "name": person.name,
            "born_on": person.born_on,
            "contact": person.contact,
            "basis": person.basis,
            "purpose": person.purpose,
            "keep_until": kept,
        },
        "papers": rows,
        "licences_that_rest_on_them": licences,
        "also_named_in": [
            {"what": what_of(one), "row": one.row, "columns": list(one.columns)}
            for one in found
            if one.table != "person" and (one.table, one.row) not in {("holding", str(number)) for number in data_of}
        ],
        "files": [row["file"] for row in rows if row["file"]],
        "other_files": [path.relative_to(folder.path).as_posix() for path in others.naming],
    }
    written = []
    for row in rows:
        if row["id"] in scans:
            target = out / f"paper-{row['id']}{Path(row['file']).suffix}"
            write_out(folder, target, scans[row["id"]], others=False)
            written.append(str(target))
    content = json.dumps(data, ensure_ascii=False, indent=2).encode() + b"\n"
    write_out(folder, out / "person.json", content, others=False)
    files = [str(out / "person.json"), *written]
    return {"person": data, "files": files, "not_looked_into": dict(others.closed)}


def papers_of(work: Connection, person: Person) -> list[PaperOnFile]:
    """Papers about a person, or signed by them."""
    from bizkit.services.rights.holdings import VOID
    from bizkit.store.jobs import holdings

    return [row for row in holdings(work) if row.status != VOID and named_in(row, person)]


def what_of(mention: Mention) -> str:
    """What a table is, in words."""
    return _WORDS.get(mention.table, mention.table.replace("_", " "))


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


class PersonExported(TypedDict):
    """What is known of somebody, written out."""

    person: dict[str, Any]
    files: list[str]
    not_looked_into: dict[str, int]
