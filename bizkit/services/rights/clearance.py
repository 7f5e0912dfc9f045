"""Clearance: whether a job's licence lies inside what is held, and whether the shoot's own papers cover its days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Literal, TypedDict

from bizkit.domain.errors import RuleBroken
from bizkit.domain.plain_text import some
from bizkit.domain.rights.clearance import Clearance, Gap, PaperToGet
from bizkit.domain.rights.grants import Conflict, conflicts_with, granted_scope, worth_a_look
from bizkit.domain.rights.holding import Licensee
from bizkit.domain.rights.licence import OVER, Licence, LicenceState
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.scope import Scope
from bizkit.services.rights.clearing import clear_works
from bizkit.services.rights.needs import Question
from bizkit.services.rights.works import Work
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.rights.licence_request import LicenceRequest
    from bizkit.services.rights.licences import LicenceRow
    from bizkit.services.rights.overrides import Overridden, OverrideRow
    from bizkit.store.jobs import Job


#: Where the licence of a job stands: "not granted" while only promised, "none" where it licenses nothing.
ClearanceState = LicenceState | Literal["not granted", "none"]


@dataclass(frozen=True, slots=True)
class Checked:
    """One licence against everything on file. licence: None where the job licenses nothing.

    questions: what nobody has said about the works. conflicts: other grants that exclude it. looks: who comes of age
    in its time, and other grants in a line of business that may be the same; they are among the warnings too.
    """

    job: str
    licence: Licence | None
    wanted: Scope
    clearance: Clearance
    questions: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    tree: MediaTree = MEDIA_TREE
    looks: tuple[str, ...] = ()

    @property
    def cleared(self) -> bool:
        """Whether nothing is missing, nothing is unsaid and nothing excludes it."""
        return self.clearance.cleared and not self.questions and not self.conflicts

    @property
    def granted(self) -> bool:
        """Whether the licence is granted, and not only promised by the quote."""
        return self.licence is not None and self.licence.key != self.job

    def state(self, on: date) -> ClearanceState:
        """Where the licence stands: "not granted" while only promised, "none" where the job licenses nothing."""
        state = self.licence.state(on) if self.licence else "none"
        return state if self.granted or state in ("none", "cancelled") else "not granted"

    def why_not(self) -> list[str]:
        """What stands against it, one line each."""
        lines = [gap_text(gap, self.tree) for gap in self.clearance.gaps]
        return lines + list(self.questions) + [conflict.text for conflict in self.conflicts]

    def at_rest(self, on: date) -> list[str]:
        """Why the licence rests on that day, in one line; none where it does not."""
        rest = self.licence.rest(on) if self.licence else None
        return [f"{self.licence.key}: {rest.text}"] if self.licence and rest else []

    def require(self, doing: str, override: str) -> Overridden | None:
        """Refuse `doing` while anything stands against it, unless `override` says why it is done all the same.

        Returns None when nothing does, else what to record for ever, without anybody's name. Raises RuleBroken.
        """
        if self.cleared:
            return None
        lines = self.why_not()
        if not override.strip():
            more = f" (and {len(lines) - 1} more: bizkit rights check {self.job})" if len(lines) > 1 else ""
            raise RuleBroken(f"cannot {doing}: {lines[0]}{more}. Get the papers, or say why with --override")
        return {
            "doing": doing,
            "reason": override.strip(),
            "gaps": [_nameless(gap) for gap in self.clearance.gaps],
            "questions": [one.whole if isinstance(one, Question) else one for one in self.questions],
            "conflicts": [conflict.data() for conflict in self.conflicts],
        }


def check_job(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    on: date,
    *,
    only: Sequence[str] = (),
    grants: Sequence[Licence] | None = None,
) -> Checked:
    """Check the licence of a job: the one granted, else the one promised. Nothing stands against one that is over.

    only: keys of some of its works. grants: all that bind, where the caller has them already.
    """
    from bizkit.services.rights.licences import licence_of_job

    licence = licence_of_job(folder, work, job, on)
    if licence is None or licence.state(on) in OVER:
        return Checked(job.key, licence, Scope(), Clearance((), ()))
    return check_licence(folder, work, job, licence, on, only=only, grants=grants)


def check_licence(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    licence: Licence,
    on: date,
    *,
    only: Sequence[str] = (),
    grants: Sequence[Licence] | None = None,
) -> Checked:
    """Check one licence, granted or about to be, against what is held and every other that binds."""
    from bizkit.services.rights.licences import all_that_bind, with_reach

    (licence,) = with_reach(work, [licence])
    everyone = all_that_bind(folder, work, on, licence.reach) if grants is None else grants
    others = [one for one in everyone if one.key not in (licence.key, job.key)]
    wanted = granted_scope(licence, on)
    clearance, questions, noted = _clear(folder, work, job, licence, wanted, only, on)
    against = () if only else tuple(conflicts_with(licence, others, on))
    looks = () if only else worth_a_look(licence, others, on)
    clearance = replace(clearance, warnings=(*clearance.warnings, *noted, *looks))
    return Checked(
        job.key, licence, wanted, clearance, tuple(questions), against, folder.studio.media, (*noted, *looks)
    )


def check_rights(folder: StudioFolder, job: str, on: date) -> RightsChecked:
    """Everything that stands against a job's licence and its shoot days, with the shortest way to close it."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        return checked_data(folder, work, the_job(work, job), on)


