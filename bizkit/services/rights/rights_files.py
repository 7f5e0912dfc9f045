"""Rights for other people's programs: tables as CSV, licences as ODRL policies, sidecars beside stills and cuts."""

from __future__ import annotations

import mimetypes
from collections.abc import Collection, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict
from urllib.parse import quote as url_quote

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.rights.holding import Holding
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.taken_back import answered
from bizkit.domain.rights.term import OPEN_END
from bizkit.domain.rights.territory import WORLD, describe
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.exchange.xmp import RightsMetadata
    from bizkit.services.rights.holdings import HoldingRow
    from bizkit.services.rights.works import Work
    from bizkit.store.jobs import Job
    from bizkit.store.rights import Grant

#: Kinds of paper that say whether a picture's people, or its property, are released.
MODEL = ("talent_release", "performer_consent")
PROPERTY = ("property_release", "location_permission", "artwork")


def export_rights(folder: StudioFolder, out: Path, on: date) -> RightsExported:
    """Write licences.csv, holdings.csv and one ODRL policy a licence into `out`."""
    from bizkit.exchange.odrl import policy_json
    from bizkit.exchange.table_csv import table_csv
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.rights.licence_list import lacks_of
    from bizkit.services.rights.licences import licence_of
    from bizkit.services.rights.overrides import override_rows
    from bizkit.services.studio.out_file import check_out, write_out
    from bizkit.store.rights import licences

    files: dict[str, bytes] = {}
    with folder.book.read_all() as work:
        grants = [(row, licence_of(work, row)) for row in licences(work)]
        lacks = lacks_of(folder, work, [(one, row.job) for row, one in grants], on)
        reasons = {row["licence"]: row["reason"] for row in override_rows(work) if row["licence"]}
        files["licences.csv"] = table_csv(
            _LICENCES,
            [
                [*_licence_cells(row.job, one, on, reasons.get(one.key, "")), "; ".join(lacks[one.key])]
                for row, one in grants
            ],
        )
        files["holdings.csv"] = table_csv(_HOLDINGS, [_holding_cells(row) for row in holding_rows(work)])
        for row, one in grants:
            if one.periods() or (one.term is None and one.state(on) == "waiting"):
                files[f"{one.key}.jsonld"] = policy_json(**_policy(folder, work, row, one, on))
    for name, content in files.items():
        check_out(folder, out / name, content)
    for name, content in files.items():
        # Whose papers are on file is nobody else's business; a licence is for who holds it.
        write_out(folder, out / name, content, others=name.endswith(".jsonld"))
    return {"files": [str(out / name) for name in files], "licences": len(grants)}


def write_sidecars(
    folder: StudioFolder,
    job: str,
    deliverable: str,
    files: Sequence[Path],
    on: date,
    *,
    replace: bool = False,
    licence: str = "",
) -> SidecarsWritten:
    """Write `FILE.xmp` beside each file: whose it is, what its licence allows, what is released.

    licence: the number of the one the files go out under; without it that of the job, or of its client. `look`: which
    files are no version of the deliverable, and what is not held any more. The release codes come from the papers on
    file. Raises NotFound for a licence that is not of the deliverable, BadInput for a file that is not there,
    RuleBroken for one that is a version of another work, and for a sidecar that is there already (unless `replace`):
    somebody's own may hold more than ours.
    """
    from bizkit.exchange.xmp import sidecar
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.known_files import look_at_files
    from bizkit.services.rights.works import works_of_job
    from bizkit.services.studio.filing import hand_out
    from bizkit.services.studio.fingerprint import digest_of

    digests = {path: digest_of(path) for path in files}
    targets = {path: path.with_name(f"{path.name}.xmp") for path in files}
    for target in targets.values():
        if target.exists() and not replace:
            raise RuleBroken(f"{target.name} is there already: move it away, or write over it with --replace")
    with folder.book.read() as work:
        row = the_job(work, job)
        known = {one.key: one for one in works_of_job(work, row)}
        if deliverable not in known:
            raise NotFound("deliverable", deliverable, known, where=row.key)
        one = known[deliverable]
        under = _licence_for(work, row, one, on, licence)
        facts = _facts(folder, work, row, one, on, under)
        look = look_at_files(work, one, digests) + _not_held_now(folder, work, row, one, under, on)
    for path, target in targets.items():
        hand_out(target, sidecar(_of_file(facts, path, digests[path])))
    return {
        "files": [str(target) for target in targets.values()],
        "model_release": facts.model_release,
        "property_release": facts.property_release,
        "minor_age": facts.minor_age,
        "licence": facts.licence_id,
        "look": look,
    }


