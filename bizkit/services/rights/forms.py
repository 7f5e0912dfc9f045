"""Papers to be signed or carried: filled in as far as the book and a file of details know, the rest left blank.

A form to be signed prints what it asks for and carries a number, under which that is kept: see `numbered_forms`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.names import same_name
from bizkit.domain.rights.paper_terms import PaperTerms
from bizkit.services.rights.numbered_forms import BECOMES, FOR_A_CLIENT, asked_terms, in_words, number_form
from bizkit.services.rights.persons import named
from bizkit.services.rights.signed_paper import OPTIONS, Allowed, check_passed_on
from bizkit.services.studio.filing import paper_pdf
from bizkit.services.studio.logo import keep_logo
from bizkit.services.studio.out_file import check_out, write_out
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which paper is wanted, and what is known about it.

    subject: the person, place or thing it is about. by: who signs, where it is not the person. minor: under 18 on the
    day. born: date of birth. day: the shoot day, where it is about one. details: a TOML file with what the book does
    not know. language: of the wording, the studio's own without. on: the day it is drawn up. allows: what it is to
    ask for; our usual without.
    """

    kind: str
    on: date
    subject: str = ""
    by: str = ""
    guardian: str = ""
    guardian_born: date | None = None
    minor: bool = False
    born: date | None = None
    day: date | None = None
    details: Path | None = None
    language: str = ""
    allows: Allowed = Allowed()  # noqa: RUF009 - a frozen value
    conditions: tuple[str, ...] = ()
    client_conditions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """A paper as it will be printed. terms: what one to be signed asks for. wanted: with what the details say."""

    document: dict[str, Any]
    terms: PaperTerms | None
    wanted: Wanted


def form_of(folder: StudioFolder, work: Connection, job: Job, wanted: Wanted) -> Form:
    """The paper for a job, without its number.

    Raises NotFound for an unknown kind, BadInput for details that name somebody else, or say other terms, than what
    was typed beside them.
    """
    from bizkit.services.job.job_client import printed_client
    from bizkit.services.rights.ages import under_age
    from bizkit.services.rights.details import merged, read_details
    from bizkit.services.rights.form_kinds import FORMS, Asked
    from bizkit.services.rights.works import file_where_made
    from bizkit.store.issued import by_number

    if wanted.kind not in FORMS:
        raise NotFound("kind of paper", wanted.kind, FORMS, field="KIND")
    wanted = replace(
        wanted, subject=named(work, wanted.subject), by=named(work, wanted.by), guardian=named(work, wanted.guardian)
    )
    typed = read_details(wanted.kind, wanted.details) if wanted.details else {}
    where = wanted.details.name if wanted.details else ""
    wanted = agreed(wanted, typed, where)
    tree = folder.studio.media
    terms, usual = None, PaperTerms()
    if wanted.kind in BECOMES:
        file_where_made(work, job)
        usual = asked_terms(job, BECOMES[wanted.kind], tree) or usual
        terms = _said(wanted, typed.pop("scope", {}), where, folder).filled(usual)
        minor = under_age(work, wanted.subject, wanted.born, wanted.on, wanted.minor or bool(wanted.guardian))
        wanted = replace(wanted, minor=minor)
    for condition in (*wanted.client_conditions, *typed.get("client_conditions", ())):
        check_passed_on(condition)
    quote = by_number(work, job.quote_number, job.quote_revision)
    asked = quote.document if quote else {}
    known = FORMS[wanted.kind](
        Asked(folder, work, job, asked, wanted.subject, wanted.guardian, wanted.minor, wanted.day)
    )
    studio = folder.studio
    document: dict[str, Any] = {
        "kind": wanted.kind,
        "number": "",
        "language": wanted.language or studio.language,
        "locale": studio.locale if wanted.language in ("", studio.language) else wanted.language,
        "paper_size": studio.paper_size,
        "studio": studio.data(wanted.on, logo_sha256=keep_logo(folder)),
        "client": printed_client(work, job),
        "job": job.key,
        "title": job.title,
        "currency": job.currency,
        "issued_on": wanted.on.isoformat(),
        **known,
    }
    document = merged(document, typed)
    if wanted.allows.any_client:
        if BECOMES.get(wanted.kind) not in FOR_A_CLIENT:
            wanted_text = f"no --any-client, as a {wanted.kind.replace('_', ' ')} is for any"
            raise BadInput(wanted=wanted_text, got="it", field="--any-client")
        document["any_client"] = True
    elif BECOMES.get(wanted.kind) in FOR_A_CLIENT and job.licence:
        document["affiliates"] = list(job.licence.get("affiliates", ()))
        document["passed_on"] = bool(job.licence.get("transfer"))
    if terms is not None and terms.until is not None and terms.until < wanted.on:
        raise BadInput(
            wanted=f"a last day on or after {wanted.on}, when it is written", got=terms.until, field="--until"
        )
    if terms is not None:
        if "scope" in document:
            document["scope"] = {**terms.data(), "media": tree.sorted(terms.media)}
        elif terms != usual:
            raise BadInput(
                wanted=f"nothing about what is allowed, as the {wanted.kind.replace('_', ' ')} gives everything",
                got=in_words(terms, tree),
                field="--media, --where or a length",
                hint="A paper that gives less is written elsewhere and filed by its terms",
            )
        document["conditions"] = [*document.get("conditions", ()), *wanted.conditions]
        document["client_conditions"] = [*document.get("client_conditions", ()), *wanted.client_conditions]
        if wanted.born and "person" in document:
            document["person"]["born_on"] = wanted.born.isoformat()
    return Form(document, terms, wanted)


