"""Erasing somebody: what the law asks to keep stays, and is said with its reason; the rest is taken out, files too.

First `plan_erasure` says what would happen; `erase_person` does it. Nothing that was issued or recorded for ever is
touched: it is reported instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput
from bizkit.domain.rights.personal_data import CLAIMS, TAX, YEARS_KEPT, keep_until
from bizkit.services.rights.person_file import files_naming, papers_of, resting_licences, what_of
from bizkit.services.rights.persons import ERASED, People, subject_of, the_person
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

Row = dict[str, Any]

#: Records that never change: (table, why they stay).
_RECORDS = {
    "issued": TAX,
    "basis": TAX,
    "payment": TAX,
    "cost": TAX,
    "letter": TAX,
    "worked_day": TAX,
}
#: Files of these kinds hold one person's paper; others that name them are somebody's to change.
_DELETED = ("forms", "incoming")


@dataclass(frozen=True, slots=True)
class Plan:
    """What erasing somebody comes to. until: day to which what is kept is kept; empty when nothing is."""

    person: Row
    keep: tuple[Row, ...]
    erase: tuple[Row, ...]
    reasons: tuple[tuple[str, str], ...]
    files: tuple[Path, ...]
    by_hand: tuple[Path, ...]
    until: str

    def data(self, folder: StudioFolder) -> Row:
        """As JSON-ready data."""

        def names(paths: tuple[Path, ...]) -> list[str]:
            return [path.relative_to(folder.path).as_posix() for path in paths]

        return {
            "name": self.person["name"],
            "person": subject_of(self.person),
            "papers_kept": [row["id"] for row in self.keep],
            "papers_erased": [row["id"] for row in self.erase],
            "kept": [{"what": what, "why": why} for what, why in self.reasons],
            "kept_until": self.until,
            "files_deleted": names(self.files),
            "change_by_hand": names(self.by_hand),
        }


def plan_erasure(folder: StudioFolder, name: str, on: date) -> Row:
    """What erasing somebody would keep, and why, and what it would take out. Raises NotFound."""
    with folder.book.read() as work:
        return _plan(folder, work, name, on).data(folder)


def erase_person(folder: StudioFolder, name: str, on: date, *, reason: str) -> Row:
    """Erase somebody as `plan_erasure` says; `reason` is kept without their name. Raises NotFound, BadInput.

    Papers that a licence rests on are kept with name and signature, everything else known of the person goes; asking
    again once they are not needed any more takes out the rest.
    """
    from bizkit.services.rights.holdings import VOID, holding_of
    from bizkit.store.events import record
    from bizkit.store.jobs import set_holding
    from bizkit.store.mentions import take_out
    from bizkit.store.rights import persons, set_person

    if not reason.strip():
        raise BadInput(wanted="why they are erased, such as asked on a day", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        plan = _plan(folder, work, name, on)
        person, put = plan.person, f"{ERASED} {plan.person['id']}"
        said = plan.data(folder)
        for row in plan.erase:
            data = {
                **row["data"],
                "name": put,
                "signers": [],
                "conditions": [],
                "client_conditions": [],
                "document": "",
                "signing": {},
            }
            set_holding(work, row["id"], status=VOID, paper="", signed_on="", expires_on="", data=data)
        people = People.of(persons(work))
        for row in plan.keep:  # the date of birth goes: what it decided about the paper stays
            set_holding(work, row["id"], data={**row["data"], "minor": holding_of(row, people).young})
        spared = [("person", str(person["id"])), *(("holding", str(row["id"])) for row in plan.keep)]
        take_out(work, person["name"], put, but=spared)
        changes: Row = {"born_on": "", "contact": {}}
        changes |= (
            {"keep_until": plan.until} if plan.keep else {"name": "", "purpose": "", "erased_on": on.isoformat()}
        )
        set_person(work, person["id"], **changes)
        digests = sorted({row["paper"] for row in plan.erase if row["paper"]} - {row["paper"] for row in plan.keep})
        record(
            work,
            stamp,
            "erased",
            subject_of(person),
            papers=said["papers_erased"],
            papers_kept=said["papers_kept"],
            kept=said["kept"],
            files=digests,
            reason=" ".join(reason.split()).replace(person["name"], put),
        )
    for path in plan.files:
        path.unlink(missing_ok=True)
    return {**said, "done": True}


def _plan(folder: StudioFolder, work: Connection, name: str, on: date) -> Plan:
    from bizkit.store.filed import all_filed
    from bizkit.store.jobs import holdings
    from bizkit.store.mentions import mentions
    from bizkit.store.rights import persons

    person = the_person(persons(work), name)
    papers = papers_of(work, person)
    needed = [(row, _needed_until(row)) for row in resting_licences(folder, work, person, on)]
    standing = [(row, until) for row, until in needed if until >= on.isoformat()]
    keep = [row for row in papers if standing and row["paper"]]
    erase = [row for row in papers if row not in keep]
    reasons = [
        (
            f"{len(keep)} signed paper{'s' if len(keep) > 1 else ''} with name and signature",
            f"licence {row['number']} rests on it, and for {YEARS_KEPT} years after its end it may be disputed "
            f"({CLAIMS})",
        )
        for row, _ in standing
        if keep
    ]
    gone = {("holding", str(row["id"])) for row in papers} | {("person", str(person["id"]))}
    counts: dict[tuple[str, str], int] = {}
    for one in mentions(work, person["name"]):
        if one.kept and (one.table, one.row) not in gone:
            why = _RECORDS.get(one.table, f"record of what was agreed and done ({CLAIMS})")
            counts[what_of(one), why] = counts.get((what_of(one), why), 0) + 1
    reasons += [(f"{count} x {what}", why) for (what, why), count in counts.items()]
    others = {row["paper"] for row in holdings(work) if row["id"] not in {each["id"] for each in erase}}
    digests = {row["paper"] for row in erase if row["paper"]} - others
    scans = {folder.path / one["file"] for one in all_filed(work) if one["sha256"] in digests}
    named = list(files_naming(folder, person["name"]))
    own = {path for path in named if path.relative_to(folder.path).parts[0] in _DELETED}
    return Plan(
        person=person,
        keep=tuple(keep),
        erase=tuple(erase),
        reasons=tuple(reasons),
        files=tuple(sorted(path for path in scans | own if path.is_file())),
        by_hand=tuple(path for path in named if path not in own),
        until=max((until for _, until in standing), default="") if keep else "",
    )


def _needed_until(licence: Row) -> str:
    """The last day on which somebody may ask whether the licence was covered."""
    granted_on = date.fromisoformat(licence["granted_on"])
    if licence["state"] not in ("ended", "ended early") and not licence["ends"]:
        return date.max.isoformat()
    return keep_until(date.fromisoformat(licence["ends"]) if licence["ends"] else None, granted_on).isoformat()
