"""The delivery note as a document: files, specs, the licence in plain words, credits, limits that people have set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.dates import add_working_days
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.domain.work.judge import seconds
from bizkit.services.delivery.parcels import Parcel
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

Row = dict[str, Any]

#: Working days in which the client says what is missing or broken (common practice).
REPLY_DAYS = 10
#: Sizes as drives are sold: SI prefixes.
UNITS = ((10**12, "TB"), (10**9, "GB"), (10**6, "MB"), (10**3, "kB"))


def note_document(
    folder: StudioFolder,
    work: Connection,
    job: Row,
    parcels: Sequence[Parcel],
    found: Mapping[str, str],
    target: Path,
    on: date,
    *,
    how: str,
    manifest: str,
) -> Row:
    """The delivery note for the files `found` (name -> SHA-256) in `target`, without its number."""
    from bizkit.services.delivery.archive import kept_until
    from bizkit.services.rights.conditions import conditions_of
    from bizkit.services.rights.holdings import holding_rows
    from bizkit.services.shooting.job_client import client_of_job
    from bizkit.services.studio.logo import keep_logo

    client = client_of_job(folder, work, job)
    studio = folder.studio
    locale = client.locale or studio.locale
    language = client.language or studio.language
    licence = job["licence"] or {}
    papers = [row for row in holding_rows(work, job["key"]) if row["status"] == "signed"]
    return {
        "kind": "delivery_note",
        "language": language,
        "locale": locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(on, logo_sha256=keep_logo(folder)),
        "client": client.data(),
        "job": job["key"],
        "title": job["title"],
        "how": how,
        "manifest": manifest,
        "kept_until": kept_until(work, job["key"]),
        "reply_by": add_working_days(on, REPLY_DAYS, folder.day_off).isoformat(),
        "files": _file_rows(work, parcels, found, target, locale, language),
        "licence": job["licence"],
        "licence_sentences": list(licence.get("sentences", [])),
        "client_conditions": conditions_of(
            work, [f"{job['key']}/{parcel.deliverable['key']}" for parcel in parcels]
        ).passed_on,
        "restrictions": _limits(papers),
        "credits": [licence.get("credit") or studio.name, *_tunes(papers)],
    }


def size_text(size_bytes: int, locale: str = "en", language: str = "en") -> str:
    """A size in the largest unit that gives one or more: `4.2 GB`, `1.5 kB`, `512 B`."""
    from bizkit.papers.locale import Drawn

    for unit, name in UNITS:
        if size_bytes >= unit:
            value = Decimal(size_bytes) / unit
            return f"{Drawn(locale, language).number(plain(round_half_away(value, 0 if value >= 100 else 1)))} {name}"
    return f"{size_bytes} B"


def _file_rows(
    work: Connection, parcels: Sequence[Parcel], found: Mapping[str, str], target: Path, locale: str, language: str
) -> list[Row]:
    from bizkit.store.reviews import checks

    def size(names: Sequence[str]) -> str:
        return size_text(sum((target / name).stat().st_size for name in names), locale, language)

    rows: list[Row] = []
    for parcel in parcels:
        one, version = parcel.deliverable, parcel.version
        is_set = bool(version["data"].get("files"))
        looks = checks(work, sha256=version["sha256"])
        length = Fraction(looks[-1]["facts"].get("duration_s", 0)) if looks else Fraction(0)
        rows.append(
            {
                "title": f"{one['title']} ({len(parcel.files)})" if is_set else one["title"],
                "version": f"v{version['number']}",
                "spec": one["spec"],
                "duration": seconds(length) if length else "",
                "name": _common(parcel.files) if is_set else parcel.files[0],
                "size": size(parcel.files),
                "sha256": "" if is_set else version["sha256"],
            }
        )
    known = {name for parcel in parcels for name in parcel.files}
    for name, digest in found.items():
        if name not in known:
            kind = Path(name).suffix.lstrip(".").upper() or "-"
            rows.append({"title": kind, "version": "", "name": name, "size": size([name]), "sha256": digest})
    return rows


def _common(names: Sequence[str]) -> str:
    """The folder that holds all of `names`, with a slash; the first name where they lie in none."""
    folders = {name.rpartition("/")[0] for name in names}
    inside = folders.pop() if len(folders) == 1 else ""
    return f"{inside}/" if inside else f"{names[0]} …" if len(names) > 1 else names[0]


def _limits(papers: Sequence[Row]) -> list[Row]:
    """Places, tunes and things whose papers end, each with the last day; people are nobody else's business."""
    last: dict[str, str] = {}
    for row in papers:
        if row["expires_on"] and row["kind"] not in PERSON_KINDS:
            last[row["subject"]] = max(row["expires_on"], last.get(row["subject"], ""))
    return [{"who": subject, "what": "", "until": day} for subject, day in last.items()]


def _tunes(papers: Sequence[Row]) -> list[str]:
    """The music on file, each with who gave it."""
    tunes = [f"{row['subject']}: {row['signed_by']}" for row in papers if row["kind"] in ("composition", "recording")]
    return list(dict.fromkeys(tunes))
