"""Correcting what was recorded wrongly of a signed paper: a second entry says what is so, the first stays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.dates import term_end
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.rights.holding import Holding
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.paper_terms import PaperTerms, scope_of
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory
from bizkit.services.rights.ages import check_ages, with_births
from bizkit.services.rights.filing import check_agent, put_on_record, warnings_of
from bizkit.services.rights.holdings import CORRECTED, HoldingRow, holding_of, holding_rows, row_of, the_paper
from bizkit.services.rights.licences import LicenceRow
from bizkit.services.rights.news_of_age import births_on_record, news_of_births
from bizkit.services.rights.numbered_forms import check_form_of_child, form_signed, held_by_form, in_words
from bizkit.services.rights.persons import named, people_of
from bizkit.services.rights.signed_paper import OPTIONS, Allowed, Signed, named_options, said_whole
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job, PaperOnFile
    from bizkit.store.stamp import Stamp

#: What takes a whole list away.
NONE: Final = "none"
ALL: Final = "all"


@dataclass(frozen=True, slots=True)
class Correction:
    """What is so instead; what is left out stays. The members are those of a paper to be filed.

    conditions, client_conditions: the whole list, "none" for none. works: keys of deliverables, "all" for no limit.
    authority: by what right `by` signed for somebody of age.
    """

    about: str = ""
    signed_on: date | None = None
    scan: Path | None = None
    allows: Allowed = Allowed()  # noqa: RUF009 - a frozen value
    works: tuple[str, ...] = ()
    by: str = ""
    guardian: str = ""
    born: date | None = None
    under_18: bool = False
    witness: str = ""
    conditions: tuple[str, ...] = ()
    client_conditions: tuple[str, ...] = ()
    authority: str = ""


def correct_holding(
    folder: StudioFolder, job: str, paper_id: int, on: date, correction: Correction, *, reason: str
) -> Corrected:
    """Put a correcting entry beside the entry of a signed paper; clearance goes by the correction.

    The result's `live` lists the grants that rest on the paper: what they lack by it (empty: covered), and whether
    the certificate issued last says otherwise. Raises RuleBroken for a paper that is not signed or corrected already,
    and for signatures that cannot count; BadInput for nothing to correct, no reason, or terms that cannot be.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.jobs import add_holding, set_holding

    if not reason.strip():
        raise BadInput(wanted="why it is corrected", got="nothing", field="--reason")
    if correction == Correction():
        raise BadInput(wanted="what is to be corrected", got="nothing", field="--form, --media, --signed...")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_paper(work, job, paper_id)
        if row.kind in SHOOT_PAPER_KINDS or row.status not in ("signed", "withdrawn"):
            by = row.data.get("corrected_by")
            if row.status == CORRECTED and by:
                raise RuleBroken(f"paper {paper_id} was corrected by paper {by}: correct that one")
            raise RuleBroken(f"paper {paper_id} is {row.status}: only a signed one can be corrected")
        owner = the_job(work, job)
        old, births = holding_of(row, people_of(work)), births_on_record(work)
        new, said, form, witness = _corrected(folder, work, stamp, owner, row, old, correction, on)
        kept_authority = "" if correction.by else row.data.get("signing", {}).get("authority", "")
        authority = correction.authority.strip() or kept_authority
        check_agent(new, authority, "--authority")
        new_id = add_holding(work, row_of(owner.key, new))
        if correction.scan is not None:
            filed = file_scan(work, stamp, folder, correction.scan, kind=new.kind, about=f"holding {new_id}")
            new = replace(new, document=filed["sha256"])
        values = row_of(owner.key, new)
        kept = {name: value for name, value in row.data.items() if name not in values["data"]}
        signing = {**row.data.get("signing", {}), **({"witness": witness} if witness else {})}
        if any(one.role == "agent" for one in new.signers):
            signing["authority"] = authority
        terms = [part.data() for part in said]
        history: dict[str, Any] = {"form": form, "terms": terms, "signing": signing}
        history |= {"corrects": paper_id, "correction": reason.strip()}
        values["data"] = {**kept, **values["data"], **history}
        set_holding(work, new_id, **{name: values[name] for name in values if name not in ("job", "kind")})
        set_holding(work, paper_id, status=CORRECTED, data={**row.data, "corrected_by": new_id})
        record(work, stamp, "corrected", owner.key, holding=new_id, corrects=paper_id, kind=new.kind)
        (found,) = [one for one in holding_rows(work, owner.key) if one["id"] == new_id]
        live = _live(folder, work, owner.key, new, on)
        warnings = warnings_of(work, owner.key, replace(new, key=str(new_id)))
        if row.data.get("form") and not form:
            printed = form_signed(work, owner, new.kind, row.data["form"], "")
            warnings.append(
                f"it was filed by the {printed.paper}, which printed "
                f"{in_words(printed.terms, folder.studio.media)}: what "
                "is said now holds only if that was changed by hand on the paper itself"
            )
        warnings += news_of_births(folder, work, births, on, but=new_id)
    return {**found, "live": live, "warnings": warnings}


