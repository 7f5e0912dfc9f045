"""Papers to be signed: releases and permissions filled in as far as the book knows, the rest left blank."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from bizkit.services.filing import paper_pdf, write_whole
from bizkit.services.logo import keep_logo
from bizkit.services.studio_folder import StudioFolder


def form_document(
    folder: StudioFolder, kind: str, job: str, *, subject: str = "", guardian: str = "", minor: bool = False
) -> dict[str, Any]:
    """The document of a release or permission for a job. subject: the person or place it is about."""
    from bizkit.services.jobs import SHOOTS, the_job
    from bizkit.store.issued import by_number
    from bizkit.store.jobs import shoot_days

    with folder.book.read() as work:
        row = the_job(work, job)
        days = [day for day in shoot_days(work, row["key"]) if day["kind"] in SHOOTS]
        quote = by_number(work, row["quote_number"], row["quote_revision"])
    asked = quote.document if quote else {}
    client = asked.get("client") or folder.client(row["client"]).data()
    if kind == "location_permission" and subject:
        days = [day for day in days if day["place"] == subject] or days
    licence = row["licence"]
    document: dict[str, Any] = {
        "kind": kind,
        "number": "",
        "language": folder.studio.language,
        "locale": folder.studio.locale,
        "paper_size": folder.studio.paper_size,
        "studio": folder.studio.data(logo_sha256=keep_logo(folder)),
        "client": client,
        "title": row["title"],
        "currency": row["currency"],
        "shoot": {
            "days": list(dict.fromkeys(day["on"] for day in days if day["on"])),
            "places": list(dict.fromkeys(day["place"] for day in days if day["place"])),
            "what": asked.get("summary", ""),
        },
        "scope": scope_asked(licence),
        "conditions": [],
        "water": "",
    }
    if kind == "location_permission":
        document["place"] = {"name": subject, "address": []}
        document["holder"] = {"name": "", "address": []}
    else:
        document["person"] = {"name": subject, "address": []}
        document["minor"] = minor or bool(guardian)
        document["guardian"] = {"name": guardian, "address": []} if document["minor"] else None
    return document


def write_form(
    folder: StudioFolder,
    kind: str,
    job: str,
    *,
    subject: str = "",
    guardian: str = "",
    minor: bool = False,
    out: Path | None = None,
) -> dict[str, Any]:
    """Write the paper as a PDF to print or to fill on screen. Raises NotFound for an unknown job."""
    document = form_document(folder, kind, job, subject=subject, guardian=guardian, minor=minor)
    name = re.sub(r"[^\w.-]+", "-", f"{kind.replace('_', '-')}-{subject or 'blank'}", flags=re.UNICODE).strip("-")
    path = out or folder.path / "forms" / f"{name.lower()}.pdf"
    write_whole(path, paper_pdf(folder, document))
    return {"file": str(path), "kind": kind, "subject": subject}


def scope_asked(licence: dict[str, Any] | None) -> dict[str, Any]:
    """The widest ask that covers the client's licence: its media and places, without an end.

    A release that ends with the licence would end too early for a renewal, so the form asks for an open end.
    """
    if not licence:
        return {}
    return {"media": licence["media"], "territory": licence["territory"], "starts": "", "ends": "", "months": None}
