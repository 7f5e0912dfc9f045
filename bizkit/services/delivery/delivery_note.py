"""The delivery note as a document: files, specs, the licence in plain words, credits, limits that people have set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.dates import add_working_days
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.services.delivery.note_files import Wording, file_rows
from bizkit.services.delivery.parcels import Parcel
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.work import Restriction
    from bizkit.services.rights.holdings import HoldingRow
    from bizkit.store.jobs import Job

#: Working days in which the client says what is missing or broken (common practice).
REPLY_DAYS = 10


def note_document(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    parcels: Sequence[Parcel],
    digests: Mapping[str, str],
    sizes: Mapping[str, int],
    on: date,
    *,
    how: str,
    manifest: str,
) -> Mapping[str, object]:
    """The delivery note for the files whose `digests` (SHA-256) and `sizes` these are, by name; without its number.

    The licence stands on it as it is on the day of the note: from the day it came to, without what is fulfilled.

    Names that the fonts cannot draw stand in it as escapes: the list of checksums has every name as it is.
    """
    from bizkit.papers.fonts import escaped
    from bizkit.services.delivery.archive import kept_until
    from bizkit.services.job.job_client import client_of_job
    from bizkit.services.rights.conditions import conditions_of
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.rights.licences import licence_of_job
    from bizkit.services.rights.works import licensed_works
    from bizkit.services.studio.logo import keep_logo

    client = client_of_job(folder, work, job)
    studio = folder.studio
    locale = client.locale or studio.locale
    language = client.language or studio.language
    wording = Wording(locale, language, lambda name: escaped(name, folder.own_templates))
    stands = licence_of_job(folder, work, job, on)
    licence = (job.licence or {}) if stands and stands.state(on) != "cancelled" else {}
    if licence and stands and stands.as_it_stands(on) != stands.request:
        works = licensed_works(work, job)
        titles = [one.title for one in works if one.kind != "clip"]
        licence = licence | stands.as_it_stands(on).data(stands.licensee, titles, studio.media)
        licence |= {"work_titles": [one.title for one in works]}
    made = dict.fromkeys([job.key, *(parcel.deliverable.job for parcel in parcels)])
    papers = [row for key in made for row in holding_rows(work, key) if row["status"] == "signed"]
    return {
        "kind": "delivery_note",
        "language": language,
        "locale": locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(on, logo_sha256=keep_logo(folder)),
        "client": client.data(),
        "job": job.key,
        "title": job.title,
        "purchase_order": client.purchase_order,
        "buyer_reference": client.buyer_reference,
        "how": how,
        "manifest": manifest,
        "kept_until": kept_until(work, job.key),
        "reply_by": add_working_days(on, REPLY_DAYS, folder.day_off).isoformat(),
        "files": file_rows(work, parcels, digests, sizes, wording),
        "count": len(digests),
        "licence": licence or None,
        "licence_sentences": list(licence.get("sentences", [])),
        "client_conditions": conditions_of(
            folder, work, [f"{parcel.deliverable.job}/{parcel.deliverable.key}" for parcel in parcels]
        ).passed_on,
        "restrictions": _limits(papers),
        "credits": [*([credit] if (credit := licence.get("credit")) else []), *_tunes(papers)],
    }


def _limits(papers: Sequence[HoldingRow]) -> list[Restriction]:
    """Places, tunes and things whose papers end, each with the last day; people are nobody else's business."""
    last: dict[str, str] = {}
    for row in papers:
        if row["expires_on"] and row["kind"] not in PERSON_KINDS:
            last[row["subject"]] = max(row["expires_on"], last.get(row["subject"], ""))
    return [{"who": subject, "what": "", "until": day} for subject, day in last.items()]


def _tunes(papers: Sequence[HoldingRow]) -> list[str]:
    """The music on file, each with who gave it."""
    tunes = [f"{row['subject']}: {row['signed_by']}" for row in papers if row["kind"] in ("composition", "recording")]
    return list(dict.fromkeys(tunes))
