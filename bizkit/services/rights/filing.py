"""Filing papers: a signed one with what it says it allows, or a note that one is to be signed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.rights.age import minor_when
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.paper_terms import PaperTerms, scope_of
from bizkit.domain.rights.personal_data import GUARDIAN, PERSON_KINDS, SIGNER
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS
from bizkit.domain.rights.term import OPEN_END
from bizkit.domain.rights.territory import WORLD, Territory
from bizkit.services.rights.ages import check_ages, check_said_young, coming_of_age, with_births
from bizkit.services.rights.filed_after import order_to_look_at, withdrawals_before
from bizkit.services.rights.filed_twice import refuse_filed, refuse_form_used, refuse_withdrawn
from bizkit.services.rights.holdings import OUT, RELEASE, holding_rows, row_of
from bizkit.services.rights.news_of_age import births_on_record, news_of_births
from bizkit.services.rights.numbered_forms import (
    PAPERS,
    NumberedForm,
    asked_terms,
    check_form_day,
    check_form_of_child,
    form_signed,
    held_by_form,
)
from bizkit.services.rights.persons import (
    compared,
    find_person,
    keep_person,
    named,
    people_of,
    subject_id,
    subject_of,
)
from bizkit.services.rights.signed_paper import Allowed, Signed, said_whole
from bizkit.services.rights.where_it_counts import counts_elsewhere
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.holdings import Filed
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp


#: A signature as long before the job may have a slip in its year.
YEAR: Final = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class ToFile:
    """What is to be put on file. signed: None for a paper that is still to be signed, `sent` or not.

    allows: what is wanted of one that is not signed. works: keys of deliverables it is limited to, all when empty.
    """

    kind: str
    subject: str
    signed: Signed | None = None
    allows: Allowed | None = None
    sent: bool = False
    works: Sequence[str] = ()


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
) -> Filed:
    """File a signed paper under a job, or (without `signed`) note that one is to be signed.

    A signed paper holds what it says: what our form of that number printed, or what was typed; where neither says
    anything it holds nothing. A paper noted before for the same subject becomes the signed one. The scan is copied
    into papers/scans under its SHA-256. Raises BadInput for a missing scan or terms said in part, RuleBroken for
    somebody under 18 without a guardian or a signature in the future.
    """
    from bizkit.services.job.jobs import the_job

    if kind not in HOLDING_KINDS:
        raise NotFound("kind of paper", kind, [*HOLDING_KINDS, "music", *SHOOT_PAPER_KINDS], field="--kind")
    if signed is not None:
        signed.check(on)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        return put_paper(folder, work, stamp, the_job(work, job), ToFile(kind, subject, signed, allows, sent, works))


def put_paper(folder: StudioFolder, work: Connection, stamp: Stamp, job: Job, what: ToFile) -> Filed:
    """The same in the caller's transaction, its signature checked."""
    from bizkit.services.rights.works import file_where_made, work_ids
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.jobs import add_holding, holdings, set_holding

    file_where_made(work, job)
    key, kind, signed = job.key, what.kind, what.signed
    form = None
    if signed is not None and signed.allows.form:
        form = form_signed(work, job, kind, signed.allows.form, what.subject)
        check_form_day(form, signed.on, folder.reason)
        what = replace(what, subject=what.subject.strip() or form.subject)
    if not what.subject.strip():
        raise BadInput(wanted="who or what it is about", got="nothing", field="--about, --who or --place")
    known, births = _on_record(work, kind, what.subject), births_on_record(work)
    holding, said = _holding(work, stamp, job, what, form, folder.studio.media)
    holding = replace(holding, works=frozenset(work_ids(work, job, what.works)))
    # Asked before it is on file: what is on file counts as shown where nobody has said who is.
    elsewhere = counts_elsewhere(folder, work, job, holding) if signed is not None else []
    noted = [
        one
        for one in holdings(work, key=key, kinds=(kind,))
        if one.status in ("draft", "sent") and compared(one.subject) == holding.subject
    ]
    if noted and signed is None and (noted[0].status == "sent" or not what.sent):
        raise RuleBroken(f"{what.subject} is noted already: file the signed paper with --signed and --scan")
    holding_id = int(noted[0].id) if noted else add_holding(work, row_of(key, holding))
    if signed is not None:
        check_agent(holding, folder.reason)
        filed = file_scan(work, stamp, folder, signed.scan, kind=kind, about=f"holding {holding_id}")
        holding = replace(holding, document=filed["sha256"])
        refuse_withdrawn(work, holding, folder.reason)
    changed = row_of(key, holding)
    if signed is not None:
        changed["data"]["signing"] = {
            "at": stamp.at, "witness": signed.witness.strip(), "how": signed.how,
            **withdrawals_before(work, key, kind, holding.subject),
        }  # fmt: skip
        if any(one.role == "agent" for one in holding.signers):
            changed["data"]["signing"]["authority"] = folder.reason.strip()
        changed["data"]["form"] = form.number if form else ""
        changed["data"]["terms"] = [part.data() for part in said]
    refuse_filed(work, changed, holding_id)
    refuse_form_used(work, key, form.number if form else "", changed["subject"], holding_id, folder.reason)
    set_holding(work, holding_id, **{name: changed[name] for name in changed if name not in ("job", "kind")})
    verb = "filed" if signed else "noted"
    record(work, stamp, verb, key, holding=holding_id, kind=kind, paper=holding.document)
    (found,) = [one for one in holding_rows(work, key) if one["id"] == holding_id]
    warnings = warnings_of(work, key, replace(holding, key=str(holding_id)), known)
    warnings = [*order_to_look_at(work, key, holding_id), *elsewhere, *warnings]
    return {**found, "warnings": warnings + news_of_births(folder, work, births, stamp.on, but=holding_id)}