def _licence_for(work: Connection, job: Job, one: Work, on: date, number: str) -> Licence | None:
    """The licence that files of a work go out under: the one named, else the job's own, else another of its client.

    A licence of somebody else's is never taken without being named.
    """
    from bizkit.services.rights.licences import granted
    from bizkit.services.rights.uses import grants_to

    about = [licence for licence in granted(work, works=[one.id]) if licence.state(on) in ("live", "coming")]
    if number:
        for licence in about:
            if licence.key == number:
                return licence
        raise NotFound("licence of it in force", number, [licence.key for licence in about], field="--licence")
    own = {licence.key for licence in granted(work, job=job.key)}
    theirs = {licence.key for licence in grants_to(work, job.client)}
    for mine in (own, theirs):
        chosen = [licence for licence in about if licence.key in mine]
        if chosen:
            return chosen[-1]
    return None


def _not_held_now(
    folder: StudioFolder, work: Connection, job: Job, one: Work, licence: Licence | None, on: date
) -> list[str]:
    from bizkit.domain.rights.term import Term
    from bizkit.services.rights.clearance import licensee, not_held
    from bizkit.store.rights import licence_names

    if licence is None or licence.term is None:
        return []
    rest = licence.term.meet(Term(on))
    scope = licence.request.scope(rest) if rest else None
    to = licensee(licence_names(work)[licence.key][1], licence.request)
    return not_held(folder, work, scope, [one], to, on, licence.granted_on) if scope else []


def _of_file(facts: RightsMetadata, path: Path, digest: str) -> RightsMetadata:
    from dataclasses import replace

    kind = mimetypes.guess_type(path.name)[0] or ""
    return replace(facts, identifier=f"urn:sha256:{digest}", media_type=kind)


def _facts(
    folder: StudioFolder, work: Connection, job: Job, one: Work, on: date, licence: Licence | None
) -> RightsMetadata:
    from bizkit.exchange.xmp import Contact, Place, RightsMetadata, release_status, youngest_age
    from bizkit.services.rights.holdings import held
    from bizkit.services.rights.needs import needs_of
    from bizkit.services.rights.shoot_papers import shoot_dates
    from bizkit.store.rights import persons

    studio = folder.studio
    needs, _ = needs_of(folder, work, job, [one])
    papers = answered([paper for paper in held(work, [job.key]) if paper.is_about(one.id)], same_works=True)
    about = {
        (need.kind, need.subject): [
            paper for paper in papers if (paper.kind, paper.subject) == (need.kind, need.subject)
        ]
        for need in needs
    }
    people = {key: found for key, found in about.items() if key[0] in MODEL}
    things = {key: found for key, found in about.items() if key[0] in PROPERTY}
    days = shoot_dates(work, job.key)
    born = {f"person-{row.id}": row.born_on for row in persons(work)}
    ages = [_age(born.get(subject, ""), min(days)) if days else None for _, subject in people]
    contact = Contact(studio.name, studio.email, studio.phone, studio.website)
    places = [need.name for need in needs if need.kind == "location_permission"]
    facts = RightsMetadata(
        title=one.title,
        headline=job.title,
        creators=studio.people,
        creator_contact=contact,
        copyright_owner=studio.name,
        copyright_notice=f"© {(max(days) if days else on).year} {studio.name}",
        credit=(licence.request.credit if licence else "") or studio.name,
        licensor=contact,
        created_on=days[0] if len(set(days)) == 1 else None,
        shown=Place(name=places[0]) if len(places) == 1 else Place(),
        model_release=release_status("model", [_release(found) for found in people.values()]),
        model_release_ids=_ids(people),
        property_release=release_status("property", [_release(found) for found in things.values()]),
        property_release_ids=_ids(things),
        minor_age=youngest_age(ages) if people else "",
        no_data_mining=True,
    )
    if licence is None:
        return facts
    data = licence.as_it_stands(on).data(licence.licensee, [one.title], studio.media) | {"work_titles": [one.title]}
    terms = [*_in_clients_language(folder, work, job, data), *_to_keep(folder, work, job, [one.id])]
    return _licensed(facts, licence, terms, studio.media)


def _to_keep(folder: StudioFolder, work: Connection, job: Job, works: Collection[str]) -> list[str]:
    """What people and places in the works asked of the client, as sentences in its language."""
    from bizkit.services.rights.conditions import conditions_of
    from bizkit.services.studio.wording import words_of
    from bizkit.store.issued import by_number

    quote = by_number(work, job.quote_number, job.quote_revision)
    found = conditions_of(folder, work, works).passed_on
    if quote is None or not found:
        return []
    words = words_of(folder, quote.document)
    return [words.say("rights.to_keep", condition=condition.rstrip(". ")) for condition in found]


def _in_clients_language(folder: StudioFolder, work: Connection, job: Job, licence: dict[str, Any]) -> list[str]:
    """The sentences of a licence as the quote of its job would say them."""
    from bizkit.services.studio.licence_words import sentences_of
    from bizkit.store.issued import by_number

    quote = by_number(work, job.quote_number, job.quote_revision)
    asked = quote.document if quote else {}
    studio = folder.studio
    return sentences_of(folder, licence, asked.get("language", studio.language), asked.get("locale", studio.locale))


