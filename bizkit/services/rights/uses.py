"""Whether a client may do one thing, and if not, what the extension costs; the licence in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import total
from bizkit.domain.rights.licence import Licence, LicenceRequest
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory, describe
from bizkit.domain.rights.use import may
from bizkit.services.rights.works import Work, charged, licensed_works
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.line import Line


def check_use(
    folder: StudioFolder, job: str, media: Sequence[str], where: Sequence[str], on: date, *, work_key: str = ""
) -> dict[str, Any]:
    """May the client of a job use its works like this on the day `on`? yes or no, because.

    Every medium in every country is asked about. work_key: one of the works; without it each of them. For a no, what
    to add and what that costs by today's rate card, before tax.
    """
    from bizkit.services.shooting.jobs import the_job

    tree = folder.studio.media
    leaves = tree.read(media, field="--media")
    codes = Territory.read(list(where), field="--where").codes
    wanted = Scope.box(leaves, codes, Term(on, on))
    with folder.book.read() as work:
        row = the_job(work, job)
        works = licensed_works(work, row)
        if work_key:
            works = [one for one in works if one.key == work_key]
            if not works:
                known = [one.key for one in licensed_works(work, row)]
                raise NotFound("work of the licence", work_key, known, field="--work")
        grants = grants_to(work, row["client"])
        resting = at_rest(folder, work, row["client"], on)
        answers = [_answer(one, wanted, grants, resting, on, tree) for one in works]
        refused = [one for one, (allowed, _, _) in zip(works, answers, strict=True) if not allowed]
        added = Scope(box for _, _, boxes in answers for box in boxes)
        price = price_extension(folder, added, refused, grants) if added else None
    allowed = bool(answers) and not refused
    hint = ""
    if row["licence"] and not any(one.works & {each.id for each in works} for one in grants):
        hint = f"what the quote promised is not granted yet: bizkit rights grant {row['key']}"
    elif not row["licence"]:
        hint = "the quote of this job licenses nothing"
    return {
        "job": row["key"],
        "on": on.isoformat(),
        "media": tree.sorted(leaves),
        "countries": sorted(codes),
        "allowed": allowed,
        "works": [
            {"work": one.key, "title": one.title, "allowed": yes, "because": because}
            for one, (yes, because, _) in zip(works, answers, strict=True)
        ],
        "extension": price and {**price, "offer": _offer_command(row["key"], added, work_key)},
        "hint": hint,
    }


def explain_licence(folder: StudioFolder, job: str, on: date) -> dict[str, Any]:
    """A job's licence in sentences that a client understands, and how it stands on the day `on`."""
    from bizkit.services.rights.licences import granted, licence_row
    from bizkit.services.rights.overrides import override_rows
    from bizkit.services.shooting.jobs import the_job

    with folder.book.read() as work:
        row = the_job(work, job)
        grants = granted(work, job=row["key"])
        works = licensed_works(work, row)
        named = [one.title for one in works if one.kind != "clip"]
        sentences = list((row["licence"] or {}).get("sentences", ()))
        if row["licence"]:
            # Said anew, as the words of the quote may not name the works.
            request = grants[-1].request if grants else LicenceRequest.from_data(row["licence"])
            sentences = request.sentences(named, folder.studio.media)
        return {
            "job": row["key"],
            "title": row["title"],
            "licensee": (row["licence"] or {}).get("licensee", ""),
            "sentences": sentences,
            "grants": [licence_row(one, on) for one in grants],
            "overrides": override_rows(work, row["key"]),
        }


def grants_to(work: Connection, client: str) -> list[Licence]:
    """Every licence granted to a client, whatever the job."""
    from bizkit.services.rights.licences import granted
    from bizkit.store.rights import licence_names

    theirs = {number for number, (_, name) in licence_names(work).items() if name == client}
    return [one for one in granted(work) if one.key in theirs]


def at_rest(folder: StudioFolder, work: Connection, client: str, on: date) -> dict[str, str]:
    """Number -> why, of each licence of a client that rests because an invoice is unpaid."""
    from bizkit.services.rights.suspension import suspended
    from bizkit.store.rights import licence_names

    found = {}
    for number, (job, name) in licence_names(work).items():
        if name == client and (rest := suspended(folder, work, job, on)):
            found[number] = rest.text
    return found