def _corrected(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    job: Job,
    row: PaperOnFile,
    old: Holding,
    correction: Correction,
    on: date,
) -> tuple[Holding, tuple[PaperTerms, ...], str, str]:
    """The paper as it is, what it says, the number of its form, and who saw it signed."""
    from bizkit.services.rights.works import work_ids

    assert old.signed_on is not None  # a signed paper has a day of signature
    tree = folder.studio.media
    name = named(work, " ".join(correction.about.split())) or old.name
    signed = Signed(
        on=correction.signed_on or old.signed_on,
        scan=correction.scan or Path(),
        by=named(work, correction.by),
        guardian=named(work, correction.guardian),
        born=correction.born,
        under_18=correction.under_18 or old.minor,
        conditions=_list(correction.conditions, old.conditions),
        client_conditions=_list(correction.client_conditions, old.client_conditions),
    )
    signed.check(on)
    said, form = _terms(work, job, row, old, correction.allows, signed.on, name, tree)
    scope = scope_of(said, signed.on)
    signers = old.signers
    if correction.by or correction.guardian:
        signers = signed.signers(old.kind, name)
    elif name != old.name:
        signers = tuple(replace(one, name=name) if one.name == old.name else one for one in old.signers)
    about = old.subject
    if name != old.name or correction.born or correction.guardian:
        about, name = put_on_record(work, stamp, old.kind, name, signed, scope)
    works = old.works
    if correction.works:
        works = frozenset() if correction.works == (ALL,) else frozenset(work_ids(work, job, correction.works))
    new = replace(
        old, key="", subject=about, name=name, scope=scope, works=works, signed_on=signed.on, signers=signers,
        conditions=signed.conditions, client_conditions=signed.client_conditions,
        minor=correction.under_18 or bool(signed.guardian) or old.minor,
    )  # fmt: skip
    printed = form_signed(work, job, old.kind, form, "") if form else None
    if printed is not None and correction.allows.form:
        new = printed.given_for(new)
    elif correction.allows.any_client:
        if printed is not None and printed.client[1]:
            raise BadInput(
                wanted=f"another form, as {form} names {old.client_name} alone",
                got="--any-client",
                field="--form",
                hint="Have one signed that was written with --any-client; if it was changed by hand, say all it says",
            )
        new = replace(new, client="", client_name="", affiliates=(), passed_on=False)
    new = with_births(new, people_of(work))
    signed_otherwise = any(
        (correction.by, correction.guardian, correction.born, correction.signed_on, correction.about)
    )
    if printed is not None and (correction.allows.form or signed_otherwise):
        check_form_of_child(printed, new)
    if signed_otherwise:
        check_ages(new)
    if new.withdrawn_on is not None and new.withdrawn_on < signed.on:
        raise RuleBroken(f"paper {row.id} was withdrawn on {new.withdrawn_on}: it was not signed after, {signed.on}")
    return replace(new, minor=new.young), said, form, correction.witness.strip()