def _licensed(facts: RightsMetadata, licence: Licence, terms: Sequence[str], tree: MediaTree) -> RightsMetadata:
    from dataclasses import replace

    term = licence.term
    return replace(
        facts,
        usage_terms=" ".join(terms),
        licence_id=licence.key,
        licensee=licence.licensee,
        licence_from=term.start if term else None,
        licence_until=term.end if term and not term.open and not licence.awaits_use else None,
        media_limits=", ".join(tree.labels(licence.request.media)),
        region_limits=describe(licence.request.territory.codes),
    )


def _release(papers: Sequence[Holding]) -> str:
    """What is on file about one subject: "none", "limited" or "unlimited" (all media, everywhere, without an end)."""
    boxes = [box for paper in papers if not paper.why_nothing for box in paper.held.boxes]
    if not boxes:
        return "none"
    everything = MEDIA_TREE.leaves("all")
    whole = any(
        everything <= box.media and box.countries >= WORLD and box.term.end == OPEN_END for box in Scope(boxes).boxes
    )
    return "unlimited" if whole else "limited"


def _ids(about: dict[tuple[str, str], list[Holding]]) -> tuple[str, ...]:
    return tuple(f"paper {paper.key}" for found in about.values() for paper in found if not paper.why_nothing)


def _age(born_on: str, on: date) -> int | None:
    """Complete years on a day; None where the date of birth is not known."""
    if not born_on:
        return None
    born = date.fromisoformat(born_on)
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def _policy(folder: StudioFolder, work: Connection, row: Grant, licence: Licence, on: date) -> dict[str, Any]:
    """The arguments of an ODRL policy for a licence as it stands on the day `on`."""
    from bizkit.store.issued import by_number
    from bizkit.store.jobs import jobs

    data = licence.as_it_stands(on).data(licence.licensee, (), folder.studio.media)
    if licence.term is not None and not licence.awaits_use:
        data["starts"] = licence.term.start.isoformat()
        data["ends"] = "" if licence.term.open else licence.term.end.isoformat()
    (job,) = jobs(work, row.job)
    data["sentences"] = _in_clients_language(folder, work, job, data)
    data["sentences"] += _to_keep(folder, work, job, licence.works)
    quote = by_number(work, job.quote_number, job.quote_revision)
    fee = Money(quote.document["gross"], quote.document["currency"]) if quote else None
    website = folder.studio.website
    return {
        "licence": data,
        "uid": f"urn:bizkit:licence:{licence.key}",
        "assigner": f"https://{website.removeprefix('https://')}"
        if website
        else f"urn:bizkit:studio:{_urn(folder.studio.name)}",
        "assignee": f"urn:bizkit:client:{_urn(row.client)}",
        "periods": licence.periods(),
        "targets": [f"urn:bizkit:work:{_urn(one)}" for one in sorted(licence.works)],
        "fee": fee,
    }


def _urn(text: str) -> str:
    if not text:
        raise BadInput(wanted="a name", got="nothing", field="urn")
    return url_quote(text, safe="/")


_LICENCES = (
    "licence", "job", "licensee", "state", "works", "media", "territory", "from", "until", "exclusivity", "sector",
    "granted_on", "paid_on", "ended_after", "ended_because", "granted_beyond_what_is_held_because",
    "not_held",
)  # fmt: skip


def _licence_cells(job: str, one: Licence, on: date, reason: str) -> list[str]:
    term, paid_on = one.term, one.paid_since(on)
    return [
        one.key, job, one.licensee, one.state(on), ", ".join(sorted(one.works)),
        ", ".join(sorted(one.request.media)), describe(one.request.territory.codes),
        term.start.isoformat() if term else "", "" if term is None or term.open else term.end.isoformat(),
        one.request.exclusivity, one.request.sector, one.granted_on.isoformat(),
        paid_on.isoformat() if paid_on else "", one.ended_after.isoformat() if one.ended_after else "",
        one.ended_because, reason,
    ]  # fmt: skip


_HOLDINGS = (
    "paper", "job", "kind", "about", "state", "signed_on", "signed_by", "guardian", "allows", "until", "only_for",
    "conditions", "client_conditions", "number", "form", "corrects", "corrected_by", "sha256", "holds_nothing",
)  # fmt: skip


def _holding_cells(row: HoldingRow) -> list[object]:
    counts = not (row["holds_nothing"] or row["corrected_by"])
    return [
        row["id"], row["job"], row["kind"], row["subject"], row["status"], row["signed_on"], row["signed_by"],
        row["guardian"], row["covers"] if counts else "", row["expires_on"] if counts else "",
        ", ".join(row["works"]), "; ".join(row["conditions"]),
        "; ".join(row["client_conditions"]),
        row["number"], row["form"], str(row["corrects"] or ""), str(row["corrected_by"] or ""), row["paper"],
        row["holds_nothing"],
    ]  # fmt: skip


class RightsExported(TypedDict):
    """The files that were written, of how many licences."""

    files: list[str]
    licences: int


class SidecarsWritten(TypedDict):
    """The files that were written and what they say."""

    files: list[str]
    model_release: str
    property_release: str
    minor_age: str
    licence: str
    look: list[str]
