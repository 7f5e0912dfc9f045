"""Papers on file: noted, sent, signed, withdrawn. One row a paper, read by the rights rules as a `Holding`.

The same table holds the papers that must be valid on the shoot days; they are written by `services.shoot_papers`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import NotFound
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS, ShootPaper
from bizkit.domain.rights.taken_back import as_they_stand
from bizkit.domain.rights.term import OPEN_END
from bizkit.services.rights.ages import with_births
from bizkit.services.rights.needed_days import needed_on
from bizkit.services.rights.persons import People, compared, people_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import PaperOnFile

RELEASE = "talent_release"
PERMISSION = "location_permission"

#: A tune has two rights; one paper often gives both.
MUSIC = ("composition", "recording")

#: Taken out of the file because it was noted by mistake.
VOID = "void"

#: Recorded wrongly, and kept beside the paper that puts it right.
CORRECTED = "corrected"

#: States of rows that say nothing any more.
OUT = (VOID, CORRECTED)


def the_paper(work: Connection, job: str, holding_id: int) -> PaperOnFile:
    """The row of one paper of a job. Raises NotFound."""
    from bizkit.services.job.jobs import the_job
    from bizkit.store.jobs import holdings

    rows = [row for row in holdings(work, key=the_job(work, job).key) if row.status != VOID]
    for row in rows:
        if row.id == holding_id:
            return row
    hint = "See bizkit holding list" if rows else "None is on file"
    raise NotFound("paper of the job", holding_id, [str(row.id) for row in rows], field="PAPER", hint=hint)


def holding_of(row: PaperOnFile, people: People) -> Holding:
    """A row as the rights rules read it: persons by their names, and of the age that their dates of birth say."""
    data = {**row.data, "key": str(row.id), "subject": compared(row.subject)}
    data["name"] = people.called.get(row.subject, data["name"])
    return with_births(Holding.from_data(data), people)


def held(work: Connection, jobs: Sequence[str]) -> list[Holding]:
    """Every paper of these jobs that must cover a licence."""
    from bizkit.store.jobs import holdings

    people, kinds = people_of(work), tuple(HOLDING_KINDS)
    found = []
    for job in jobs:
        rows = [row for row in holdings(work, key=job, kinds=kinds) if row.status not in OUT]
        found += _as_they_stand(rows, people)
    return found


def _as_they_stand(rows: Sequence[PaperOnFile], people: People) -> list[Holding]:
    """The papers of one job as far as consent still stands; in the order of their filing on one day."""
    said = {str(row.id): row.data for row in rows}

    def filed_after(paper: Holding, withdrawn: Holding) -> bool:
        known = said[paper.key].get("signing", {}).get("after", ())
        return said[withdrawn.key].get("withdrawal_of") in known

    return as_they_stand([holding_of(row, people) for row in rows], filed_after)


def holding_rows(work: Connection, job: str | None = None, kinds: tuple[str, ...] | None = None) -> list[HoldingRow]:
    """Papers by id, of one job and of some kinds when asked."""
    from bizkit.store.filed import paper_files
    from bizkit.store.jobs import holdings

    files = paper_files(work, job)
    people = people_of(work)
    rows = [row for row in holdings(work, key=job, kinds=kinds) if row.status != VOID]
    of_job: dict[str, list[PaperOnFile]] = {}
    for row in rows:
        if row.kind in HOLDING_KINDS and row.status not in OUT:
            of_job.setdefault(row.job, []).append(row)
    stands = {one.key: one for mine in of_job.values() for one in _as_they_stand(mine, people)}
    return [_shown(work, row, people, stands.get(str(row.id)), files.get(row.paper, "")) for row in rows]


def list_holdings(
    folder: StudioFolder, kinds: tuple[str, ...] | None, on: date, job: str | None = None
) -> list[HoldingRow]:
    """Papers of these kinds (all without any), of one job or all; one that has ended by the day `on` is expired."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() if job else folder.book.read_all() as work:
        rows = holding_rows(work, the_job(work, job).key if job else None, kinds)
    for row in rows:
        if row["status"] in ("signed", "valid") and row["expires_on"] and row["expires_on"] < on.isoformat():
            row["status"] = "expired"
    return rows


def row_of(job: str, holding: Holding) -> dict[str, Any]:
    """The row of a paper."""
    end = holding.scope.end
    return {
        "job": job,
        "kind": holding.kind,
        "subject": holding.subject,
        "status": holding.status,
        "signed_on": holding.signed_on.isoformat() if holding.signed_on else "",
        "expires_on": end.isoformat() if holding.signed_on and end and end != OPEN_END else "",
        "paper": holding.document,
        "data": holding.data(),
    }


def _shown(work: Connection, row: PaperOnFile, people: People, holding: Holding | None, file: str) -> HoldingRow:
    """One paper for people and programs; holding: as far as it stands beside the others of its job."""
    data = row.data
    shown: HoldingRow = {
        "id": row.id,
        "job": row.job,
        "kind": row.kind,
        "status": row.status,
        "signed_on": row.signed_on,
        "expires_on": row.expires_on,
        "paper": row.paper,
        "subject": people.called.get(row.subject, data["name"]),
        "signed_by": "",
        "guardian": "",
        "conditions": [],
        "client_conditions": [],
        "scope": [],
        "works": [],
        "covers": "",
        "number": "",
        "holds_nothing": "",
        "of_age_on": "",
        "form": "",
        "corrects": 0,
        "corrected_by": 0,
        "correction": "",
        "file": file,
    }
    if row.kind in SHOOT_PAPER_KINDS:
        term = ShootPaper.from_data(data).term.text if data["starts"] else "nothing yet"
        needed = needed_on(work, row) if data["days"] else []
        days = f", needed on {', '.join(map(str, needed))}" if needed else ""
        shown["covers"], shown["number"] = f"valid {term}{days}", data["number"]
        return shown
    by = {one["role"]: one["name"] for one in data["signers"]}
    holding = holding or holding_of(row, people)
    if holding.withdrawn_on:
        shown["expires_on"] = (holding.held.end or holding.withdrawn_on).isoformat()
    shown["signed_by"], shown["guardian"] = next(iter(by.values()), ""), by.get("guardian", "")
    shown["conditions"], shown["client_conditions"] = data["conditions"], data.get("client_conditions", [])
    shown["scope"], shown["works"] = data["scope"], [one.partition("/")[2] for one in data["works"]]
    if row.signed_on:
        shown["covers"] = (holding.held if holding.withdrawn_on else holding.scope).text()
    shown["holds_nothing"] = holding.why_nothing if row.status == "signed" else ""
    shown["of_age_on"] = holding.of_age_on.isoformat() if holding.of_age_on else ""
    shown["form"], shown["correction"] = data.get("form", ""), data.get("correction", "")
    shown["corrects"], shown["corrected_by"] = data.get("corrects", 0), data.get("corrected_by", 0)
    return shown


class HoldingRow(TypedDict):
    """A paper on file. covers: in words; holds_nothing: why, empty where it holds; file: inside the studio folder."""

    id: int
    job: str
    kind: str
    status: str
    signed_on: str
    expires_on: str
    paper: str
    subject: str
    signed_by: str
    guardian: str
    conditions: list[str]
    client_conditions: list[str]
    scope: list[dict[str, Any]]
    works: list[str]
    covers: str
    number: str
    holds_nothing: str
    of_age_on: str
    form: str
    corrects: int
    corrected_by: int
    correction: str
    file: str


class Filed(HoldingRow):
    """A paper as it was filed or noted. warnings: what to look at."""

    warnings: list[str]