def checked_data(folder: StudioFolder, work: Connection, job: Job, on: date) -> RightsChecked:
    """`check_rights`, in the caller's transaction."""
    from bizkit.services.rights.licences import licence_row
    from bizkit.services.rights.overrides import override_rows
    from bizkit.services.rights.shoot_papers import shoot_check, shoot_hints

    checked = check_job(folder, work, job, on)
    licence = checked.licence
    return {
        "job": job.key,
        "on": on.isoformat(),
        "licence": licence_row(licence, on) if licence and checked.granted else None,
        "promised": checked.state(on) == "not granted",
        "state": checked.state(on),
        "wanted": {"text": checked.wanted.text(checked.tree), "scope": checked.wanted.data()},
        "cleared": checked.cleared,
        "gaps": [{**gap.data(), "text": gap_text(gap, checked.tree)} for gap in checked.clearance.gaps],
        "papers": [
            {**paper.data(), "text": paper_text(paper, checked.tree, job.key)} for paper in checked.clearance.papers
        ],
        "questions": list(checked.questions),
        "conflicts": [{**conflict.data(), "text": conflict.text} for conflict in checked.conflicts],
        "warnings": list(checked.clearance.warnings),
        "shoot": [{**gap.data(), "text": gap.text} for gap in shoot_check(work, job)],
        "hints": shoot_hints(work, job),
        "overrides": override_rows(work, job.key),
    }


def clearance_row(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    on: date,
    *,
    grants: Sequence[Licence] | None = None,
) -> ClearanceRow:
    """Where a job's licence stands, and what the job still needs, one short line each.

    state: as `Checked.state`. missing: papers, signatures, answers, and papers of the shoot days to come.
    """
    from bizkit.services.rights.shoot_papers import shoot_check

    checked = check_job(folder, work, job, on, grants=grants)
    licence = checked.licence
    missing = [f"{gap.need.title}{_in_short(gap, checked.tree)}" for gap in checked.clearance.gaps]
    if licence is None:
        missing = _unsigned(folder, work, job)
    missing += checked.questions
    missing += [conflict.text for conflict in checked.conflicts]
    return {
        "job": job.key,
        "licence": licence.key if licence and checked.granted else "",
        "state": checked.state(on),
        "cleared": checked.cleared,
        "missing": missing + [gap.text for gap in shoot_check(work, job) if max(gap.days) >= on],
    }


def not_held(
    folder: StudioFolder,
    work: Connection,
    wanted: Scope,
    works: Sequence[Work],
    to: Licensee,
    on: date,
    granted_on: date | None = None,
) -> list[str]:
    """What of `wanted` is not held of some works, what nobody said about them, and what to look at, a line each."""
    lacks, looks = lacks_and_looks(folder, work, wanted, works, to, on, granted_on)
    return lacks + looks


def lacks_and_looks(
    folder: StudioFolder,
    work: Connection,
    wanted: Scope,
    works: Sequence[Work],
    to: Licensee,
    on: date,
    granted_on: date | None = None,
) -> tuple[list[str], list[str]]:
    """What of `wanted` is not held or not said of some works; and who comes of age in it, or is still to sign.

    to: who might use it, on the day `on`. granted_on: when it was granted; None for what would be granted now.
    """
    if not wanted or not works:
        return [], []
    clearance, questions, looks = clear_works(folder, work, wanted, works, to, granted_on or on, on)
    return [f"not held: {gap_text(gap, folder.studio.media)}" for gap in clearance.gaps] + questions, looks


def licensee(client: str, request: LicenceRequest) -> Licensee:
    """Who may use what is licensed to a client, by its key."""
    return Licensee(client, request.affiliates, request.transfer)


def sold_not_held(folder: StudioFolder, work: Connection, quote: Mapping[str, Any], on: date) -> list[str]:
    """The same of a quote's licence of works that exist, and which other licence stands against it; nothing of works
    that are still to be made."""
    from bizkit.domain.rights.licence_request import LicenceRequest
    from bizkit.services.rights.works import works_elsewhere

    licence, client = quote["licence"], quote["client"]["key"]
    works = works_elsewhere(work, licence) if licence else []
    if not licence or not works:
        return []
    request = LicenceRequest.from_data(licence)
    term = request.widest_term(on)
    sector = quote.get("client_record", {}).get("sector", "")
    new = Licence(quote["job"], licence["licensee"], frozenset(one.id for one in works), request, on, sector)
    against = sold_against(folder, work, new, on)
    return against + (
        not_held(folder, work, request.scope(term), works, licensee(client, request), on) if term else []
    )


