"""Whether a client may do one thing, and if not, what the extension costs; the licence in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import NotFound
from bizkit.domain.rights.holding import Licensee
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MediaTree
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory
from bizkit.domain.rights.use import allows, may, why_not
from bizkit.services.rights.clearance import lacks_and_looks, look_again, not_held
from bizkit.services.rights.conditions import conditions_of
from bizkit.services.rights.extensions import price_of
from bizkit.services.rights.works import Work, licensed_works, works_to_offer
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.extensions import ExtensionOffered
    from bizkit.services.rights.licences import LicenceRow
    from bizkit.services.rights.overrides import OverrideRow
    from bizkit.store.jobs import Job


def check_use(
    folder: StudioFolder, job: str, media: Sequence[str], where: Sequence[str], on: date, *, work_key: str = ""
) -> UseAnswer:
    """May the client of a job use its works like this on the day `on`? yes or no, because.

    Every medium in every country is asked about. work_key: one of the works; without it each of them. For a no, what
    to add and what that costs by today's rate card, before tax. `held`: whether all that a yes needs is held, as it
    is not any more when a paper was withdrawn. `conditions`: what the client keeps to, as people and places in what
    is allowed asked for it. `look` says what of either is not held.
    """
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.job.jobs import the_job

    codes = Territory.read(list(where), field="--where").codes
    with folder.book.read() as work:
        row = the_job(work, job)
        tree = folder.studio.media.with_gone((row.licence or {}).get("media", ()))
        leaves = tree.read(media, field="--media")
        wanted = Scope.box(leaves, codes, Term(on, on))
        works = licensed_works(work, row)
        if work_key:
            works = [one for one in works if one.key == work_key]
            if not works:
                known = [one.key for one in licensed_works(work, row)]
                raise NotFound("work of the licence", work_key, known, field="--work")
        grants = grants_to(work, row.client)
        answers = [_answer(one, wanted, grants, on, tree) for one in works]
        refused = [one for one, (allowed, _, _) in zip(works, answers, strict=True) if not allowed]
        boxes = [box for _, _, added in answers for box in added]
        offered = works_to_offer(work, row)
        to_add = [one for one in refused if one.kind != "clip"]
        price = None
        if boxes and to_add:
            everything = {one.id for one in offered} == {one.id for one in to_add}
            price = price_of(folder, row.key, boxes, to_add, grants, on, all_works=everything)
        gone = cancelled_on(work, row.key)
        granted_now = [one for one, (allowed, _, _) in zip(works, answers, strict=True) if allowed]
        conditions = conditions_of(folder, work, {one.id for one in granted_now}).passed_on if granted_now else []
        lacks, looks = _lacks_of_granted(folder, work, wanted, granted_now, grants, Licensee(row.client), on)
        held, look = not lacks, [*lacks, *looks]
        if price is not None:
            look += not_held(folder, work, Scope.from_data(price["scope"]), to_add, Licensee(row.client), on)
    allowed = bool(answers) and not refused
    hint = ""
    if row.licence and not any(one.works & {each.id for each in works} for one in grants):
        hint = f"what the quote promised is not granted yet: bizkit rights grant {row.key}"
        if gone:
            hint = f"the job was cancelled on {gone}: what its quote promised was never granted"
    elif not row.licence:
        hint = "the quote of this job licenses nothing"
    return {
        "job": row.key,
        "on": on.isoformat(),
        "media": tree.sorted(leaves),
        "countries": sorted(codes),
        "allowed": allowed,
        "works": [
            {"work": one.key, "title": one.title, "allowed": yes, "because": because}
            for one, (yes, because, _) in zip(works, answers, strict=True)
        ],
        "held": held,
        "conditions": conditions,
        "extension": price,
        "hint": hint,
        "look": list(dict.fromkeys(look)),
    }


def _lacks_of_granted(
    folder: StudioFolder,
    work: Connection,
    wanted: Scope,
    works: Sequence[Work],
    grants: Sequence[Licence],
    to: Licensee,
    on: date,
) -> tuple[list[str], list[str]]:
    """What of an allowed use is not held, and what to look at: each part by the day of the licence that allows it.

    A paper counts for what was granted while it did, so the licence that was granted first answers.
    """
    parts: dict[tuple[Scope, date], list[Work]] = {}
    for one in works:
        left = wanted
        for licence in sorted(grants, key=lambda licence: licence.granted_on):
            if one.id in licence.works and not licence.stopped(on):
                part = left.intersect(licence.scope)
                if part:
                    parts.setdefault((part, licence.granted_on), []).append(one)
                left = left.minus(part)
    lacks: list[str] = []
    looks: list[str] = []
    for (part, granted_on), about in parts.items():
        found = lacks_and_looks(folder, work, part, about, to, on, granted_on)
        lacks += found[0]
        looks += found[1]
    return lacks, looks


def explain_licence(folder: StudioFolder, job: str, on: date) -> LicenceExplained:
    """A job's licence in sentences that a client understands, and how it stands on the day `on`."""
    from bizkit.services.job.called_off import cancelled_on
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.licences import granted, licence_row
    from bizkit.services.rights.overrides import override_rows

    with folder.book.read() as work:
        row = the_job(work, job)
        grants = granted(work, job=row.key)
        return {
            "job": row.key,
            "title": row.title,
            "licensee": (row.licence or {}).get("licensee", ""),
            **licence_in_words(folder, work, row, grants, on),
            "cancelled_on": cancelled_on(work, row.key),
            "grants": [licence_row(one, on) for one in grants],
            "overrides": override_rows(work, row.key),
            "look": look_again(folder, work, row, grants[-1], on) if grants else [],
        }