def check_agent(holding: Holding, authority: str, option: str = "--reason") -> None:
    """Refuse another's signature for somebody of age, unless it is said by what right they sign, with `option`.

    Source: consent is the person's own, or given by whom they gave the power to (common practice). Raises RuleBroken.
    """
    for one in holding.signers:
        if one.role == "agent" and holding.kind in PERSON_KINDS and not authority.strip():
            raise RuleBroken(
                f"{one.name} signed for {holding.name}, of age: say by what right with {option}, as for a power of "
                "attorney or an agency's contract; for somebody under 18 name the parent or guardian with --guardian"
            )


def terms_held(
    allows: Allowed, signed_on: date, kind: str, form: NumberedForm | None, tree: MediaTree
) -> tuple[PaperTerms, ...]:
    """What a signed paper of a kind says, none where nobody said it. Raises BadInput for what is said in part, or
    differs from the form."""
    if form is not None and allows.terms is None:
        return held_by_form(form, allows, signed_on, tree)
    if allows.terms is not None:
        return allows.from_file(tree, signed_on)
    typed = allows.read(tree)
    if typed.says_nothing and kind in PAPERS:
        return ()
    return said_whole(typed, signed_on, hint="Or file it by the number of our form: --form" if kind in PAPERS else "")


def warnings_of(work: Connection, job: str, holding: Holding, known: str = "") -> list[str]:
    """What a person should look at, though nothing forbids it. known: what was on record of whom it is about."""
    from bizkit.services.job.jobs import last_shoot_day
    from bizkit.store.jobs import shoot_days

    found = []
    if holding.signed_on and not holding.scope:
        found.append(
            "nobody has said what it allows, so it holds nothing. Say it with bizkit holding correct "
            f"{job} {holding.key} --reason WHY, and --form NUMBER or --media, --where and --until, --months or "
            "--without-end"
        )
    last = last_shoot_day(shoot_days(work, job))
    if holding.kind == "crew_assignment" and holding.signed_on and last and holding.signed_on > last:
        found.append(
            f"signed on {holding.signed_on}, after the last shoot day {last}: "
            "check that it reaches back to what was shot before"
        )
    if holding.signed_on and holding.scope and holding.scope.end != OPEN_END:
        found.append(f"it allows nothing after {holding.scope.end}: a licence that runs longer is not covered")
    found += _dates_to_look_at(work, job, holding)
    found += _scans_to_look_at(work, holding)
    if holding.signed_on and known:
        found.append(
            f"{holding.name} is taken to be {holding.subject}, {known}. Somebody else of that name needs a word "
            f"behind it that tells them apart, as in '{holding.name} (the younger)'"
        )
    return [*found, *coming_of_age(holding)]


def _dates_to_look_at(work: Connection, job: str, holding: Holding) -> Iterator[str]:
    """A signature long before the job was, or terms that begin before it: a slip of the year decides much."""
    from bizkit.store.jobs import opened_on

    opened = date.fromisoformat(opened_on(work, job)[job])
    if holding.signed_on is not None and holding.signed_on + YEAR < opened:
        yield (
            f"signed on {holding.signed_on}, more than a year before the job was accepted on {opened}: is the "
            "year right?"
        )
    first = min((box.term.start for box in holding.scope.boxes), default=None)
    if holding.signed_on is not None and first is not None and first < holding.signed_on:
        yield f"it allows from {first} on, before it was signed on {holding.signed_on}: is that what it says?"