def sold_against(folder: StudioFolder, work: Connection, new: Licence, on: date) -> list[str]:
    """Which licences granted or promised a new one could not stand beside, and those to look at, a line each."""
    from bizkit.services.rights.licences import all_that_bind, with_reach

    (new,) = with_reach(work, [new])
    bound = [one for one in all_that_bind(folder, work, on, new.reach) if one.key != new.key]
    return [conflict.text for conflict in conflicts_with(new, bound, on)] + worth_a_look(new, bound, on)


def look_again(folder: StudioFolder, work: Connection, job: Job, licence: Licence, on: date) -> list[str]:
    """What is not held any more of a licence that is not over, and who has come of age meanwhile."""
    return what_to_look_at(check_again(folder, work, job, licence, on))


def check_again(folder: StudioFolder, work: Connection, job: Job, licence: Licence, on: date) -> Checked:
    """Check a licence against what is held by now, and against no other. Nothing stands against one that is over."""
    if licence.state(on) in OVER:
        return Checked(job.key, licence, Scope(), Clearance((), ()))
    return check_licence(folder, work, job, licence, on, grants=())


def what_to_look_at(checked: Checked) -> list[str]:
    """What is not held of a licence checked again, and whom to ask, a line each."""
    return [f"not held: {gap_text(gap, checked.tree)}" for gap in checked.clearance.gaps] + list(checked.looks)


def gap_text(gap: Gap, tree: MediaTree) -> str:
    """One line: which paper, why, in which works, and each missing part."""
    works = some([one.partition("/")[2] for one in gap.works])
    return f"{gap.need.title} ({gap.why}), missing for {works}: {gap.missing.text(tree)}"


def paper_text(paper: PaperToGet, tree: MediaTree, job: str = "") -> str:
    """One line: what to do. job: the key of the one looked at; a paper counts under the job that made the work."""
    about = ", ".join(need.title for need in paper.needs)
    if paper.holding:
        return f"have paper {paper.holding} signed ({about})"
    makers = list(dict.fromkeys(work.partition("/")[0] for work in paper.works))
    there = f", under {' and '.join(makers)}, which made it" if job and job not in makers else ""
    return f"get signed: {about}, for {paper.scope.text(tree)}{there}"


def _clear(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    licence: Licence,
    wanted: Scope,
    only: Sequence[str],
    on: date,
) -> tuple[Clearance, list[str], list[str]]:
    """Clearance over every job whose works the licence is of."""
    from bizkit.services.rights.works import licensed_works

    works = [one for one in licensed_works(work, job) if not only or one.key in only]
    return clear_works(folder, work, wanted, works, licensee(job.client, licence.request), licence.granted_on, on)


def _nameless(gap: Gap) -> dict[str, Any]:
    data = gap.data()
    return {**data, "name": ""} if data["subject"].startswith("person-") else data


def _in_short(gap: Gap, tree: MediaTree) -> str:
    """What to do about a gap, behind its name."""
    if not gap.holdings:
        return ""
    if gap.why.startswith("nothing held"):
        reason = gap.why.removeprefix("nothing held: ")
        return ", to be signed" if "sent" in reason and "withdrawn" not in reason else f", {reason}"
    why = f", {gap.why}" if gap.why.startswith("held no longer") else ""
    return f"{why}, missing {gap.missing.text(tree)}"


def _unsigned(folder: StudioFolder, work: Connection, job: Job) -> list[str]:
    """Of a job that licenses nothing: places without leave, and papers noted but not signed."""
    from bizkit.services.rights.holdings import held
    from bizkit.services.rights.needs import needs_of
    from bizkit.services.rights.works import works_of_job

    needs, _ = needs_of(folder, work, job, works_of_job(work, job))
    papers = held(work, [job.key])
    found = []
    for need in needs:
        about = [one for one in papers if (one.kind, one.subject) == (need.kind, need.subject)]
        if not about:
            found.append(need.title)
        elif all(one.status in ("draft", "sent") for one in about):
            found.append(f"{need.title}, to be signed")
    return found


class ClearanceRow(TypedDict):
    """Where a job's licence stands, and what the job still needs."""

    job: str
    licence: str
    state: ClearanceState
    cleared: bool
    missing: list[str]


class RightsChecked(TypedDict):
    """All that stands against a licence and its shoot days; gaps, papers and the like as data with text."""

    job: str
    on: str
    licence: LicenceRow | None
    promised: bool
    state: ClearanceState
    wanted: Wanted
    cleared: bool
    gaps: list[dict[str, Any]]
    papers: list[dict[str, Any]]
    questions: list[str]
    conflicts: list[dict[str, Any]]
    warnings: list[str]
    shoot: list[dict[str, Any]]
    hints: list[str]
    overrides: list[OverrideRow]


class Wanted(TypedDict):
    """A scope in words and as data."""

    text: str
    scope: list[dict[str, Any]]
