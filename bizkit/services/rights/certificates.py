"""Licence certificates: issued with the grant, and again when the licence takes effect, ends or is ended."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from urllib.parse import quote as url_quote

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import RuleBroken
from bizkit.domain.rights.licence import Licence
from bizkit.services.rights.conditions import conditions_of
from bizkit.services.rights.licences import LicenceRow
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.work import Effect
    from bizkit.services.rights.clearance import Checked
    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.deliveries import Deliverable
    from bizkit.store.issued import Issued
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp

KIND = "licence_certificate"


def certificate(folder: StudioFolder, name: str, on: date) -> CertificateShown:
    """The certificate of a licence (by its number or its job) as it stands on the day `on`.

    The one issued last when nothing has changed since, else a new revision of it.
    Raises RuleBroken for a paper or record that is not what was issued.
    """
    from bizkit.services.rights.clearance import check_again, what_to_look_at
    from bizkit.services.rights.licences import licence_of, licence_row, the_licence
    from bizkit.services.studio.leaving import issued_paper
    from bizkit.services.studio.paper_names import pdf_name
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record
    from bizkit.store.issued import by_number
    from bizkit.store.jobs import jobs

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_licence(work, name)
        licence = licence_of(work, row)
        (job,) = jobs(work, row.job)
        refuse_unwritten(folder, work, kind=KIND, about=row.job)
        before = by_number(work, licence.key)
        document = _document(folder, work, job, licence, on)
        checked = check_again(folder, work, job, licence, on)
        paper: FiledPaper | None = None
        if before is not None and _same(before.document, document):
            issued_paper(folder, work, before)  # what is handed out is what was issued
            issued = before.document
        else:
            if before is None or before.document["effect"]["status"] != "in_force":
                _refuse_not_held(folder, work, licence, checked, on)
            series = before.series if before else ""
            paper, issued = issue_certificate(folder, work, stamp, job, licence, series=series, replaces=before)
            record(work, stamp, "issued", row.job, number=licence.key, revision=issued["revision"])
        conditions = conditions_of(folder, work, licence.works)
    if paper is not None:
        paper.write()
    return {
        **licence_row(licence, on),
        "job": row.job,
        "inside": list(conditions.inside),
        "look": what_to_look_at(checked),
        "revision": issued["revision"],
        "issued_on": issued["issued_on"],
        "new": paper is not None,
        "file": str(folder.papers / pdf_name(issued)),
        "digest": issued["digest"],
        "document": issued,
    }


def _refuse_not_held(folder: StudioFolder, work: Connection, licence: Licence, checked: Checked, on: date) -> None:
    """Refuse to confirm a licence in writing, in force or yet to be, where something it allows is not held any more.

    It was granted and binds; what is written to the client then is for the studio to say. What it was granted in
    spite of was decided then. Raises RuleBroken.
    """
    from bizkit.services.rights.clearance import gap_text
    from bizkit.services.rights.overrides import overridden

    state = licence.state(on)
    if state not in ("live", "coming", "waiting") or folder.reason.strip():
        return
    decided = overridden(work, licence.key)
    lacks = [gap for gap in checked.clearance.gaps if (gap.need.kind, gap.need.subject) not in decided]
    if lacks:
        more = f" (and {len(lacks) - 1} more)" if len(lacks) > 1 else ""
        raise RuleBroken(
            f"{licence.key} would be confirmed as {'in force' if state == 'live' else state}, and is not held: "
            f"{gap_text(lacks[0], checked.tree)}{more}"
            ". Settle it with the client, or end it with bizkit rights end; to confirm it all the same say --reason"
        )


def says_otherwise(folder: StudioFolder, work: Connection, job: Job, licence: Licence, on: date) -> bool:
    """Whether the certificate issued last is not what would be issued on the day `on`."""
    from bizkit.store.issued import by_number

    before = by_number(work, licence.key)
    return before is not None and not _same(before.document, _document(folder, work, job, licence, on))


def issue_certificate(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    job: Job,
    licence: Licence,
    *,
    series: str,
    replaces: Issued[Any] | None = None,
) -> tuple[FiledPaper, dict[str, Any]]:
    """Freeze and draw the certificate; the caller writes the file after the commit. replaces: the one before it."""
    from bizkit.services.studio.filing import file_paper
    from bizkit.store.issued import issue

    document = _document(folder, work, job, licence, stamp.on)
    if replaces is not None:
        document["replaces"] = {"revision": replaces.revision, "issued_on": replaces.issued_on}
    sent = issue(
        work,
        stamp,
        kind=KIND,
        series=series,
        number=licence.key,
        key=job.key,
        document=document,
        revision=replaces.revision + 1 if replaces else 1,
    )
    return file_paper(work, stamp, folder, sent.document), sent.document


def _document(folder: StudioFolder, work: Connection, job: Job, licence: Licence, on: date) -> dict[str, Any]:
    from bizkit.services.job.job_client import printed_client
    from bizkit.services.rights.works import licensed_works
    from bizkit.services.studio.logo import keep_logo
    from bizkit.store.canonical import canonical, sha256
    from bizkit.store.deliveries import deliverables
    from bizkit.store.issued import by_number

    quote = by_number(work, job.quote_number, job.quote_revision)
    asked = quote.document if quote else {}
    works = licensed_works(work, job)
    specs = {f"{row.job}/{row.key}": row for row in deliverables(work) if row.job in {w.job for w in works}}
    term, request = licence.term, licence.as_it_stands(on)
    titles = [one.title for one in works if one.kind != "clip"]
    data = request.data(licence.licensee, titles, folder.studio.media)
    if term is not None and not licence.awaits_use:
        data |= {"starts": term.start.isoformat(), "ends": "" if term.open else term.end.isoformat()}
    data["work_titles"] = [one.title for one in works]
    conditions = conditions_of(folder, work, licence.works)
    digest = sha256(canonical({"number": licence.key, "licence": data, "granted_on": licence.granted_on.isoformat()}))
    return {
        "kind": KIND,
        "number": licence.key,
        "language": asked.get("language", folder.studio.language),
        "locale": asked.get("locale", folder.studio.locale),
        "paper_size": folder.studio.paper_size,
        "studio": folder.studio.data(on, logo_sha256=keep_logo(folder)),
        "client": printed_client(work, job),
        "job": job.key,
        "title": job.title,
        "currency": job.currency,
        "licence": data,
        "works": [{"title": one.title, "quantity": one.quantity, **_sent(specs.get(one.id))} for one in works],
        "effect": {**_effect(licence, on), **_latest(licence)},
        "client_conditions": conditions.passed_on,
        "digest": digest,
        "qr": _qr(folder, licence, digest),
    }


def _sent(row: Deliverable | None) -> dict[str, str]:
    """A deliverable's spec, and which version of it is the final one, else the newest sent."""
    version = f"v{row.data.get('final') or row.versions[-1].number}" if row and row.versions else ""
    return {"spec": row.spec if row else "", "version": version}


