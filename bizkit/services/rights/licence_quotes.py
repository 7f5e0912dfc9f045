"""Quotes for licences alone: a renewal, or a wider or another use of works that exist. Drafted, ready to send.

The draft is an ordinary one: `bizkit quote send` freezes it, accepting it opens a job that licenses the old works,
and `bizkit rights grant` grants it once cleared.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict, cast

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.documents.reckoning import explained
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import total
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.plain_words import day_in_words
from bizkit.domain.rights.scope import Scope
from bizkit.services.rights.clearance import licensee, not_held, sold_against
from bizkit.services.rights.works import Work, charged, licensed_works
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents import base as papers
    from bizkit.domain.pricing.line import Line


def renew_licence(folder: StudioFolder, name: str, on: date, *, reason: str = "") -> LicenceDrafted:
    """Draft the quote for the same use for the same length again, from the day after its end or from `on`.

    Raises RuleBroken for a licence without an end; for one that was ended early or is not paid in full, unless a
    `reason` says why it is renewed all the same.
    """
    from bizkit.services.rights.licences import licence_of, the_licence
    from bizkit.store.jobs import jobs

    with folder.book.read() as work:
        row = the_licence(work, name)
        licence = licence_of(work, row)
        (job,) = jobs(work, row.job)
        works = licensed_works(work, job)
    request = licence.renewal(on)
    against = licence.stands_against_renewal(on)
    if against and not reason.strip():
        raise RuleBroken(
            f"{licence.key} {against}, so the price of a renewal is not for it: draft a licence of its works with "
            f"bizkit rights offer {row.job}, or say with --reason why it is renewed all the same"
        )
    lines = renewal_of(folder, licence, works, on)
    starts = request.starts or on
    looks = [f"{licence.key} {against}: renewed all the same, as {reason.strip()}"] if against else []
    after = licence.term.end + ONE_DAY if licence.term else starts
    if starts > after:
        looks.append(f"from {after} to {starts - ONE_DAY} nothing is licensed: the renewal begins on {starts}")
    done = _draft(
        folder,
        on,
        key=f"{row.job.removesuffix('-renewal')}-renewal",
        client=row.client,
        title=f"{job.title.removesuffix(': licence renewed')}: licence renewed",
        summary=f"Renewal of licence {licence.key}, from {day_in_words(starts)}.",
        request=request,
        works=works,
        lines=lines,
        reason=reason.strip(),
    )
    party = folder.client(row.client)
    new = Licence(done["key"], party.name, licence.works, request, on, party.sector)
    with folder.book.read() as work:
        return {
            **done,
            "warnings": looks
            + sold_against(folder, work, new, on)
            + not_held(folder, work, renewed_scope(licence, on), works, licensee(row.client, request), on),
        }


def renewed_scope(licence: Licence, on: date) -> Scope:
    """What a renewal on the day `on` would allow; nothing where it never would.

    Raises RuleBroken for a licence without an end.
    """
    request = licence.renewal(on)
    term = request.widest_term(request.starts or licence.granted_on)
    return request.scope(term) if term else Scope()


def renewal_of(folder: StudioFolder, licence: Licence, works: Sequence[Work], on: date) -> list[Line]:
    """What a renewal costs by today's card. Raises BadInput for what it does not sell, RuleBroken without an end."""
    from bizkit.domain.pricing.usage_fee import renewal_lines

    if folder.card.usage is None:
        raise BadInput(wanted="prices of licences", got="none", field="usage", where=folder.card.where)
    request = replace(licence.renewal(on), works=())
    return renewal_lines(folder.card.usage, request, charged(works))