def _terms(
    work: Connection,
    job: Job,
    row: PaperOnFile,
    old: Holding,
    allows: Allowed,
    signed_on: date,
    name: str,
    tree: MediaTree,
) -> tuple[tuple[PaperTerms, ...], str]:
    """What the paper says, and the number of its form: what is not said stays as it was said before."""
    if allows.form:
        form = form_signed(work, job, old.kind, allows.form, name)
        return held_by_form(form, allows, signed_on, tree), form.number
    if allows.terms is not None:
        return allows.from_file(tree, signed_on), ""
    typed = allows.read(tree)
    moved = signed_on != old.signed_on and "length" in typed.unsaid
    before = _said_before(work, job, row, old, tree, moved=moved)
    if typed.says_nothing:
        with named_options():
            scope_of(before, signed_on)
        return before, str(row.data.get("form", ""))
    return said_whole(typed.filled(before[0] if len(before) == 1 else PaperTerms()), signed_on), ""


def _said_before(
    work: Connection, job: Job, row: PaperOnFile, old: Holding, tree: MediaTree, *, moved: bool
) -> tuple[PaperTerms, ...]:
    """What the paper was filed as saying, part by part: a first day or a length that counts from the signature still
    does.

    Of a paper filed before that was kept it is read from its form, else from its days. moved: the day of signature is
    another. Raises BadInput then where nobody can tell whether a last day moves with it.
    """
    if "terms" in row.data:
        return tuple(PaperTerms.from_data(one) for one in row.data["terms"])
    if row.data.get("form"):
        printed = form_signed(work, job, old.kind, row.data["form"], "").terms
        if not printed.unsaid and old.signed_on and printed.scope(old.signed_on) == old.scope:
            return (printed,)
    parts = []
    for box in old.scope.boxes:
        begins_signed = box.term.start == old.signed_on
        if moved and begins_signed and _whole_months(box.term):
            raise BadInput(
                wanted=f"how long it allows it, as it was filed before that was kept, until {box.term.end}",
                got="nothing",
                field=OPTIONS["length"] if len(old.scope.boxes) == 1 else "--terms",
            )
        starts = None if begins_signed else box.term.start
        until = None if box.term.open else box.term.end
        parts.append(PaperTerms(box.media, Territory.of(box.countries), starts, until, None, box.term.open))
    return tuple(parts)


def _whole_months(term: Term) -> bool:
    """Whether its last day is what a number of months would give."""
    if term.open:
        return False
    months = (term.end.year - term.start.year) * 12 + term.end.month - term.start.month
    return any(count > 0 and term_end(term.start, count) == term.end for count in (months, months + 1))


def _list(said: tuple[str, ...], before: tuple[str, ...]) -> tuple[str, ...]:
    if not said:
        return before
    return () if said == (NONE,) else said


def _live(folder: StudioFolder, work: Connection, job: str, paper: Holding, on: date) -> list[RestsOn]:
    """Grants not over that rest on the paper: what each lacks of its subject, and whether its certificate differs."""
    from bizkit.services.rights.certificates import says_otherwise
    from bizkit.services.rights.clearance import check_licence, gap_text
    from bizkit.services.rights.licences import licence_of, resting_on_subject, the_licence
    from bizkit.store.jobs import jobs

    rows: list[RestsOn] = []
    for one in resting_on_subject(folder, work, job, (paper.kind, paper.subject), on):
        row = the_licence(work, one["number"])
        licence = licence_of(work, row)
        (owner,) = jobs(work, row.job)
        checked = check_licence(folder, work, owner, licence, on)
        lacks = [
            gap_text(gap, checked.tree)
            for gap in checked.clearance.gaps
            if (gap.need.kind, gap.need.subject) == (paper.kind, paper.subject)
        ]
        differs = says_otherwise(folder, work, owner, licence, on)
        rows.append({**one, "lacks": "; ".join(lacks), "certificate_differs": differs})
    return rows


class Corrected(HoldingRow):
    """A paper as it was put right. live: licences that rest on it; warnings: what to look at."""

    live: list[RestsOn]
    warnings: list[str]


class RestsOn(LicenceRow):
    """A licence that rests on a paper: what it lacks by now, and whether its certificate says otherwise."""

    lacks: str
    certificate_differs: bool