def _effect(licence: Licence, on: date) -> Effect:
    """status: "waiting", "in_force", "resting", "ended" or "cancelled"; on: since or from when; paid_on: in full.

    A waiting one that was in force has `since`, the day from which it is not paid in full any more. gaps: first and
    last days, both included, of the times since at which it was not paid in full or rested; absent for none.
    """
    state, term, rest = licence.state(on), licence.term, licence.rest(on)
    if state == "at rest" and rest is not None:
        return {"status": "resting", "on": rest.since.isoformat(), "note": rest.invoice, "paid_on": ""}
    if state == "waiting":
        again = licence.reopened(on)
        waits: Effect = {"status": "waiting", "on": "", "note": "", "paid_on": ""}
        if again:
            waits["since"] = again.isoformat()
        return waits
    if state == "cancelled" and licence.ended_after:
        return {"status": "cancelled", "on": str(licence.ended_after + ONE_DAY), "note": "", "paid_on": ""}
    paid = licence.paid_on.isoformat() if licence.paid_on else ""
    if state == "ended early":
        return {"status": "ended", "on": str(licence.ended_after), "note": licence.ended_because, "paid_on": ""}
    if state == "ended":
        return {"status": "ended", "on": term.end.isoformat() if term else "", "note": "", "paid_on": ""}
    status = "in_force" if state == "live" else "waiting"
    since = term.start.isoformat() if term else ""
    found: Effect = {"status": status, "on": since, "note": "", "paid_on": paid}
    if gaps := _gaps(licence, on):
        found["gaps"] = gaps
    return found


def _latest(licence: Licence) -> dict[str, str]:
    """The last day at the latest of one that counts so many months from a first use still to come."""
    request = licence.request
    if not licence.awaits_use or request.months is None or request.first_use_by is None:
        return {}
    return {"latest": str(request.end_from(request.first_use_by))}


def _gaps(licence: Licence, on: date) -> list[list[str]]:
    return [
        [(one.end + ONE_DAY).isoformat(), (other.start - ONE_DAY).isoformat()]
        for one, other in pairwise(licence.periods())
        if other.start <= on
    ]


def _qr(folder: StudioFolder, licence: Licence, digest: str) -> str:
    """What the code on the paper says: a message to the studio, ready to send, that asks whether it still holds."""
    said = f"{licence.key} {digest[:16]}"
    if not folder.studio.email:
        return f"{folder.studio.name}: {said}"
    subject = f"Does licence {licence.key} hold?"
    return f"mailto:{folder.studio.email}?subject={url_quote(subject)}&body={url_quote(said)}"


#: Members that the day of asking gives, or that issuing adds.
_ISSUED = {"number", "revision", "issued_on", "replaces"}


def _same(issued: Mapping[str, Any], document: Mapping[str, Any]) -> bool:
    """Whether nothing has changed. An empty member, which an older certificate may have or lack, says nothing."""
    before, now = (
        {key: value for key, value in one.items() if key not in _ISSUED and value not in ([], "", None)}
        | {"works": [{**work, "quantity": 0} for work in one["works"]]}  # agreed once; older certificates lack it
        for one in (issued, document)
    )
    return before == now


class CertificateShown(LicenceRow):
    """A licence and its certificate as it stands. inside: conditions that stay with the studio; new: issued now."""

    job: str
    inside: list[str]
    look: list[str]
    revision: int
    issued_on: str
    new: bool
    file: str
    digest: str
    document: Mapping[str, Any]