def licence_in_words(
    folder: StudioFolder, work: Connection, job: Job, grants: Sequence[Licence], on: date
) -> LicenceInWords:
    """A job's licence as it stands on a day, once granted, else as promised; and what the client keeps to."""
    if not job.licence:
        return {"sentences": [], "conditions": []}
    works = licensed_works(work, job)
    # Said anew, as the words of the quote may not name the works.
    request = grants[-1].as_it_stands(on) if grants else LicenceRequest.from_data(job.licence)
    return {
        "sentences": request.sentences([one.title for one in works if one.kind != "clip"], folder.studio.media),
        "conditions": list(conditions_of(folder, work, {one.id for one in works}).passed_on),
    }


def grants_to(work: Connection, client: str) -> list[Licence]:
    """Every licence granted to a client, whatever the job."""
    from bizkit.services.rights.licences import granted
    from bizkit.store.rights import licence_names

    theirs = {number for number, (_, name) in licence_names(work).items() if name == client}
    return [one for one in granted(work) if one.key in theirs]


def _answer(
    one: Work, wanted: Scope, grants: Sequence[Licence], on: date, tree: MediaTree
) -> tuple[bool, str, Sequence[Box]]:
    """Whether one work may be used like that, because, and the boxes to add."""
    about = [licence for licence in grants if one.id in licence.works]
    awake = [licence for licence in about if not licence.stopped(on)]
    missing = wanted.minus_boxes([box for licence in awake for box in licence.scope.boxes])
    if not missing:
        return True, "; ".join(_allowed_by(wanted, awake, tree)), ()
    reasons: dict[str, None] = {}
    boxes: list[Box] = []
    beyond = missing.minus_boxes([box for licence in about for box in licence.scope.boxes])
    for box in (*beyond.boxes, *missing.minus(beyond).boxes):
        answer = may(about, one.id, min(box.media), min(box.countries), on, tree)
        because = answer.because
        if answer.licence is not None:
            because = why_not(answer.licence, sorted(box.media), sorted(box.countries), on, tree)
        reasons[because.replace(one.id, one.key)] = None
        boxes += (Box(box.media, box.countries, added.term) for added in answer.extension.boxes)
    return False, "; ".join(reasons), boxes


def _allowed_by(wanted: Scope, grants: Sequence[Licence], tree: MediaTree) -> Iterator[str]:
    """Which licences allow what of what is wanted, in the order granted."""
    left = wanted
    for licence in grants:
        part = left.intersect(licence.scope)
        if part:
            yield allows(licence, part.media, part.countries, tree)
        left = left.minus(part)


class UseAnswer(TypedDict):
    """Whether a use is allowed, because of what, whether what it needs is held, and what to add for a no."""

    job: str
    on: str
    media: list[str]
    countries: list[str]
    allowed: bool
    works: list[WorkAnswer]
    held: bool
    conditions: list[str]
    extension: ExtensionOffered | None
    hint: str
    look: list[str]


class WorkAnswer(TypedDict):
    """The answer about one work."""

    work: str
    title: str
    allowed: bool
    because: str


class LicenceInWords(TypedDict):
    """A licence in sentences, and what of the papers the client keeps to."""

    sentences: list[str]
    conditions: list[str]


class LicenceExplained(LicenceInWords):
    """A job's licence in sentences, and how its grants stand."""

    job: str
    title: str
    licensee: str
    cancelled_on: str
    grants: list[LicenceRow]
    overrides: list[OverrideRow]
    look: list[str]
