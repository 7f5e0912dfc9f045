"""Everything kept about one person, put together for them; and where else their name stands."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.rights.personal_data import AS_LONG_AS_IT_RUNS
from bizkit.services.rights.persons import named_in, the_person
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.licences import LicenceRow
    from bizkit.store.jobs import PaperOnFile
    from bizkit.store.mentions import Mention
    from bizkit.store.rights import Person

Row = dict[str, Any]


def export_person(folder: StudioFolder, name: str, out: Path, on: date) -> Row:
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
        licences = resting_licences(folder, work, person, on)
        scans = {row["id"]: filed_bytes(folder, work, row["file"]) for row in rows if row["file"]}
        others = search(folder, person.name, [folder.path / row.file for row in all_filed(work)])
    data = {
        "person": {
            "name": person.name,
            "born_on": person.born_on,
            "contact": person.contact,
            "basis": person.basis,
            "purpose": person.purpose,
            "keep_until": None if person.keep_until == AS_LONG_AS_IT_RUNS else person.keep_until,
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


def resting_licences(folder: StudioFolder, work: Connection, person: Person, on: date) -> list[LicenceRow]:
    """Licences, over or not, of works that somebody's papers are needed for, each once."""
    found: dict[str, LicenceRow] = {}
    for paper in papers_of(work, person):
        found |= {row["number"]: row for row in resting_on_paper(folder, work, paper, on)}
    return list(found.values())


def resting_on_paper(folder: StudioFolder, work: Connection, paper: PaperOnFile, on: date) -> list[LicenceRow]:
    """Licences, over or not, of works that one paper is needed for."""
    from bizkit.services.rights.licences import granted, licence_row
    from bizkit.services.rights.needs import works_that_need

    works = works_that_need(folder, work, paper.job, (paper.kind, paper.subject))
    return [licence_row(one, on) for one in granted(work, works=works)] if works else []


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