def _scans_to_look_at(work: Connection, holding: Holding) -> Iterator[str]:
    """Other papers on file that the same scan shows: of other people, or of another day, than this one."""
    from bizkit.store.jobs import holdings

    for row in holdings(work, kinds=(holding.kind,)) if holding.document else ():
        if row.paper == holding.document and str(row.id) != holding.key and row.status not in OUT:
            back = ", and withdrawn since: if they took consent back, this one gives nothing either"
            yield (
                f"the same scan is on file as paper {row.id} of {row.job}, signed on {row.signed_on}"
                f"{back if row.status == 'withdrawn' else ''}: look whether it shows both, and which day it has"
            )


def put_on_record(
    work: Connection, stamp: Stamp, kind: str, name: str, signed: Signed | None, scope: Scope
) -> tuple[str, str]:
    """Whom a paper is about, and who signs for a child, put on record: the subject, and what to call them."""
    from bizkit.store.rights import persons

    end = scope.end if signed and scope.end != OPEN_END else None
    signed_on = signed.on if signed else None
    if kind in PERSON_KINDS:
        person = keep_person(
            work, stamp, name, PERSON_KINDS[kind], born=signed.born if signed else None, last_day=end,
            signed_on=signed_on,
        )  # fmt: skip
        name, about = person.name, subject_of(person)
    else:
        about = subject_id(persons(work), kind, name)
        signer = find_person(persons(work), signed.by) if signed and signed.by else None
        if signed and signer is not None:
            keep_person(work, stamp, signed.by, SIGNER, born=signed.born, last_day=end, signed_on=signed_on)
    if signed and signed.guardian and same_name(signed.guardian) != same_name(name):
        keep_person(
            work, stamp, signed.guardian, GUARDIAN, born=signed.guardian_born, last_day=end, signed_on=signed_on
        )
    return about, name


def _holding(
    work: Connection,
    stamp: Stamp,
    job: Job,
    what: ToFile,
    form: NumberedForm | None,
    tree: MediaTree,
) -> tuple[Holding, tuple[PaperTerms, ...]]:
    """The paper as typed, its person put on record, and what a signed one says."""

    kind, signed = what.kind, what.signed
    name = " ".join(what.subject.split())
    said: tuple[PaperTerms, ...] = ()
    if signed:
        signed = replace(signed, by=named(work, signed.by), guardian=named(work, signed.guardian))
        signed = replace(signed, under_18=signed.under_18 or (form is not None and form.minor))
        if kind not in PERSON_KINDS:  # a date of birth is of who signs
            signed = replace(signed, under_18=signed.under_18 or bool(minor_when(signed.born, signed.on)))
        said = terms_held(signed.allows, signed.on, kind, form, tree)
        scope = scope_of(said, signed.on)
    else:
        scope = _wanted(job, what, tree)
    about, name = put_on_record(work, stamp, kind, name, signed, scope)
    holding = Holding(
        key="",
        kind=kind,
        subject=about,
        name=name,
        scope=scope,
        status="signed" if signed else "sent" if what.sent else "draft",
        signed_on=signed.on if signed else None,
        signers=signed.signers(kind, name) if signed else (),
        minor=signed.minor if signed else False,
        conditions=(*(form.conditions if form else ()), *signed.conditions) if signed else (),
        client_conditions=(*(form.client_conditions if form else ()), *signed.client_conditions) if signed else (),
    )
    holding = form.given_for(holding) if form else holding
    if not signed:
        return holding, ()
    holding = with_births(holding, people_of(work))
    check_form_of_child(form, holding)
    check_ages(holding)
    check_said_young(holding, people_of(work))
    return replace(holding, minor=holding.young), said


def _wanted(job: Job, what: ToFile, tree: MediaTree) -> Scope:
    """What a paper that is still to be signed should allow: as typed, else as our form asks, else all."""
    first = date.fromisoformat(job.opened_on)
    allows = what.allows or Allowed()
    if allows.terms is not None:
        return scope_of(allows.from_file(tree, first), first)
    typed = allows.read(tree)
    for other in (asked_terms(job, what.kind, tree), asked_terms(job, RELEASE, tree)):
        if other is not None:
            typed = typed.filled(other)
    everything = PaperTerms(tree.leaves("all"), Territory.of(WORLD), without_end=True)
    return typed.filled(everything).scope(first)


def _on_record(work: Connection, kind: str, name: str) -> str:
    """What is on record of whom a paper is about, before it is filed; empty for a thing, or somebody new."""
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    person = find_person(persons(work), name) if kind in PERSON_KINDS else None
    if person is None:
        return ""
    papers = [
        str(row.id)
        for row in holdings(work)
        if row.subject == subject_of(person) and row.signed_on and row.status not in OUT
    ]
    born = [f"born {person.born_on}"] if person.born_on else []
    return ", ".join([*born, *([f"of paper {', '.join(papers)}"] if papers else [])])
