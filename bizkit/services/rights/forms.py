"""Papers to be signed or carried: filled in as far as the book and a file of details know, the rest left blank."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

from bizkit.domain.errors import NotFound
from bizkit.services.studio.filing import hand_out, paper_pdf
from bizkit.services.studio.logo import keep_logo
from bizkit.services.studio.studio_folder import StudioFolder


def form_document(
    folder: StudioFolder,
    kind: str,
    job: str,
    *,
    subject: str = "",
    guardian: str = "",
    minor: bool = False,
    day: date | None = None,
    details: Path | None = None,
    language: str = "",
    on: date | None = None,
) -> dict[str, Any]:
    """The document of a paper for a job.

    subject: the person, place or thing it is about. day: the shoot day, where it is about one. details: a TOML file
    with what the book does not know. language: of the wording, the studio's own without. on: the day it is drawn up.
    """
    from bizkit.services.rights.details import merged, read_details
    from bizkit.services.rights.form_kinds import FORMS, Asked
    from bizkit.services.shooting.job_client import printed_client
    from bizkit.services.shooting.jobs import the_job
    from bizkit.store.issued import by_number

    if kind not in FORMS:
        raise NotFound("kind of paper", kind, FORMS, field="KIND")
    typed = read_details(kind, details) if details else {}
    with folder.book.read() as work:
        row = the_job(work, job)
        quote = by_number(work, row["quote_number"], row["quote_revision"])
        asked = quote.document if quote else {}
        known = FORMS[kind](Asked(folder, work, row, asked, subject, guardian, minor, day))
        client = printed_client(work, row)
    document: dict[str, Any] = {
        "kind": kind,
        "number": "",
        "language": language or folder.studio.language,
        "locale": folder.studio.locale if language in ("", folder.studio.language) else language,
        "paper_size": folder.studio.paper_size,
        "studio": folder.studio.data(on or date.fromisoformat(row["opened_on"]), logo_sha256=keep_logo(folder)),
        "client": client,
        "job": row["key"],
        "title": row["title"],
        "currency": row["currency"],
        **({"issued_on": on.isoformat()} if on else {}),
        **known,
    }
    return merged(document, typed)


def write_form(
    folder: StudioFolder,
    kind: str,
    job: str,
    *,
    subject: str = "",
    guardian: str = "",
    minor: bool = False,
    day: date | None = None,
    details: Path | None = None,
    language: str = "",
    on: date | None = None,
    out: Path | None = None,
) -> dict[str, Any]:
    """Write the paper as a PDF to print or to fill on screen. Raises NotFound for an unknown job or kind."""
    from bizkit.services.rights.form_checks import check_form

    document = form_document(
        folder, kind, job, subject=subject, guardian=guardian, minor=minor, day=day, details=details,
        language=language, on=on,
    )  # fmt: skip
    warnings = check_form(document, details.name if details else kind.replace("_", " "))
    path = out or folder.path / "forms" / form_name(kind, subject or _which(document))
    hand_out(path, paper_pdf(folder, document))
    return {"file": str(path), "kind": kind, "subject": subject, "warnings": warnings}


def form_name(kind: str, about: str) -> str:
    """The file name of a form: `model-release-finn-sinclair.pdf`."""
    name = "-".join(part for part in (kind.replace("_", "-"), about) if part)
    return re.sub(r"[^\w.-]+", "-", name, flags=re.UNICODE).strip("-").lower() + ".pdf"


def _which(document: dict[str, Any]) -> str:
    """What tells two papers of one kind apart where no subject does."""
    return str(document.get("day") or document.get("flight", {}).get("date") or "blank")
