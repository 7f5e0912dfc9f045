"""Papers on file: noted, sent, signed, withdrawn. One row a paper, read by the rights rules as a `Holding`.

The same table holds the papers that must be valid on the shoot days; they are written by `services.shoot_papers`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.personal_data import GUARDIAN, PERSON_KINDS
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS, ShootPaper
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import WORLD
from bizkit.services.rights.ages import check_ages, coming_of_age, with_births
from bizkit.services.rights.persons import People, compared, find_person, keep_person, subject_id, subject_of
from bizkit.services.rights.signed_paper import Allowed, Signed
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp

RELEASE = "talent_release"
PERMISSION = "location_permission"

#: A tune has two rights; one paper often gives both.
MUSIC = ("composition", "recording")

#: Papers that the studio has a form for.
OWN_FORMS = ("talent_release", "location_permission", "property_release", "performer_consent", "crew_assignment")

#: Taken out of the file because it was noted by mistake.
VOID = "void"


def add_holding_paper(
    folder: StudioFolder,
    kind: str,
    job: str,
    subject: str,
    on: date,
    *,
    signed: Signed | None = None,
    allows: Allowed | None = None,
    sent: bool = False,
    works: Sequence[str] = (),
) -> dict[str, Any]:
    """File a signed paper under a job, or (without `signed`) note that one is to be signed, `sent` or not.

    A paper noted before for the same subject becomes the signed one. works: deliverables it is limited to, all when
    empty. The scan is copied into papers/scans under its SHA-256. Raises BadInput for a missing scan, RuleBroken for
    somebody under 18 without a guardian or a signature in the future.
    """
    from bizkit.services.rights.works import work_ids
    from bizkit.services.shooting.jobs import the_job
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.jobs import add_holding, holdings, set_holding

    if kind not in HOLDING_KINDS:
        raise NotFound("kind of paper", kind, [*HOLDING_KINDS, "music", *SHOOT_PAPER_KINDS], field="--kind")
    if not subject.strip():
        raise BadInput(wanted="who or what it is about", got="nothing", field="--about, --who or --place")
    if signed is not None:
        signed.check(on)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        key = row["key"]
        limited = frozenset(work_ids(work, row, works))
        known = _on_record(work, kind, subject)
        holding = _holding(work, stamp, row, kind, subject, signed, allows, sent, folder.studio.media)
        holding = replace(holding, works=limited)
        noted = [
            one
            for one in holdings(work, key=key, kinds=(kind,))
            if one["status"] in ("draft", "sent") and compared(one["subject"]) == holding.subject
        ]
        if noted and signed is None and (noted[0]["status"] == "sent" or not sent):
            raise RuleBroken(f"{subject} is noted already: file the signed paper with --signed and --scan")
        holding_id = int(noted[0]["id"]) if noted else add_holding(work, _row(key, holding))
        if signed is not None:
            filed = file_scan(work, stamp, folder, signed.scan, kind=kind, about=f"holding {holding_id}")
            holding = replace(holding, document=filed["sha256"])
        changed = _row(key, holding)
        if signed is not None:
            changed["data"]["signing"] = {"at": stamp.at, "witness": signed.witness.strip(), "how": signed.how}
        set_holding(work, holding_id, **{name: changed[name] for name in changed if name not in ("job", "kind")})
        verb = "filed" if signed else "noted"
        record(work, stamp, verb, key, holding=holding_id, kind=kind, paper=holding.document)
        (found,) = [one for one in holding_rows(work, key) if one["id"] == holding_id]
        warnings = _warnings(work, key, replace(holding, key=str(holding_id)), known)
    return {**found, "warnings": warnings}


def withdraw_holding(folder: StudioFolder, job: str, holding_id: int, on: date, *, reason: str) -> dict[str, Any]:
    """Record that consent was taken back: from now on nothing new can be granted on it.

    The result's `live` lists the grants that rest on it, for a person to decide about. Raises RuleBroken for a paper
    that is not signed.
    """
    from bizkit.services.rights.licences import resting_on_subject
    from bizkit.store.events import record
    from bizkit.store.jobs import set_holding
    from bizkit.store.rights import persons

    if not reason.strip():
        raise BadInput(wanted="why it is withdrawn", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_paper(work, job, holding_id)
        if row["kind"] in SHOOT_PAPER_KINDS or row["status"] != "signed":
            raise RuleBroken(f"paper {holding_id} is {row['status']}: only a signed one can be withdrawn")
        holding = holding_of(row, People.of(persons(work)))
        if holding.signed_on and on < holding.signed_on:
            raise RuleBroken(f"paper {holding_id} was signed on {holding.signed_on}: not withdrawn before, on {on}")
        withdrawn = replace(holding, status="withdrawn", withdrawn_on=on)
        data = {**row["data"], **withdrawn.data(), "withdrawal": reason.strip()}
        set_holding(work, holding_id, status="withdrawn", data=data)
        record(work, stamp, "withdrawn", row["job"], holding=holding_id, kind=row["kind"])
        live = resting_on_subject(folder, work, row["job"], (holding.kind, holding.subject), on)
        (found,) = [one for one in holding_rows(work, row["job"]) if one["id"] == holding_id]
    return {**found, "live": live}


def drop_holding(folder: StudioFolder, job: str, holding_id: int, on: date, *, reason: str) -> dict[str, Any]:
    """Take out a paper that was noted by mistake. Raises RuleBroken for one that somebody signed."""
    from bizkit.store.events import record
    from bizkit.store.jobs import set_holding

    if not reason.strip():
        raise BadInput(wanted="why it is taken out", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_paper(work, job, holding_id)
        if row["status"] in ("signed", "withdrawn"):
            raise RuleBroken(
                f"paper {holding_id} was signed: it stays on file; withdraw it if consent was taken back"
            )
        (found,) = [one for one in holding_rows(work, row["job"]) if one["id"] == holding_id]
        set_holding(work, holding_id, status=VOID)
        record(work, stamp, "taken out", row["job"], holding=holding_id, reason=reason.strip())
    return {**found, "status": VOID}


def the_paper(work: Connection, job: str, holding_id: int) -> dict[str, Any]:
    """The row of one paper of a job. Raises NotFound."""
    from bizkit.services.shooting.jobs import the_job
    from bizkit.store.jobs import holdings

    rows = [row for row in holdings(work, key=the_job(work, job)["key"]) if row["status"] != VOID]
    for row in rows:
        if row["id"] == holding_id:
            return row
    hint = "See bizkit holding list" if rows else "None is on file"
    raise NotFound("paper of the job", holding_id, [str(row["id"]) for row in rows], field="PAPER", hint=hint)


def holding_of(row: dict[str, Any], people: People) -> Holding:
    """A row as the rights rules read it: persons by their names, and of the age that their dates of birth say."""
    data = {**row["data"], "key": str(row["id"]), "subject": compared(row["subject"])}
    data["name"] = people.called.get(row["subject"], data["name"])
    return with_births(Holding.from_data(data), people)


def held(work: Connection, jobs: Sequence[str]) -> list[Holding]:
    """Every paper of these jobs that must cover a licence."""
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    people = People.of(persons(work))
    kinds = tuple(HOLDING_KINDS)
    rows = [row for job in jobs for row in holdings(work, key=job, kinds=kinds)]
    return [holding_of(row, people) for row in rows if row["status"] != VOID]


def holding_rows(
    work: Connection, job: str | None = None, kinds: tuple[str, ...] | None = None
) -> list[dict[str, Any]]:
    """Papers by id, of one job and of some kinds when asked."""
    from bizkit.store.filed import all_filed
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    files = {one["sha256"]: one["file"] for one in all_filed(work)}
    people = People.of(persons(work))
    return [
        {**_shown(row, people), "file": files.get(row["paper"], "")}
        for row in holdings(work, key=job, kinds=kinds)
        if row["status"] != VOID
    ]


def list_holdings(
    folder: StudioFolder, kinds: tuple[str, ...] | None, on: date, job: str | None = None
) -> list[dict[str, Any]]:
    """Papers of these kinds (all without any), of one job or all; one that has ended by the day `on` is expired."""
    from bizkit.services.shooting.jobs import the_job

    with folder.book.read() as work:
        rows = holding_rows(work, the_job(work, job)["key"] if job else None, kinds)
    for row in rows:
        if row["status"] in ("signed", "valid") and row["expires_on"] and row["expires_on"] < on.isoformat():
            row["status"] = "expired"
    return rows


def asked_scope(job: Mapping[str, Any], kind: str, tree: MediaTree) -> Scope | None:
    """What the studio's own form of a kind of paper asks for; None where the paper is always somebody else's.

    An assignment is of everything for ever; the others ask for the media and countries of the job's licence, without
    an end, so that a renewal needs no new signature.
    """
    starts = Term(date.fromisoformat(job["opened_on"]))
    if kind == "crew_assignment":
        return Scope.box(tree.leaves("all"), WORLD, starts)
    if kind not in OWN_FORMS or not job["licence"]:
        return None
    return Scope.box(job["licence"]["media"], job["licence"]["territory"]["codes"], starts)


def _holding(
    work: Connection,
    stamp: Stamp,
    job: Mapping[str, Any],
    kind: str,
    subject: str,
    signed: Signed | None,
    allows: Allowed | None,
    sent: bool,
    tree: MediaTree,
) -> Holding:
    """The paper as typed, its person put on record."""
    from bizkit.store.rights import persons

    name = " ".join(subject.split())
    form = asked_scope(job, kind, tree)
    if signed:
        scope = signed.allows.scope(signed.on, form, tree)
    else:
        everything = Scope.box(tree.leaves("all"), WORLD, Term(date.min))
        wanted = form or asked_scope(job, RELEASE, tree) or everything
        scope = (allows or Allowed()).scope(date.fromisoformat(job["opened_on"]), wanted, tree)
    if kind in PERSON_KINDS:
        end = scope.end if signed and scope.end != OPEN_END else None
        signed_on = signed.on if signed else None
        born = signed.born if signed else None
        person = keep_person(work, stamp, name, PERSON_KINDS[kind], born=born, last_day=end, signed_on=signed_on)
        name = person["name"]
        about = subject_of(person)
    else:
        about = subject_id(persons(work), kind, name)
        end = None
    if signed:
        signed = replace(signed, by=_named(work, signed.by), guardian=_named(work, signed.guardian))
    if signed and signed.guardian and same_name(signed.guardian) != same_name(name):
        keep_person(work, stamp, signed.guardian, GUARDIAN, last_day=end, signed_on=signed.on)
    holding = Holding(
        key="",
        kind=kind,
        subject=about,
        name=name,
        scope=scope,
        status="signed" if signed else "sent" if sent else "draft",
        signed_on=signed.on if signed else None,
        signers=signed.signers(kind, name) if signed else (),
        minor=signed.minor if signed else False,
        conditions=signed.conditions if signed else (),
        client_conditions=signed.client_conditions if signed else (),
    )
    if signed:
        holding = with_births(holding, People.of(persons(work)))
        check_ages(holding)
        holding = replace(holding, minor=holding.young)
    return holding


def _named(work: Connection, name: str) -> str:
    """Somebody by their name, where they were named by `person-ID`."""
    from bizkit.store.rights import persons

    person = find_person(persons(work), name) if name.strip().startswith("person-") else None
    return person["name"] if person else name


def _on_record(work: Connection, kind: str, name: str) -> str:
    """What is on record of whom a paper is about, before it is filed; empty for a thing, or somebody new."""
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    person = find_person(persons(work), name) if kind in PERSON_KINDS else None
    if person is None:
        return ""
    papers = [str(row["id"]) for row in holdings(work) if row["subject"] == subject_of(person) and row["signed_on"]]
    born = [f"born {person['born_on']}"] if person["born_on"] else []
    return ", ".join([*born, *([f"of paper {', '.join(papers)}"] if papers else [])])


def _row(job: str, holding: Holding) -> dict[str, Any]:
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


def _shown(row: dict[str, Any], people: People) -> dict[str, Any]:
    """One paper for people and programs."""
    data = row["data"]
    common = {name: row[name] for name in ("id", "job", "kind", "status", "signed_on", "expires_on", "paper")}
    common["subject"] = people.called.get(row["subject"], data["name"])
    if row["kind"] in SHOOT_PAPER_KINDS:
        term = ShootPaper.from_data(data).term.text if data["starts"] else "nothing yet"
        days = f", needed on {', '.join(data['days'])}" if data["days"] else ""
        return {
            **common, "signed_by": "", "guardian": "", "conditions": [], "client_conditions": [], "scope": [],
            "works": [], "covers": f"valid {term}{days}", "number": data["number"], "holds_nothing": "",
            "of_age_on": "",
        }  # fmt: skip
    by = {one["role"]: one["name"] for one in data["signers"]}
    holding = holding_of(row, people)
    if holding.withdrawn_on:
        common["expires_on"] = (holding.held.end or holding.withdrawn_on).isoformat()
    return {
        **common,
        "signed_by": next(iter(by.values()), ""),
        "guardian": by.get("guardian", ""),
        "conditions": data["conditions"],
        "client_conditions": data.get("client_conditions", []),
        "scope": data["scope"],
        "works": [one.partition("/")[2] for one in data["works"]],
        "covers": (holding.held if holding.withdrawn_on else holding.scope).text() if row["signed_on"] else "",
        "number": "",
        "holds_nothing": holding.why_nothing if row["status"] == "signed" else "",
        "of_age_on": holding.of_age_on.isoformat() if holding.of_age_on else "",
    }


def _warnings(work: Connection, job: str, holding: Holding, known: str) -> list[str]:
    """What a person should look at, though nothing forbids it. known: what was on record of whom it is about."""
    from bizkit.services.shooting.jobs import last_shoot_day
    from bizkit.store.jobs import shoot_days

    found = []
    last = last_shoot_day(shoot_days(work, job))
    if holding.kind == "crew_assignment" and holding.signed_on and last and holding.signed_on > last:
        found.append(
            f"signed on {holding.signed_on}, after the last shoot day {last}: "
            "check that it reaches back to what was shot before"
        )
    if holding.signed_on and holding.scope.end != OPEN_END:
        found.append(f"it allows nothing after {holding.scope.end}: a licence that runs longer is not covered")
    if holding.signed_on and known:
        found.append(
            f"{holding.name} is taken to be {holding.subject}, {known}. Somebody else of that name needs a word "
            f"behind it that tells them apart, as in '{holding.name} (the younger)'"
        )
    return [*found, *coming_of_age(holding)]