def offer_licence(
    folder: StudioFolder, job: str, request: LicenceRequest, on: date, *, client: str = "", works: Sequence[str] = ()
) -> LicenceDrafted:
    """Draft the quote for a licence of works that a job made, to its own client or another.

    Where that client holds a licence of the same works, it goes on in all that is not asked for (exclusivity, limits,
    credit), and is not paid for again. Raises RuleBroken when the client holds all of it already.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.extensions import extension_of
    from bizkit.services.rights.uses import grants_to
    from bizkit.services.rights.works import works_to_offer

    if client:
        folder.client(client, named_in="--to")
    with folder.book.read() as work:
        row = the_job(work, job)
        about = works_to_offer(work, row, works)
        grants = grants_to(work, client or row.client)
    if not about:
        raise RuleBroken(f"{row.key} made nothing that could be licensed")
    try:
        found = extension_of(folder, request, about, grants, on)
    except RuleBroken as error:
        raise RuleBroken(f"{row.key}: {error}") from None
    own = (client or row.client) == row.client
    request, ids = _going_on(found.request, row.licence, own=own), {one.id for one in about}
    done = _draft(
        folder,
        on,
        key=f"{row.key}-licence",
        client=client or row.client,
        title=f"{row.title}: further licence",
        summary=f"Licence of works made for {row.title}.",
        request=request,
        works=about,
        lines=found.lines,
    )
    party = folder.client(client or row.client)
    new = Licence(done["key"], party.name, frozenset(ids), request, on, party.sector)
    with folder.book.read() as work:
        against = sold_against(folder, work, new, on)
        to = licensee(party.key, request)
        return {**done, "warnings": against + not_held(folder, work, found.added, about, to, on)}


def _going_on(request: LicenceRequest, made: Mapping[str, Any] | None, *, own: bool) -> LicenceRequest:
    """What is offered, with the credit and limits of the licence its works were made under where it says none.

    own: to the client they were made for: then who else may use them, and how, goes on as well.
    """
    if not made:
        return request
    credit, limits = request.credit or made.get("credit", ""), request.limits or tuple(made.get("limits", ()))
    request = replace(request, credit=credit, limits=limits)
    if not own:
        return request
    return replace(
        request,
        edits=request.edits or made.get("edits", False),
        transfer=request.transfer or made.get("transfer", False),
        affiliates=request.affiliates or tuple(made.get("affiliates", ())),
    )


def _draft(
    folder: StudioFolder,
    on: date,
    *,
    key: str,
    client: str,
    title: str,
    summary: str,
    request: LicenceRequest,
    works: Sequence[Work],
    lines: Sequence[Line],
    reason: str = "",
) -> LicenceDrafted:
    """Keep the quote as a draft under `key`, or the next free name like it."""
    from bizkit.domain.billing.tax import Taxed, tax_lines
    from bizkit.domain.billing.tax_later import tax_later
    from bizkit.domain.pricing.estimate import Estimate
    from bizkit.domain.quote import quote_document
    from bizkit.services.studio.logo import keep_logo
    from bizkit.services.studio.taxed import treated
    from bizkit.services.studio.toml_file import parse_toml
    from bizkit.store.canonical import sha256
    from bizkit.store.events import record
    from bizkit.store.quotes import put_draft

    party = folder.client(client)
    card, card_text = folder.card, folder.card_file.text
    stamp = folder.draft_stamp(on)
    with folder.book.work() as work:
        key = _free_key(work, key, client)
        text = _brief_text(key, client, title, summary, card.currency, request)
        name = f"{key}.toml"
        brief = folder.brief_of(parse_toml(text, name, "a brief"))
        estimate = Estimate(card.currency, tuple(lines), (), None, None, ())
        how = treated(folder, party, on)
        document = quote_document(
            folder.studio,
            party,
            card,
            brief,
            estimate,
            tax_lines([Taxed.by(how, estimate.net)], estimate.currency, name=how.name),
            on=on,
            later=tax_later(folder.studio, party, brief, on, folder.day_off),
            card_sha256=sha256(card_text),
            brief_sha256=sha256(text),
            brief_file=name,
        )
        titles = [one.title for one in works]
        named = replace(request, works=tuple(one.id for one in works))
        licence = {**named.data(party.name, titles, folder.studio.media), "work_titles": titles}
        document["licence"] = cast("papers.Licence", licence)
        document["valid_days"], document["studio"] = (
            card.valid_days,
            folder.studio.data(on, logo_sha256=keep_logo(folder)),
        )
        put_draft(work, stamp, key=key, brief_file=name, brief=text, card=card_text, document=document)
        told = {"reason": reason} if reason else {}
        record(work, stamp, "drafted", key, gross=document["gross"], currency=document["currency"], **told)
    net = total((line.amount for line in lines), card.currency)
    return {
        "key": key,
        "client": party.name,
        "title": title,
        "net": net.text,
        "currency": card.currency,
        "gross": document["gross"],
        "lines": explained(document),
        "sentences": licence["sentences"],
        "warnings": [],
    }


def _free_key(work: Connection, key: str, client: str) -> str:
    """`key`, or the first of `key-2`, `key-3`... that was never sent; a draft of the same client's is replaced."""
    from bizkit.store.issued import latest
    from bizkit.store.quotes import drafts

    name, number = key, 1
    while latest(work, kind="quote", key=name) or any(
        one.document["client"]["key"] != client for one in drafts(work, name)
    ):
        number += 1
        name = f"{key}-{number}"
    return name


def _brief_text(key: str, client: str, title: str, summary: str, currency: str, request: LicenceRequest) -> str:
    """A brief that asks for the licence alone, all of it due on acceptance."""
    text = json.dumps  # TOML's basic strings and arrays of them are written as JSON writes them
    lines = [
        "# Drafted by bizkit: a licence of works that exist.",
        f"key = {text(key)}",
        f"client = {text(client)}",
        f"title = {text(title, ensure_ascii=False)}",
        f"summary = {text(summary, ensure_ascii=False)}",
        f"currency = {text(currency)}",
        "",
        "[[stages]]",
        'title = "Licence fee"',
        "percent = 100",
        'when = "acceptance"',
        "",
        "[licence]",
        f"media = {text(sorted(request.media))}",
        f"territory = {text(sorted(request.territory.codes))}",
        f"exclusivity = {text(request.exclusivity)}",
        f"on_full_payment = {text(request.on_full_payment)}",
    ]
    if request.months is not None:
        lines.append(f"months = {request.months}")
    elif request.until is not None:
        lines.append(f"until = {request.until}")
    else:
        lines.append("open_end = true")
    if request.starts is not None:
        lines.append(f"starts = {request.starts}")
    for name in ("sector", "credit"):
        if getattr(request, name):
            lines.append(f"{name} = {text(getattr(request, name), ensure_ascii=False)}")
    for name in ("limits", "affiliates"):
        if getattr(request, name):
            lines.append(f"{name} = {text(list(getattr(request, name)), ensure_ascii=False)}")
    lines += [f"{name} = true" for name in ("edits", "transfer", "buy_out") if getattr(request, name)]
    return "\n".join(lines) + "\n"


class LicenceDrafted(TypedDict):
    """A quote of a licence alone, kept as a draft."""

    key: str
    client: str
    title: str
    net: str
    currency: str
    gross: str
    lines: list[dict[str, Any]]
    sentences: list[str]
    warnings: list[str]
