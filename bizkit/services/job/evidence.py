"""Evidence that a client abroad is a business: noted, and its copy filed, so that no tax may be charged."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput
from bizkit.domain.parties import Client
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection


def add_evidence(
    folder: StudioFolder, client: str, what: str, on: date, *, scan: Path | None = None
) -> EvidenceNoted:
    """Note what shows that a client is a business, seen on a day; its copy is filed under its SHA-256."""
    from bizkit.services.job.job_client import client_key
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.evidence import add_evidence as write_evidence

    if not what.strip():
        raise BadInput(wanted="what shows that it is a business", got="nothing", field="--what")
    key = client_key(folder, client, field="CLIENT")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        filed = file_scan(work, stamp, folder, scan, kind="evidence", about=f"client {key}") if scan else None
        id_ = write_evidence(work, stamp, client=key, what=what.strip(), paper=filed["sha256"] if filed else "")
        record(work, stamp, "noted evidence", key, evidence=id_, what=what.strip())
    return {
        "id": id_,
        "client": key,
        "on": on.isoformat(),
        "what": what.strip(),
        "paper": filed["sha256"] if filed else "",
        "file": filed["file"] if filed else "",
    }


def proven(folder: StudioFolder, client: Client) -> Client:
    """The client with the evidence in the book that it is a business; the book is read only where it is needed."""
    needed = client.business and client.country != folder.studio.country and not client.tax_number
    if not needed or client.business_evidence:
        return client
    with folder.book.read() as work:
        return with_evidence(work, client)


def with_evidence(work: Connection, client: Client) -> Client:
    """The same inside a transaction."""
    from bizkit.store.evidence import newest_evidence

    found = None if client.business_evidence else newest_evidence(work, client.key)
    return replace(client, business_evidence=f"{found.what} ({found.on})") if found else client


def list_evidence(folder: StudioFolder, client: str | None = None) -> list[EvidenceRow]:
    """Every piece of evidence, of one client or all."""
    from bizkit.services.job.job_client import client_key
    from bizkit.store.evidence import all_evidence

    key = client_key(folder, client, field="CLIENT") if client else None
    with folder.book.read() as work:
        return [
            {"id": row.id, "client": row.client, "on": row.on, "what": row.what, "paper": row.paper}
            for row in all_evidence(work, key)
        ]


class EvidenceRow(TypedDict):
    """A piece of evidence that a client is a business."""

    id: int
    client: str
    on: str
    what: str
    paper: str


class EvidenceNoted(TypedDict):
    """What shows that a client is a business. paper: SHA-256 of its copy; file: where it is filed."""

    id: int
    client: str
    on: str
    what: str
    paper: str
    file: str
