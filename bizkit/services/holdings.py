"""Releases and permissions on file: signed papers linked to a job, and what is still missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory
from bizkit.services.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

RELEASE = "talent_release"
PERMISSION = "location_permission"

#: States of a paper: noted as needed, signed, or taken back by who gave it.
TO_SIGN, SIGNED, WITHDRAWN = "to sign", "signed", "withdrawn"


@dataclass(frozen=True, slots=True)
class Signed:
    """A signed paper as typed in. Empty media and where mean all media and the whole world.

    on: day of signature. starts, until: first and last day (inclusive) it allows; None for the day of signature and
    for no end. born: date of birth, needed only to tell who is under 18.
    """

    on: date
    scan: Path
    by: str = ""
    guardian: str = ""
    born: date | None = None
    media: tuple[str, ...] = ()
    where: tuple[str, ...] = ()
    starts: date | None = None
    until: date | None = None
    conditions: tuple[str, ...] = ()

    def scope(self) -> Scope:
        """What it allows. Raises BadInput or NotFound for an unknown medium or place, or dates backwards."""
        starts = self.starts or self.on
        if self.until is not None and self.until < starts:
            raise BadInput(wanted=f"a last day on or after {starts}", got=self.until, field="--until")
        media = MEDIA_TREE.read(self.media or [one.code for one in MEDIA_TREE if not one.under], field="--media")
        territory = Territory.read(self.where or ("World",), (), field="--where")
        return Scope.box(media, territory.codes, Term(starts, self.until or OPEN_END))

    def check_age(self) -> None:
        """Refuse somebody under 18 without a guardian. Source: age of majority, Age of Legal Capacity (Scotland) Act
        1991 and Family Law Reform Act 1969 give 16 to 18; bizkit asks for a guardian up to 18, as most places do.
        """
        if self.born is None or self.guardian:
            return
        if self.born > self.on:
            raise BadInput(wanted=f"a date of birth before {self.on}", got=self.born, field="--born")
        eighteen = _birthday(self.born, 18)
        if self.on < eighteen:
            raise RuleBroken(
                f"born {self.born}, so under 18 when it was signed: "
                "a parent or guardian signs; name them with --guardian"
            )


def read_signed(
    *,
    signed: str,
    scan: Path | None,
    by: str = "",
    guardian: str = "",
    born: str = "",
    media: Sequence[str] | None = None,
    where: Sequence[str] | None = None,
    starts: str = "",
    until: str = "",
    conditions: Sequence[str] | None = None,
) -> Signed | None:
    """A signed paper from what was typed; None when neither signature nor scan is given. Raises BadInput."""
    if not signed and scan is None:
        return None
    if not signed:
        raise BadInput(wanted="the day of signature", got="nothing", field="--signed")
    if scan is None:
        raise BadInput(wanted="the signed paper as a file", got="nothing", field="--scan")

    def day(text: str, field: str) -> date | None:
        return iso_date(text, field=field) if text else None

    return Signed(
        on=iso_date(signed, field="--signed"),
        scan=scan,
        by=by,
        guardian=guardian,
        born=day(born, "--born"),
        media=tuple(media or ()),
        where=tuple(where or ()),
        starts=day(starts, "--from"),
        until=day(until, "--until"),
        conditions=tuple(conditions or ()),
    )


def add_holding_paper(
    folder: StudioFolder, kind: str, job: str, subject: str, on: date, *, signed: Signed | None = None
) -> dict[str, Any]:
    """File a signed release or permission under a job, or (without `signed`) note that one is to be signed.

    A paper noted before for the same subject becomes the signed one. The scan is copied into papers/scans under its
    SHA-256. Raises BadInput for a missing scan, RuleBroken for somebody under 18 without a guardian or a signature
    in the future.
    """
    from bizkit.services.filing import file_scan
    from bizkit.services.jobs import the_job
    from bizkit.store.events import record
    from bizkit.store.jobs import add_holding, holdings, set_holding

    if not subject.strip():
        raise BadInput(wanted="who or where it is about", got="nothing", field="--who or --place")
    if signed is not None:
        signed.check_age()
        if signed.on > on:
            raise RuleBroken(f"signed on {signed.on}, which is after {on}: a paper is filed once it is signed")
    scope = signed.scope() if signed else Scope()
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        key = the_job(work, job)["key"]
        noted = [
            row
            for row in holdings(work, key=key, kinds=(kind,))
            if row["status"] == TO_SIGN and _same(row["subject"], subject)
        ]
        if noted and signed is None:
            raise RuleBroken(f"{subject} is noted already: file the signed paper with --signed and --scan")
        row = {
            "job": key,
            "kind": kind,
            "subject": subject.strip(),
            "status": SIGNED if signed else TO_SIGN,
            "signed_on": signed.on.isoformat() if signed else "",
            "expires_on": signed.until.isoformat() if signed and signed.until else "",
            "paper": "",
            "data": _data(subject, signed, scope),
        }
        holding_id = int(noted[0]["id"]) if noted else add_holding(work, row)
        if signed is not None:
            filed = file_scan(work, stamp, folder, signed.scan, kind=kind, about=f"holding {holding_id}")
            row["paper"] = filed["sha256"]
            set_holding(work, holding_id, **{k: row[k] for k in row if k not in ("job", "kind")})
        record(
            work, stamp, "filed" if signed else "noted", key, holding=holding_id, kind=kind, subject=subject.strip()
        )
        (found,) = [one for one in holding_rows(work, key) if one["id"] == holding_id]
    return {**found, "warnings": _warnings(signed)}


def holding_rows(
    work: Connection, job: str | None = None, kinds: tuple[str, ...] | None = None
) -> list[dict[str, Any]]:
    """Papers by id, of one job and of some kinds when asked."""
    from bizkit.store.filed import all_filed
    from bizkit.store.jobs import holdings

    files = {one["sha256"]: one["file"] for one in all_filed(work)}
    rows = []
    for row in holdings(work, key=job, kinds=kinds):
        data = row["data"]
        rows.append(
            {
                **{k: row[k] for k in ("id", "job", "kind", "subject", "status", "signed_on", "expires_on", "paper")},
                "signed_by": data["guardian"] or data["by"],
                "guardian": data["guardian"],
                "conditions": data["conditions"],
                "scope": data["scope"],
                "covers": _covers(data["scope"]),
                "file": files.get(row["paper"], ""),
            }
        )
    return rows


def list_holdings(
    folder: StudioFolder, kinds: tuple[str, ...], on: date, job: str | None = None
) -> list[dict[str, Any]]:
    """Papers of these kinds, of one job or all; one that has ended by the day `on` says so."""
    from bizkit.services.jobs import the_job

    with folder.book.read() as work:
        rows = holding_rows(work, the_job(work, job)["key"] if job else None, kinds)
    for row in rows:
        if row["status"] == SIGNED and row["expires_on"] and row["expires_on"] < on.isoformat():
            row["status"] = "ended"
    return rows


def missing_papers(job: dict[str, Any], days: list[dict[str, Any]], holdings: list[dict[str, Any]]) -> list[str]:
    """What a job still needs, one line each: permissions of its places, signatures, papers that end too early."""
    from bizkit.services.jobs import SHOOTS

    missing = []
    signed = [row for row in holdings if row["status"] == SIGNED]
    for place in dict.fromkeys(day["place"] for day in days if day["kind"] in SHOOTS and day["place"]):
        on_file = [row for row in holdings if row["kind"] == PERMISSION and _same(row["subject"], place)]
        if not any(row["status"] in (SIGNED, TO_SIGN) for row in on_file):
            missing.append(f"location permission: {place}")
    if job["licence"] and not any(row["kind"] == RELEASE for row in holdings):
        missing.append("talent releases: none on file; note who appears with bizkit release add")
    for row in holdings:
        if row["status"] == TO_SIGN:
            missing.append(f"{row['kind'].replace('_', ' ')}: {row['subject']}, to be signed")
    ends = (job["licence"] or {}).get("ends", "")
    for row in signed:
        if ends and row["expires_on"] and row["expires_on"] < ends:
            what = row["kind"].replace("_", " ")
            missing.append(f"{what}: {row['subject']}, ends {row['expires_on']}, the licence runs to {ends}")
    return missing


def _data(subject: str, signed: Signed | None, scope: Scope) -> dict[str, Any]:
    return {
        "by": (signed.by or subject).strip() if signed else "",
        "guardian": signed.guardian.strip() if signed else "",
        "born": signed.born.isoformat() if signed and signed.born else "",
        "scope": scope.data(),
        "conditions": list(signed.conditions) if signed else [],
    }


def _covers(scope: list[dict[str, Any]]) -> str:
    return "; ".join(Scope.from_data(scope).text().splitlines()) if scope else ""


def _warnings(signed: Signed | None) -> list[str]:
    if signed is None or signed.until is None:
        return []
    return [f"it allows nothing after {signed.until}: a licence that runs longer is not covered"]


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def _birthday(born: date, years: int) -> date:
    """The birthday; somebody born on 29 February has it on 1 March in other years."""
    try:
        return born.replace(year=born.year + years)
    except ValueError:
        return date(born.year + years, 3, 1)
