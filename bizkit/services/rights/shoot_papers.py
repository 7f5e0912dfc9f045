"""Papers of the shoot itself: permits, insurance, pilot and operator IDs, divers' medicals, vessels.

They must be valid on the SHOOT days, whatever the licence. One noted without dates is still to be got. What is
required where is for local law and licensed practice to say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.names import same_name
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS, ShootGap, ShootNeed, ShootPaper, shoot_gaps
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.services.rights.filed_twice import refuse_filed
from bizkit.services.rights.needed_days import needed_on, shoots_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.holdings import Filed
    from bizkit.store.jobs import Job

#: States of such a paper.
NEEDED, VALID = "needed", "valid"


def add_shoot_paper(
    folder: StudioFolder,
    kind: str,
    job: str,
    about: str,
    on: date,
    *,
    starts: date | None = None,
    until: date | None = None,
    number: str = "",
    days: Sequence[date] = (),
    scan: Path | None = None,
) -> Filed:
    """File a paper that is valid from `starts` to `until` (inclusive), or note that one is needed.

    about: whose or what it is. number: its own, as printed on it. days: the shoot days it is needed on, wherever they
    are moved; all of them when empty, of a diver's medical those in the water. A paper on file for one job counts for
    every other. Raises BadInput for an end without a start, dates backwards, or a day that is none of the job's.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.jobs import add_holding, holdings, set_holding

    if kind not in SHOOT_PAPER_KINDS:
        raise NotFound("kind of paper", kind, SHOOT_PAPER_KINDS, field="--kind")
    if not about.strip():
        raise BadInput(wanted="whose or what it is", got="nothing", field="--about")
    if starts is None and (until is not None or scan is not None):
        raise BadInput(wanted="the first day it is valid", got="nothing", field="--from")
    if starts and until and until < starts:
        raise BadInput(wanted=f"a last day on or after {starts}", got=until, field="--until")
    name, subject = " ".join(about.split()), same_name(about)
    data: dict[str, Any] = {
        "key": "",
        "kind": kind,
        "subject": subject,
        "name": name,
        "starts": starts.isoformat() if starts else "",
        "ends": until.isoformat() if until else "",
        "document": "",
        "number": number.strip(),
        "days": [day.isoformat() for day in days],
    }
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        key = the_job(work, job).key
        shoots = shoots_of(work, key)
        for day in days:
            if str(day) not in [one.on for one in shoots]:
                raise NotFound("shoot day of the job", day, [one.on for one in shoots], field="--day")
        data["positions"] = [one.position for one in shoots if date.fromisoformat(one.on) in days]
        noted = [
            row for row in holdings(work, key=key, kinds=(kind,)) if row.status == NEEDED and row.subject == subject
        ]
        row = {
            "job": key,
            "kind": kind,
            "subject": subject,
            "status": VALID if starts else NEEDED,
            "signed_on": data["starts"],
            "expires_on": data["ends"],
            "paper": "",
            "data": data,
        }
        if noted and not days:
            data |= {name: noted[0].data[name] for name in ("days", "positions") if name in noted[0].data}
        paper_id = int(noted[0].id) if noted else add_holding(work, row)
        if scan is not None:
            filed = file_scan(work, stamp, folder, scan, kind=kind, about=f"holding {paper_id}")
            row["paper"] = data["document"] = filed["sha256"]
        refuse_filed(work, row, paper_id)
        set_holding(work, paper_id, **{column: row[column] for column in row if column not in ("job", "kind")})
        record(work, stamp, "filed" if starts else "noted", key, holding=paper_id, kind=kind, paper=row["paper"])
        (found,) = [one for one in holding_rows(work, key) if one["id"] == paper_id]
        gaps = shoot_check(work, the_job(work, job))
    warnings = [gap.text for gap in gaps if starts and (gap.need.kind, gap.need.subject) == (kind, subject)]
    return {**found, "warnings": warnings}


def shoot_hints(work: Connection, job: Job) -> list[str]:
    """What nobody has noted though the brief or the papers suggest it: a drone flies, a child takes part."""
    from bizkit.store.jobs import holdings

    rows = holdings(work, key=job.key, kinds=tuple(SHOOT_PAPER_KINDS))
    return _hints(work, job, {row.kind for row in rows if row.status in (NEEDED, VALID)})