def price_extension(
    folder: StudioFolder, added: Scope, works: Sequence[Work], grants: Sequence[Licence]
) -> dict[str, Any]:
    """What `added` costs beyond what is held of `works`; `why_not` says why the card names no price."""
    base: dict[str, Any] = {
        "text": added.text(folder.studio.media),
        "scope": added.data(),
        "currency": folder.card.currency,
    }
    try:
        lines = extension_of(folder, added, works, grants)
    except (BadInput, NotFound) as error:
        return {**base, "net": "", "lines": [], "why_not": str(error)}
    net = total((line.amount for line in lines), folder.card.currency)
    return {**base, "net": net.text, "lines": [line.data() for line in lines], "why_not": ""}


def extension_of(
    folder: StudioFolder,
    added: Scope,
    works: Sequence[Work],
    grants: Sequence[Licence],
    *,
    asked: LicenceRequest | None = None,
) -> list[Line]:
    """Lines for adding a scope to what is held of all `works`: price of the wider less price of the held.

    asked: what is wanted where nothing of it is held yet. Raises BadInput for what the card does not sell.
    """
    from bizkit.domain.pricing.usage_fee import extension_lines, usage_lines

    rates = folder.card.usage
    if rates is None:
        raise BadInput(wanted="prices of licences", got="none", field="usage", where=folder.card.where)
    ids = {one.id for one in works}
    holding = [one for one in grants if ids <= one.works and one.scope]
    clips = [clip for one in grants for clip in one.request.clips if ids & one.works]
    priced = charged(works)
    if not holding:
        request = asked or (grants[-1].request if grants else None)
        if request is None:
            raise BadInput(wanted="a licence to extend", got="none", field="LICENCE")
        return usage_lines(rates, replace(request, works=(), clips=tuple(clips)), priced)
    held = holding[0].scope
    for one in holding[1:]:
        held = held.union(one.scope)
    nearest = max(holding, key=lambda one: one.granted_on)
    request = replace(
        nearest.request, works=(), clips=tuple(clips), buy_out=any(one.request.buy_out for one in holding)
    )
    exclusivity = asked.exclusivity if asked else ""
    return extension_lines(rates, held, added, request, priced, exclusivity=exclusivity)


def _answer(
    one: Work, wanted: Scope, grants: Sequence[Licence], resting: Mapping[str, str], on: date, tree: MediaTree
) -> tuple[bool, str, Sequence[Box]]:
    """Whether one work may be used like that, because, and the boxes to add."""
    about = [licence for licence in grants if one.id in licence.works]
    awake = [licence for licence in about if licence.key not in resting]
    missing = wanted.minus_boxes([box for licence in awake for box in licence.scope.boxes])
    if not missing:
        (box, *_) = wanted.boxes
        answer = may(awake, one.id, min(box.media), min(box.countries), on, tree)
        return True, answer.because, ()
    if not wanted.minus_boxes([box for licence in about for box in licence.scope.boxes]):
        return (
            False,
            "; ".join(f"{key}: {resting[key]}" for key in (each.key for each in about) if key in resting),
            (),
        )
    reasons: dict[str, None] = {}
    boxes: list[Box] = []
    for box in missing.boxes:
        answer = may(about, one.id, min(box.media), min(box.countries), on, tree)
        reasons[answer.because.replace(one.id, one.key)] = None
        boxes += (Box(box.media, box.countries, added.term) for added in answer.extension.boxes)
    return False, "; ".join(reasons), boxes


def _offer_command(job: str, added: Scope, work_key: str) -> str:
    """What to type for a quote of the first part of an extension."""
    box = added.boxes[0]
    parts = [f"--media {medium}" for medium in sorted(box.media)]
    parts.append(f"--where '{describe(box.countries)}'")
    parts.append(f"--from {box.term.start}")
    parts.append("--open-end" if box.term.open else f"--until {box.term.end}")
    if work_key:
        parts.append(f"--work {work_key}")
    return f"bizkit rights offer {job} {' '.join(parts)}"
