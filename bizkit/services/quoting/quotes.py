"""Quotes: draft, send, accept into a job, decline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.domain.documents.reckoning import explained
from bizkit.domain.errors import RuleBroken, meant
from bizkit.domain.money import plain
from bizkit.domain.parties import Client
from bizkit.domain.quote_options import check_answer
from bizkit.services.quoting.pricing import price_brief
from bizkit.services.quoting.quote_list import find_quote
from bizkit.services.quoting.states import QuoteRow, answers_now, refuse_answered, row_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.services.quoting.floor import Margins
    from bizkit.services.studio.filing import FiledPaper
    from bizkit.store.offers import QuoteState


def draft_quote(folder: StudioFolder, brief_path: Path, on: date, *, as_revision: str = "") -> Drafted:
    """Price a brief and keep it as the draft of its key; a draft before it is replaced.

    When the key was sent already, this becomes the draft of its next revision. as_revision: why it is one although
    client, or title and dates, are others. `margin` and `clashes` are for the studio alone and stand in no document.
    Raises RuleBroken when the brief has not changed since it was sent, was accepted into a job, or has the key of
    another job's quote or draft.
    """
    from bizkit.services.quoting.bookings import clashes_of
    from bizkit.services.quoting.drafts import refuse_other_job, refuse_undrawable
    from bizkit.services.quoting.floor import margins, read_floor
    from bizkit.services.quoting.kit import care_rows
    from bizkit.services.studio.logo import keep_logo
    from bizkit.store.events import record
    from bizkit.store.issued import latest
    from bizkit.store.jobs import jobs
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts, put_draft

    priced = price_brief(folder, brief_path, on)
    margin = margins(folder, read_floor(folder), priced.card, priced.brief, priced.estimate)
    refuse_undrawable(folder, priced.document)
    stamp = folder.draft_stamp(on)
    with folder.book.work() as work:
        if jobs(work, priced.key):
            raise RuleBroken(
                f"{priced.key} is a job already: give the brief a new key to quote for more work, or copy it with "
                f"bizkit brief copy {brief_path.stem} NEW-KEY"
            )
        sent = quote_named(work, priced.key)
        if not as_revision.strip():
            waiting = next(iter(drafts(work, priced.key)), None)
            refuse_other_job(priced.document, priced.brief_file, sent, waiting)
        document: QuoteOnFile = {**priced.document, "valid_days": priced.valid_days}
        document["studio"] = folder.studio.data(on, logo_sha256=keep_logo(folder))
        if sent and _same_offer(sent.document, document):
            raise RuleBroken(
                f"{priced.key}: brief and rate card are as in {sent.number} revision {sent.revision}: "
                "change something before making a new revision"
            )
        put_draft(
            work,
            stamp,
            key=priced.key,
            brief_file=priced.brief_file,
            brief=priced.brief_text,
            card=priced.card_text,
            document=document,
        )
        why = {"as_revision": as_revision.strip()} if as_revision.strip() else {}
        record(work, stamp, "drafted", priced.key, gross=document["gross"], currency=document["currency"], **why)
        before = latest(work, kind="quote", key=priced.key)
    with folder.book.read_all() as work:
        clashes = clashes_of(folder, work, priced.key, on)
        clashes += [one for one in care_rows(folder, work, on, priced.key) if one not in document["warnings"]]
    return {
        "key": priced.key,
        "state": "draft",
        "revision": before.revision + 1 if before else 1,
        "number": sent.number if sent else "",
        "document": document,
        "margin": margin,
        "clashes": clashes,
    }


def send_quote(folder: StudioFolder, name: str, on: date, *, to: str = "", reason: str = "") -> Sent:
    """Freeze a draft, called by its key or the number of the revision before it; draw its number, write its PDF.

    Raises RuleBroken when there is no draft, when the key became a job, or when it lies below the studio's floor and
    no `reason` is given.
    """
    from bizkit.services.quoting.drafts import check_language, key_of, refuse_job
    from bizkit.services.quoting.floor import read_floor
    from bizkit.services.quoting.ready import advice, numbered, ready_to_send, to_send
    from bizkit.services.quoting.second_looks import look_at_dates
    from bizkit.services.studio.filing import file_paper
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.basis import Basis, put_basis
    from bizkit.store.events import record
    from bizkit.store.issued import issue, latest
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts, drop_draft

    floor = read_floor(folder)
    stamp = folder.stamp(on)
    ready = ready_to_send(folder, name, on, floor)
    with folder.book.work() as work:
        key = key_of(work, name)
        refuse_unwritten(folder, work, kind="quote", about=key)
        found = drafts(work, key)
        before = latest(work, kind="quote", key=key)
        if not found:
            raise RuleBroken(
                f"{key}: no draft to send"
                + (f"; {before.number} revision {before.revision} was sent" if before else "")
                + ": make one with bizkit quote draft BRIEF. "
                + meant(key, [one.key for one in drafts(work)])
            )
        refuse_job(work, key)
        draft = found[0]
        document = to_send(folder, draft, on, quote_named(work, key))
        check_language(folder, document, f"bizkit quote draft {Path(draft.brief_file).stem}")
        _check_tax_of_draft(folder, work, document, on)
        if ready is not None and ready.draft == draft:
            margin, clashes, drawn = ready.margin, ready.clashes, ready.drawn
        else:  # written anew meanwhile
            (margin, clashes), drawn = advice(folder, work, draft, document, on, floor), None
        if margin and margin["below_floor"] and not reason:
            raise RuleBroken(f"{key}: {margin['warning']} (--reason)")
        series, number = numbered(folder, work, before, on)
        sent = issue(
            work, stamp, kind="quote", series=series, number=number, key=key, document=document,
            revision=before.revision + 1 if before else 1,
        )  # fmt: skip
        basis = Basis(sent.number, sent.revision, key, draft.brief_file, draft.brief, draft.card, ())
        put_basis(work, basis)
        paper = file_paper(work, stamp, folder, sent.document, drawn=drawn)
        drop_draft(work, key)
        by = floor.data() if floor else None
        record(work, stamp, "sent", key, number=sent.number, revision=sent.revision, to=to, reason=reason, floor=by)
    paper.write()
    row = row_of(sent.entry, [], on, newest=sent.revision)
    looks = [one for one in look_at_dates(document, on) if one not in draft.document["warnings"]]
    document = sent.document
    return {
        **row,
        "file": str(paper.path),
        "document": document,
        "margin": margin,
        "clashes": clashes,
        "looks": looks,
    }


def _check_tax_of_draft(folder: StudioFolder, work: Connection, document: QuoteOnFile, on: date) -> None:
    """A draft whose tax is not that of the day it is sent is to be priced again, as at a new registration."""
    from bizkit.domain.billing.tax import treatment
    from bizkit.services.job.evidence import with_evidence

    how = treatment(folder.studio, with_evidence(work, folder.client(document["client"]["key"])), on)
    priced = [(tax["category"], Decimal(tax["rate"])) for tax in document["taxes"]]
    if len(priced) == 1 and priced != [(how.category, how.rate)]:
        name, (category, rate) = document["taxes"][0]["name"], priced[0]
        raise RuleBroken(
            f"{document['job']} was drafted with {name} {plain(rate)} % ({category}), but on {on} it is "
            f"{plain(how.rate)} % ({how.category}: {how.rule}): draft it again with bizkit quote draft"
        )


def accept_quote(
    folder: StudioFolder,
    name: str,
    on: date,
    *,
    reason: str = "",
    by: str = "",
    revision: int | None = None,
    options: Sequence[str] = (),
) -> AcceptedQuote:
    """Record that the client accepted, and open the job. Only the newest revision can be accepted.

    options: the choice and add-ons taken; they make the next revision, frozen with them, which is the one accepted.
    Raises RuleBroken when it was answered before, replaced, or lapsed (unless `reason` says why it holds still), when
    a choice is left open, or when it draws more from a deal than is left.
    """
    from bizkit.services.job.jobs import open_job_from
    from bizkit.services.quoting.choosing import freeze_choice
    from bizkit.services.quoting.deals import check_draw
    from bizkit.services.quoting.second_looks import look_at_dates
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record
    from bizkit.store.quotes import put_answer

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        quote = find_quote(work, name, revision)
        if options:  # the choice is issued as the next revision
            refuse_unwritten(folder, work, kind="quote", about=quote.key)
        row = refuse_answered(work, quote, on)
        if on.isoformat() < quote.issued_on:
            raise RuleBroken(
                f"{quote.number} was sent on {quote.issued_on}: it cannot be accepted on {on}; give the day with --on"
            )
        if row["state"] == "lapsed" and not reason:
            raise RuleBroken(
                f"{quote.number} lapsed after {row['valid_until']}: send a new revision, "
                "or accept it all the same with --reason"
            )
        check_answer(quote.document, options, f"{quote.number} revision {quote.revision}")
        paper: FiledPaper | None = None
        if options:
            quote, paper = freeze_choice(work, stamp, folder, quote, options, by=by)
        check_draw(work, folder, quote)
        put_answer(
            work, stamp, number=quote.number, revision=quote.revision, answered="accepted", by=by, reason=reason
        )
        opened = open_job_from(work, quote, on)
        record(work, stamp, "accepted", quote.key, number=quote.number, revision=quote.revision, by=by, reason=reason)
    if paper:
        paper.write()
    return {
        "key": quote.key,
        "number": quote.number,
        "revision": quote.revision,
        "state": "accepted",
        "job": opened,
        "chosen": quote.document.get("option_titles", []),
        "file": str(paper.path) if paper else "",
        "by": by.strip(),
        "looks": look_at_dates(quote.document, on),
        "document": quote.document,
    }


def decline_quote(folder: StudioFolder, name: str, on: date, *, reason: str = "", by: str = "") -> Declined:
    """Record that the client declined. Raises RuleBroken when it was answered before or replaced."""
    from bizkit.store.events import record
    from bizkit.store.quotes import put_answer

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        quote = find_quote(work, name)
        refuse_answered(work, quote, on)
        put_answer(
            work, stamp, number=quote.number, revision=quote.revision, answered="declined", by=by, reason=reason
        )
        record(work, stamp, "declined", quote.key, number=quote.number, revision=quote.revision, reason=reason)
    return {"key": quote.key, "number": quote.number, "revision": quote.revision, "state": "declined"}


def show_quote(folder: StudioFolder, name: str, on: date, *, revision: int | None = None) -> ShownQuote:
    """One quote whole: its state and document; the draft when it was never sent. `margin` is the studio's own."""
    from bizkit.services.quoting.floor import floor_as_sent, margins_of_texts, read_floor
    from bizkit.services.studio.paper_names import pdf_name
    from bizkit.store.basis import basis_of
    from bizkit.store.offers import newest_standing, quote_named
    from bizkit.store.quotes import drafts

    with folder.book.read() as work:
        found = drafts(work, name)
        if found and revision is None and quote_named(work, name, None) is None:
            draft = found[0]
            floor = read_floor(folder)
            margin = margins_of_texts(folder, floor, draft.brief, draft.brief_file, draft.card, draft.document)
            return {
                "key": name,
                "number": "",
                "revision": 1,
                "state": "draft",
                "document": draft.document,
                "margin": margin,
            }
        quote = find_quote(work, name, revision)
        row = row_of(quote.entry, answers_now(work, quote.number), on, newest=newest_standing(work, quote.number))
        kept = basis_of(work, quote.number, quote.revision)
        floor = floor_as_sent(folder, work, quote)
    margin = None
    if kept:
        texts = (kept.brief, kept.brief_file, kept.card)
        margin = margins_of_texts(folder, floor, *texts, quote.document, kept.options)
    file = str(folder.papers / pdf_name(quote.document))
    return {**row, "file": file, "document": quote.document, "margin": margin}


