"""The client of a job: as its quote froze it, until somebody takes the client's file as it stands into the job.

Whoever bills, writes to or names the client of accepted work asks here, so that a file changed for the next quote
changes nothing about what was agreed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.parties import Client
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.base import Client as PrintedClient
    from bizkit.store.jobs import Job

Row = Mapping[str, Any]

#: What the quote agreed with the client, whatever the client's file says by now.
AGREED: Final = ("currency", "payment_days", "payment_counted_in")

#: The event that keeps a client's file as it was taken into a job.
TAKEN = "took client"


def client_of_job(folder: StudioFolder, work: Connection, job: Job) -> Client:
    """The client of a job, given its row: as taken into it last, else as its quote has it.

    A quote from a time when the client's terms were not frozen leaves today's file: raises NotFound or BadInput where
    that is gone or broken.
    """
    return _record(work, job)[1] or folder.client(job.client)


def printed_client(work: Connection, job: Job) -> PrintedClient:
    """The `client` member of a paper about a job."""
    from bizkit.store.issued import quote_by_number

    client = _record(work, job)[1]
    if client:
        return client.data()
    quote = quote_by_number(work, job.quote_number, job.quote_revision)
    assert quote is not None  # a job is opened from an issued quote, and issued quotes never go
    return quote.document["client"]


def client_of_paper(folder: StudioFolder, work: Connection, document: Row) -> Client:
    """Whom a paper goes to, given its document: the client of its job, of a letter without one as on record."""
    from bizkit.store.jobs import jobs

    job = jobs(work, document["job"]) if document.get("job") else []
    key = document["client"]["key"]
    return client_of_job(folder, work, job[0]) if job else client_on_record(folder, work, key)


def client_on_record(folder: StudioFolder, work: Connection, key: str) -> Client:
    """A client by its key, as the newest of its jobs has it, else as its file. Raises NotFound, BadInput."""
    from bizkit.store.jobs import jobs

    known = [_record(work, job) for job in jobs(work) if job.client == key]
    _, client = max(known, key=lambda one: one[0], default=(("", 0), None))
    return client or folder.client(key)


def client_key(folder: StudioFolder, key: str, *, field: str) -> str:
    """The key, where a client's file or a job has it; neither is read. Raises NotFound."""
    from bizkit.store.jobs import jobs

    files = {path.stem for path in (folder.path / "clients").glob("*.toml")}
    if key not in files:
        with folder.book.read() as work:
            known = files | {job.client for job in jobs(work)}
        if key not in known:
            hint = "" if known else f"Write clients/{key}.toml first"
            raise NotFound("client", key, sorted(known), field=field, hint=hint)
    return key


def _record(work: Connection, job: Job) -> tuple[tuple[str, int], Client | None]:
    """When the client of a job was written down last (the day, then the order), and how; None where only its file
    says it."""
    from bizkit.services.job.jobs import said_in_quote
    from bizkit.store.events import newest

    taken, begun_anew = newest(work, TAKEN, job.key), newest(work, "reopened", job.key)
    if taken and (begun_anew is None or begun_anew.id < taken.id):
        return (taken.data["on"], taken.id), Client.of_record(taken.data["client"])
    record = said_in_quote(work, job, "client_record")
    return (job.opened_on, 0), Client.of_record(record) if record else None


def _of_job(work: Connection, job: Job) -> list[str]:
    """What of its client's record was said of this job alone, in its brief or later: no file takes it away."""
    from bizkit.services.job.jobs import said_in_quote
    from bizkit.store.events import newest

    taken, begun_anew = newest(work, TAKEN, job.key), newest(work, "reopened", job.key)
    if taken and (begun_anew is None or begun_anew.id < taken.id):
        return list(taken.data.get("of_job", []))
    return list(said_in_quote(work, job, "of_job") or [])


def say_order(
    folder: StudioFolder, job: str, on: date, *, order: str = "", reference: str = "", reason: str = ""
) -> OrderSaid:
    """The order number and the reference that the client wants on the invoices of one job, in place of its file's.

    Papers already issued stay as they are. Raises BadInput where neither is said, or for a Leitweg-ID whose check
    digits are wrong; NotFound for no such job.
    """
    from bizkit.exchange.identifiers import check_buyer_reference
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record

    stamp = folder.stamp(on)
    said = {"purchase_order": order.strip(), "buyer_reference": reference.strip()}
    said = {name: text for name, text in said.items() if text}
    if not said:
        raise BadInput(wanted="the client's order number, or its reference", got="nothing", field="ORDER")
    with folder.book.work() as work:
        row = the_job(work, job)
        before = client_of_job(folder, work, row)
        if reference.strip():
            check_buyer_reference(before.country, reference.strip(), field="--reference")
        after = Client.of_record({**before.record(), **said})
        record(
            work, stamp, TAKEN, row.key, on=on.isoformat(), client=after.record(), changed=list(said),
            reason=reason.strip(), of_job=sorted({*_of_job(work, row), *said}),
        )  # fmt: skip
    return {
        "job": row.key,
        "client": row.client,
        "purchase_order": after.purchase_order,
        "buyer_reference": after.buyer_reference,
    }


def take_client(folder: StudioFolder, job: str, on: date, *, reason: str = "", preview: bool = False) -> ClientTaken:
    """Take the client's file as it stands today into a job: a move, another address, tax number or order number.

    What was agreed stays: currency and days to pay. What changes comes back field by field; where nothing does,
    nothing is recorded, but on a job whose quote did not
    freeze the file: there it is held against what the quote printed, and taken in for good. preview: only say it.
    Raises NotFound, BadInput for a file that cannot be read.
    """
    from bizkit.domain.quote import as_agreed
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record

    stamp = folder.draft_stamp(on) if preview else folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        client = as_agreed(folder.client(row.client), folder.studio)
        old = _record(work, row)[1]
        if old:
            kept = (*AGREED, *_of_job(work, row))
            client = replace(client, **{name: getattr(as_agreed(old, folder.studio), name) for name in kept})
        before: Mapping[str, Any] = as_agreed(old, folder.studio).record() if old else printed_client(work, row)
        after: Mapping[str, Any] = client.record() if old else client.data()
        changes: list[FieldChange] = [
            {"field": name, "before": _text(before.get(name)), "after": _text(after[name])}
            for name in after
            if after[name] != before.get(name, "")
        ]
        taken = bool(changes or old is None)
        if taken and not preview:
            record(
                work, stamp, TAKEN, row.key, on=on.isoformat(), client=client.record(),
                changed=[one["field"] for one in changes], reason=reason.strip(), of_job=_of_job(work, row),
            )  # fmt: skip
    return {
        "job": row.key,
        "client": row.client,
        "changes": changes,
        "taken": taken,
        "reason": reason.strip(),
        "preview": preview,
    }


def _text(value: Any) -> str:
    """A member of a client's record as one line."""
    if isinstance(value, list):
        return ", ".join(value)
    return {True: "yes", False: "no", None: ""}.get(value, str(value)) if not isinstance(value, str) else value


class OrderSaid(TypedDict):
    """The order number and the reference that stand on invoices of the job from now on."""

    job: str
    client: str
    purchase_order: str
    buyer_reference: str


class ClientTaken(TypedDict):
    """What taking a client's file into a job changed, field by field. taken: whether anything was recorded."""

    job: str
    client: str
    changes: list[FieldChange]
    taken: bool
    reason: str
    preview: bool


class FieldChange(TypedDict):
    """One field of a client, in words."""

    field: str
    before: str
    after: str