def shoot_check(work: Connection, job: Job) -> list[ShootGap]:
    """Shoot days without a paper noted for them."""
    from bizkit.store.ahead import kept
    from bizkit.store.jobs import holdings

    wanted: dict[tuple[str, str], tuple[str, set[date]]] = {}
    for row in holdings(work, key=job.key, kinds=tuple(SHOOT_PAPER_KINDS)):
        if row.status in (NEEDED, VALID):
            days = wanted.setdefault((row.kind, row.subject), (row.data["name"], set()))[1]
            days.update(needed_on(work, row))
    valid = kept(work, "valid shoot papers", lambda: _valid(work))
    needs = [ShootNeed(kind, subject, name, tuple(sorted(days))) for (kind, subject), (name, days) in wanted.items()]
    papers = [paper for about in wanted for paper in valid.get(about, ())]
    return shoot_gaps(needs, papers)


def _valid(work: Connection) -> dict[tuple[str, str], list[ShootPaper]]:
    """(kind, subject) -> the papers about it that are valid, of whatever job."""
    from bizkit.store.jobs import holdings

    found: dict[tuple[str, str], list[ShootPaper]] = {}
    for row in holdings(work, kinds=tuple(SHOOT_PAPER_KINDS)):
        if row.status == VALID:
            paper = ShootPaper.from_data({**row.data, "key": str(row.id)})
            found.setdefault((paper.kind, paper.subject), []).append(paper)
    return found


def shoot_dates(work: Connection, job: str) -> list[date]:
    """The dated days on which a camera runs, in order."""
    return [date.fromisoformat(day.on) for day in shoots_of(work, job)]


def papers_valid_on(work: Connection, kind: str, day: date) -> list[dict[str, Any]]:
    """Data of papers of a kind that are valid on a day, of any job."""
    from bizkit.store.jobs import holdings

    return [row.data for row in holdings(work, kinds=(kind,)) if row.status == VALID and day in _term(row.data)]


def _term(data: Mapping[str, Any]) -> Term:
    return Term(date.fromisoformat(data["starts"]), date.fromisoformat(data["ends"]) if data["ends"] else OPEN_END)


def _hints(work: Connection, job: Job, noted: set[str]) -> list[str]:
    """A drone in the brief or a child in the job, and nothing about it noted: somebody should look."""
    from bizkit.services.job.jobs import brief_days

    flies = any(
        "drone" in role
        for day in brief_days(work, job.quote_number, job.quote_revision)
        for one in day.get("crew", ())
        for role in one.get("roles", ())
    )
    missing = [SHOOT_PAPER_KINDS[kind] for kind in ("pilot_id", "operator_id", "insurance") if kind not in noted]
    hints = []
    if flies and missing:
        hints.append(
            f"a drone flies and nothing is noted about: {', '.join(missing)}. "
            f"Check your local rules, then note them with bizkit holding add {job.key} --kind KIND --about NAME"
        )
    return [*hints, *children_to_look_at(work, job)]


def children_to_look_at(work: Connection, job: Job) -> list[str]:
    """Who is under 18 and has no child performance licence noted, in one line; none where everybody has."""
    children = _children_without_licence(work, job)
    if not children:
        return []
    return [
        f"under 18, without a child performance licence noted: {', '.join(children)}. Many places ask for one "
        "(in Great Britain of the authority where the child lives, 21 days ahead, with an approved chaperone). Check "
        f"your local rules, then note it with bizkit holding add {job.key} --kind child_licence --about NAME"
    ]


def shoot_looks(work: Connection, job: Job) -> list[str]:
    """What to look at before a licence of what was shot is granted: days on which a paper of the shoot, noted or on
    file, is not valid, and children without a licence to perform."""
    return [*(gap.text for gap in shoot_check(work, job)), *children_to_look_at(work, job)]


def _children_without_licence(work: Connection, job: Job) -> list[str]:
    """Who is under 18 on a shoot day, by birth or as was said, of those with a release or consent noted, and has no
    child performance licence noted: each by name."""
    from bizkit.domain.rights.age import minor_when
    from bizkit.services.rights.holdings import OUT
    from bizkit.services.rights.persons import people_of
    from bizkit.store.jobs import holdings

    people = people_of(work)
    births = people.births
    first = min(shoot_dates(work, job.key), default=None)
    licensed = {
        same_name(row.data["name"])
        for row in holdings(work, key=job.key, kinds=("child_licence",))
        if row.status in (NEEDED, VALID)
    }
    found: dict[str, None] = {}
    for row in holdings(work, key=job.key, kinds=("talent_release", "performer_consent")):
        known = minor_when(births.get(row.subject), first)
        name = people.called.get(row.subject, row.data["name"])
        young = row.data["minor"] if known is None else known
        if row.status not in (*OUT, "withdrawn") and young and same_name(name) not in licensed:
            found[name] = None
    return list(found)