#: Members that sending adds, or that differ without changing the offer; lines are compared with their reckoning.
_NOT_THE_OFFER = {"number", "revision", "issued_on", "valid_until", "reckoning", "warnings", "changed"}


def _same_offer(sent: QuoteOnFile, drafted: QuoteOnFile) -> bool:
    first, second = (
        {
            **{k: v for k, v in one.items() if k not in _NOT_THE_OFFER},
            "lines": _lines(one),
            "client_record": _client_of(one),
        }
        for one in (sent, drafted)
    )
    return first == second


def _client_of(document: QuoteOnFile) -> Client:
    """Its client; keys that a file of earlier years could not have are as where it does not say them."""
    return Client.of_record(document.get("client_record") or document["client"])


def _lines(document: QuoteOnFile) -> list[dict[str, object]]:
    """Its lines and why; which share a line is follows from them, and quotes of earlier years do not say it."""
    return [{k: v for k, v in line.items() if k not in ("percent", "percent_of")} for line in explained(document)]


class Drafted(TypedDict):
    """A draft as it was kept. margin, clashes: for the studio alone."""

    key: str
    state: QuoteState
    revision: int
    number: str
    document: QuoteOnFile
    margin: Margins | None
    clashes: list[str]


class Sent(QuoteRow):
    """A quote as it was sent. margin, clashes, looks: for the studio alone."""

    file: str
    document: QuoteOnFile
    margin: Margins | None
    clashes: list[str]
    looks: list[str]


class AcceptedQuote(TypedDict):
    """A quote accepted into a job. chosen: titles of the options taken; file: of the paper that says so."""

    key: str
    number: str
    revision: int
    state: QuoteState
    job: str
    chosen: list[str]
    file: str
    by: str
    looks: list[str]
    document: QuoteOnFile


class Declined(TypedDict):
    """A quote that the client said no to."""

    key: str
    number: str
    revision: int
    state: QuoteState


class ShownQuote(TypedDict):
    """One quote whole; a draft that was never sent has no more than these."""

    key: str
    number: str
    revision: int
    state: QuoteState
    document: QuoteOnFile
    margin: Margins | None
    client: NotRequired[str]
    title: NotRequired[str]
    currency: NotRequired[str]
    net: NotRequired[str]
    gross: NotRequired[str]
    issued_on: NotRequired[str]
    valid_until: NotRequired[str]
    answered_on: NotRequired[str]
    file: NotRequired[str]
