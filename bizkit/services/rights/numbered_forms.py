"""Forms under their numbers: what each asks for is kept when it is written, so that a signed one brings its terms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.numbering import format_number
from bizkit.domain.rights.holding import Holding
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.paper_terms import PaperTerms
from bizkit.domain.rights.territory import WORLD, Territory
from bizkit.services.rights.persons import find_person, subject_of
from bizkit.services.rights.signed_paper import OPTIONS, Allowed, said_whole
from bizkit.services.studio.numbers import series_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.forms import Form
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp

#: kind of holding -> the paper that is signed for it, and where on it the signature goes.
PAPERS: Final[dict[str, tuple[str, str]]] = {
    "talent_release": ("model_release", "person"),
    "location_permission": ("location_permission", "holder"),
    "property_release": ("property_release", "owner"),
    "crew_assignment": ("crew_assignment", "person"),
    "performer_consent": ("performer_consent", "person"),
}

#: The paper -> the kind of holding it becomes once it is signed.
BECOMES: Final[dict[str, str]] = {paper: kind for kind, (paper, _) in PAPERS.items()}


#: Kinds whose form says who may use what it is about: the studio and the job's client, unless it is for any.
FOR_A_CLIENT: Final = ("talent_release", "location_permission", "property_release")


#: Kinds whose form has a part for a parent or guardian, where it is written for somebody under 18.
WITH_GUARDIAN: Final = ("talent_release", "performer_consent")


@dataclass(frozen=True, slots=True)
class NumberedForm:
    """What the form of a number asks for. kind: of the holding it becomes. subject: whom it is about, empty for any.

    minor: whether it is the form for a child; guardian: who is printed to sign for it, empty for a blank. client: the
    key and name of the one it was printed for alone, empty where it may be licensed to anybody. affiliates,
    passed_on: who else it names, and whether it lets the client pass it on.
    """

    number: str
    job: str
    kind: str
    written_on: str
    subject: str
    minor: bool
    guardian: str
    terms: PaperTerms
    conditions: tuple[str, ...]
    client_conditions: tuple[str, ...]
    client: tuple[str, str] = ("", "")
    affiliates: tuple[str, ...] = ()
    passed_on: bool = False

    @classmethod
    def of(cls, row: Form) -> NumberedForm:
        """From its row."""
        data = row.data
        return cls(
            number=row.number,
            job=row.job,
            kind=row.kind,
            written_on=row.on,
            subject=data["subject"],
            minor=data["minor"],
            guardian=data.get("guardian", ""),
            terms=PaperTerms.from_data(row.terms),
            conditions=tuple(data["conditions"]),
            client_conditions=tuple(data["client_conditions"]),
            client=(data.get("client", ""), data.get("client_name", "")),
            affiliates=tuple(data.get("affiliates", ())),
            passed_on=data.get("passed_on", False),
        )

    def given_for(self, holding: Holding) -> Holding:
        """A paper signed on it, with whom it was given for."""
        key, name = self.client
        return replace(holding, client=key, client_name=name, affiliates=self.affiliates, passed_on=self.passed_on)

    @property
    def paper(self) -> str:
        """`model release F-2027-0001`."""
        return f"{PAPERS[self.kind][0].replace('_', ' ')} {self.number}"


def asked_terms(job: Job, kind: str, tree: MediaTree) -> PaperTerms | None:
    """What the studio's own form of a kind of paper asks for; None where the paper is always somebody else's.

    An assignment is of everything for ever; the others ask for the media and countries of the job's licence, from the
    day of signature without an end, so that a renewal needs no new signature. Of a job that licenses nothing they
    leave it open.
    """
    if kind == "crew_assignment":
        return PaperTerms(tree.leaves("all"), Territory.of(WORLD), without_end=True)
    if kind not in PAPERS:
        return None
    licence = job.licence
    if not licence:
        return PaperTerms()
    return PaperTerms(frozenset(licence["media"]), Territory.from_data(licence["territory"]), without_end=True)


def number_form(
    folder: StudioFolder, work: Connection, stamp: Stamp, document: dict[str, Any], terms: PaperTerms, subject: str
) -> None:
    """Give the document of a form its number, and keep what it asks for, in the caller's transaction.

    A form that prints what an earlier one printed is that form, under that number. The number leaves a trace in
    papers/, written before the commit and gone where nothing comes of it.
    Raises RuleBroken where the book is an older copy, whose next number is on paper already.
    """
    from sqlalchemy import event

    from bizkit.services.studio.filing import write_new
    from bizkit.services.studio.papers_folder import admit, form_traces
    from bizkit.store.canonical import canonical, sha256
    from bizkit.store.forms import add_form, count_forms, forms

    printed = {name: value for name, value in document.items() if name not in ("number", "issued_on")}
    digest = sha256(canonical(printed))
    for row in forms(work, job=document["job"]):
        if row.data["sha256"] == digest:
            document["number"] = row.number
            return
    pattern = folder.studio.numbers.form
    series = series_of(pattern, stamp.on.year)
    document["number"] = format_number(pattern, stamp.on.year, count_forms(work, series) + 1)
    trace = folder.path / form_traces([document["number"]]).pop()
    fresh = not trace.exists()
    shows = admit(
        folder, work, trace, lambda: f"Form {document['number']}, SHA-256 of its content {digest}\n".encode()
    )
    if fresh:
        event.listen(work, "rollback", lambda _: trace.unlink(missing_ok=True), once=True)
    write_new(trace, shows)
    add_form(
        work,
        stamp,
        {
            "number": document["number"],
            "series": series,
            "job": document["job"],
            "kind": BECOMES[document["kind"]],
            "terms": terms.data(),
            "data": {
                "subject": " ".join(subject.split()),
                "minor": bool(document.get("minor") or document.get("guardian")),
                "guardian": " ".join(str((document.get("guardian") or {}).get("name", "")).split()),
                "conditions": document.get("conditions", []),
                "client_conditions": document.get("client_conditions", []),
                **_for_whom(document),
                "sha256": digest,
            },
        },
    )


def _for_whom(document: Mapping[str, Any]) -> dict[str, Any]:
    """The client for whom alone a form prints that what it is about may be used; nothing where it is for any."""
    client = document.get("client") or {}
    if BECOMES[document["kind"]] not in FOR_A_CLIENT or document.get("any_client") or not client.get("name"):
        return {}
    whom = {"client": client.get("key", ""), "client_name": client["name"]}
    return whom | {"affiliates": document.get("affiliates", []), "passed_on": document.get("passed_on", False)}


def form_signed(work: Connection, job: Job, kind: str, number: str, subject: str) -> NumberedForm:
    """The form that was signed.

    subject: whom the signed paper is about, empty to take it from the form. Raises NotFound for an unknown number,
    BadInput for one of another job or kind, or about somebody else.
    """
    from bizkit.store.forms import forms
    from bizkit.store.rights import persons

    everyone = forms(work)
    row = next((one for one in everyone if one.number == number), None)
    if row is None:
        hint = "" if everyone else "None was written yet: file it by what it says"
        raise NotFound("form", number, [one.number for one in everyone], field="--form", hint=hint)
    form = NumberedForm.of(row)
    if form.job != job.key:
        raise BadInput(wanted=f"a form of {job.key}", got=f"{number}, of {form.job}", field="--form")
    if form.kind != kind:
        raise BadInput(
            wanted=f"a {PAPERS[kind][0].replace('_', ' ')}" if kind in PAPERS else f"no form, for a {kind}",
            got=f"the {form.paper}",
            field="--form",
        )
    if subject.strip() and form.subject:
        found = find_person(persons(work), subject)
        names = {same_name(subject), *({subject_of(found), same_name(found.name)} if found else ())}
        if same_name(form.subject) not in names:
            raise BadInput(wanted=f"{form.subject}, whom the {form.paper} is about", got=subject, field="--form")
    return form


def check_form_day(form: NumberedForm | None, signed_on: date, reason: str) -> None:
    """Refuse a form that was signed before it was written, unless somebody says why. Raises BadInput."""
    if form is not None and signed_on < date.fromisoformat(form.written_on) and not reason.strip():
        raise BadInput(
            wanted=f"a day from {form.written_on} on, when the {form.paper} was written",
            got=signed_on,
            field="--signed",
            hint="If it is right, say why with --reason",
        )


def check_form_of_child(form: NumberedForm | None, holding: Holding) -> None:
    """Refuse a form printed for a child where who it is about was of age at signature, or another guardian signed.

    Raises RuleBroken.
    """
    guardians = [one.name for one in holding.signers if one.role == "guardian"]
    another = guardians and form is not None and same_name(form.guardian) not in map(same_name, guardians)
    if form is not None and form.guardian and another:
        raise RuleBroken(
            f"the {form.paper} was printed for {form.guardian} to sign, and {', '.join(guardians)} signed it: write "
            "them a form of their own; if it was changed by hand, file it by all that it says now, without --form"
        )
    if form is not None and not form.minor and guardians and form.kind in WITH_GUARDIAN:
        raise RuleBroken(
            f"the {form.paper} was printed for {form.subject or 'somebody'} of age and has no line for a parent or "
            f"guardian, and {', '.join(guardians)} signed it: write one with bizkit release form --guardian NAME; if "
            "it was changed by hand, file it by all that it says now, without --form"
        )
    if form is not None and form.minor and not holding.young:
        raise RuleBroken(
            f"the {form.paper} was printed for somebody under 18, for a parent or guardian to sign, and "
            f"{holding.name} was born {holding.born_on}, so of age when it was signed: check the date of birth, else "
            "have them sign a form of their own"
        )


def held_by_form(form: NumberedForm, allows: Allowed, signed_on: date, tree: MediaTree) -> tuple[PaperTerms, ...]:
    """What a signed form says: what it printed, and for what it left blank what was typed.

    Raises BadInput for something typed that differs from what it printed, or for a blank that nobody has said.
    """
    typed = allows.read(tree)
    if allows.any_client and form.client[1]:
        raise BadInput(
            wanted=f"nothing, as the {form.paper} was printed for {form.client[1]} alone",
            got="--any-client",
            field="--any-client",
            hint="Have a form signed that was written with --any-client",
        )
    for part in typed.differs(form.terms):
        raise BadInput(
            wanted=f"what the {form.paper} printed",
            got="something else",
            field=OPTIONS[part],
            hint="If it was changed by hand, file it by all that it says now, without --form",
        )
    return said_whole(typed.filled(form.terms), signed_on, hint=f"The {form.paper} left it blank")


def list_forms(folder: StudioFolder, job: str | None = None) -> list[FormRow]:
    """Every form written to be signed, by number: what it asks for, and the papers filed by it."""
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.holdings import OUT
    from bizkit.store.forms import forms
    from bizkit.store.jobs import holdings

    tree = folder.studio.media
    with folder.book.read() as work:
        key = the_job(work, job).key if job else None
        found = [NumberedForm.of(row) for row in forms(work, job=key)]
        filed: dict[str, list[int]] = {}
        for row in holdings(work, key=key):
            if row.status not in OUT and row.data.get("form"):
                filed.setdefault(row.data["form"], []).append(row.id)
    return [
        {
            "number": one.number,
            "job": one.job,
            "kind": one.kind,
            "on": one.written_on,
            "about": one.subject,
            "minor": one.minor,
            "asks": in_words(one.terms, tree),
            "terms": one.terms.data(),
            "conditions": list(one.conditions),
            "client_conditions": list(one.client_conditions),
            "for_client": one.client[1],
            "papers": filed.get(one.number, []),
        }
        for one in found
    ]


def in_words(terms: PaperTerms, tree: MediaTree) -> str:
    """One line for people: media / countries / how long, a blank for what is unsaid."""
    start = f"from {terms.starts}" if terms.starts else "from the day it is signed"
    if terms.until:
        length = f"{start} until {terms.until}"
    elif terms.months:
        length = f"{start} for {terms.months} months"
    else:
        length = f"{start}, without an end" if terms.without_end else "____"
    media = ", ".join(tree.labels(terms.media)) or "____"
    return f"{media} / {terms.countries.phrase if terms.countries else '____'} / {length}"


class FormRow(TypedDict):
    """A form of ours and the papers filed by it."""

    number: str
    job: str
    kind: str
    on: str
    about: str
    minor: bool
    asks: str
    terms: dict[str, Any]
    conditions: list[str]
    client_conditions: list[str]
    for_client: str
    papers: list[int]