def number(folder: StudioFolder, work: Connection, stamp: Stamp, form: Form) -> None:
    """Give a form that is to be signed its number, in the caller's transaction; others carry none."""
    if form.terms is not None:
        number_form(folder, work, stamp, form.document, form.terms, form.wanted.subject)


def write_form(folder: StudioFolder, job: str, wanted: Wanted, *, out: Path | None = None) -> FormWritten:
    """Write the paper as a PDF to print or to fill on screen. Raises NotFound for an unknown job or kind."""
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.form_checks import check_form
    from bizkit.services.rights.form_kinds import Asked, music_no_longer_held, works_too

    def made(work: Connection) -> tuple[Form, list[str]]:
        form = form_of(folder, work, the_job(work, job), wanted)
        where = wanted.details.name if wanted.details else wanted.kind.replace("_", " ")
        warnings = check_form(form.document, where)
        if wanted.kind == "water_day_card":
            ashore, on = form.document["ashore"].get("name", ""), form.document["day"]
            warnings += works_too(Asked(folder, work, the_job(work, job), {}), ashore, on)
        if wanted.kind == "cue_sheet":
            warnings += music_no_longer_held(Asked(folder, work, the_job(work, job), {}))
        return form, warnings

    if out is not None:
        check_out(folder, out, b"%PDF-")  # before a number is drawn
    if wanted.kind in BECOMES:
        with folder.book.work() as work:
            form, warnings = made(work)
            number(folder, work, folder.draft_stamp(wanted.on), form)
            content = paper_pdf(folder, form.document)
    else:
        with folder.book.read() as work:
            form, warnings = made(work)
        content = paper_pdf(folder, form.document)
    document, subject = form.document, form.wanted.subject
    path = out or folder.path / "forms" / form_name(wanted.kind, subject or _which(document), document["number"])
    write_out(folder, path, content)
    return {
        "file": str(path),
        "kind": wanted.kind,
        "subject": subject,
        "number": document["number"],
        "asks": in_words(form.terms, folder.studio.media) if form.terms is not None else "",
        "warnings": warnings,
    }


def agreed(wanted: Wanted, typed: dict[str, Any], where: str) -> Wanted:
    """What is wanted, with the names and births that a file of details says. Raises BadInput where the two differ."""

    def one_of(said: str, table: str, option: str) -> str:
        name = str((typed.get(table) or {}).get("name", "")).strip()
        if said and name and same_name(said) != same_name(name):
            raise BadInput(wanted=f"{said}, as {option} says", got=name, field=f"{table}.name", where=where)
        return said or name

    def birth(table: str, said: date | None) -> date | None:
        from bizkit.domain.dates import iso_date

        text = str((typed.get(table) or {}).get("born_on", ""))
        born = iso_date(text, field=f"{table}.born_on", where=where) if text else None
        if said and born and said != born:
            raise BadInput(wanted=f"{said}, as --born says", got=born, field=f"{table}.born_on", where=where)
        return said or born

    if wanted.kind not in BECOMES:
        return wanted
    about, option = {
        "location_permission": ("place", "--place"), "property_release": ("property", "--about"),
    }.get(wanted.kind, ("person", "--who"))  # fmt: skip
    signer = {"location_permission": "holder", "property_release": "owner"}.get(wanted.kind, "")
    return replace(
        wanted,
        subject=one_of(wanted.subject, about, option),
        by=one_of(wanted.by, signer, "--by") if signer else wanted.by,
        guardian=one_of(wanted.guardian, "guardian", "--guardian"),
        minor=wanted.minor or bool(typed.get("minor")),
        born=birth("person", wanted.born) if about == "person" else wanted.born,
        guardian_born=birth("guardian", wanted.guardian_born),
    )


def _said(wanted: Wanted, scope: Mapping[str, Any], where: str, folder: StudioFolder) -> PaperTerms:
    """What the options and the details say it asks for. Raises BadInput where the two differ."""
    from bizkit.services.rights.details import terms_in

    tree = folder.studio.media
    options = wanted.allows.read(tree)
    details = terms_in(scope, tree, where)
    for part in options.differs(details):
        raise BadInput(wanted=f"what {OPTIONS[part]} says", got="something else", field="scope", where=where)
    return options.filled(details)


def form_name(kind: str, about: str, number: str = "") -> str:
    """The file name of a form: `model-release-finn-sinclair-f-2027-0001.pdf`; no two are written to one file."""
    name = "-".join(part for part in (kind.replace("_", "-"), about, number) if part)
    return re.sub(r"[^\w.-]+", "-", name, flags=re.UNICODE).strip("-").lower() + ".pdf"


def _which(document: dict[str, Any]) -> str:
    """What tells two papers of one kind apart where no subject does."""
    return str(document.get("day") or document.get("flight", {}).get("date") or "blank")


class FormWritten(TypedDict):
    """A form as it was written: its number, and what it asks for in words."""

    file: str
    kind: str
    subject: str
    number: str
    asks: str
    warnings: list[str]
