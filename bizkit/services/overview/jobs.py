"""Jobs as a whole: what is done, owed, on file and missing, over all three ledgers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.money import Money, total
from bizkit.services.billing.invoices import invoice_rows, stage_rows
from bizkit.services.billing.job_money import agreed_of
from bizkit.services.delivery.deliverables import deliverable_rows
from bizkit.services.job.called_off import cancelled_on
from bizkit.services.job.jobs import days_by_date, the_job
from bizkit.services.rights.clearance import clearance_row
from bizkit.services.rights.holdings import holding_rows
from bizkit.services.rights.licences import granted, licence_row
from bizkit.services.rights.overrides import override_rows
from bizkit.services.rights.uses import licence_in_words
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.billing.invoices import InvoiceRow, StageRow
    from bizkit.services.delivery.deliverables import DeliverableRow
    from bizkit.services.rights.clearance import ClearanceState
    from bizkit.services.rights.holdings import HoldingRow
    from bizkit.services.rights.licences import LicenceRow
    from bizkit.services.rights.overrides import OverrideRow
    from bizkit.services.rights.uses import LicenceInWords


def list_jobs(folder: StudioFolder, on: date) -> list[JobRow]:
    """Every job with what is invoiced (net, credit notes taken off), owed and still to deliver.

    net: what the job comes to by now, as in its money: the quote and all changes.
    """
    from bizkit.store.jobs import jobs
    from bizkit.store.register import bills

    rows: list[JobRow] = []
    with folder.book.read_all() as work:
        for job in jobs(work):
            invoices = invoice_rows(folder, work, on, job.key)
            deliverables = deliverable_rows(folder, work, job.key, on)
            currency, gone = job.currency, cancelled_on(work, job.key)
            signs = ((one.net, 1 if one.kind == "invoice" else -1) for one in bills(work, job.key))
            invoiced = total((net * sign for net, sign in signs), currency)
            rows.append(
                {
                    "key": job.key,
                    "title": job.title,
                    "client": job.client,
                    "quote": job.quote_number,
                    "opened_on": job.opened_on,
                    "closed_on": job.closed_on,
                    "currency": currency,
                    "net": agreed_of(work, job).text,
                    "cancelled_on": gone,
                    "invoiced": invoiced.text,
                    "owed": _sum(invoices, "balance", currency).text,
                    "approved": sum(1 for one in deliverables if one["state"] == "approved"),
                    "deliverables": len(deliverables),
                    "late": sum(1 for one in deliverables if one["days_late"]),
                }
            )
    return rows


def show_job(folder: StudioFolder, key: str, on: date) -> JobShown:
    """One job whole: days, deliverables, stages, invoices, licence, papers on file, and what is missing."""
    from bizkit.store.events import history
    from bizkit.store.issued import quote_by_number

    with folder.book.read() as work:
        job = the_job(work, key)
        key = job.key
        quote = quote_by_number(work, job.quote_number, job.quote_revision)
        assert quote is not None  # a job is opened from an issued quote, and issued quotes never go
        days = days_by_date(work, key)
        holdings = holding_rows(work, key)
        clearance = clearance_row(folder, work, job, on)
        grants = granted(work, job=key)
        return {
            "key": key,
            "title": job.title,
            "client": quote.document["client"]["name"],
            "quote": {"number": job.quote_number, "revision": job.quote_revision},
            "opened_on": job.opened_on,
            "closed_on": job.closed_on,
            "currency": job.currency,
            "net": Money.from_minor(job.net_minor, job.currency).text,
            "days": [
                {"date": day.on, "kind": day.kind, "place": day.place, "note": day.data.get("note", "")}
                for day in days
            ],
            "deliverables": deliverable_rows(folder, work, key, on),
            "stages": stage_rows(folder, work, key, on),
            "invoices": invoice_rows(folder, work, on, key),
            "licence": job.licence,
            "holdings": holdings,
            "licence_in_words": licence_in_words(folder, work, job, grants, on),
            "grants": [licence_row(licence, on) for licence in grants],
            "overrides": override_rows(work, key),
            "clearance": {
                "licence": clearance["licence"],
                "state": clearance["state"],
                "cleared": clearance["cleared"],
            },
            "missing": clearance["missing"],
            "history": [
                {"at": one.at, "by": one.by, "did": one.verb, "data": one.data} for one in history(work, key)
            ],
        }


def _sum(rows: Sequence[Mapping[str, Any]], member: str, currency: str) -> Money:
    return total((Money(row[member], currency) for row in rows), currency)


class JobRow(TypedDict):
    """A job in a list: its money, its work, its rights."""

    key: str
    title: str
    client: str
    quote: str
    opened_on: str
    closed_on: str
    currency: str
    net: str
    cancelled_on: str
    invoiced: str
    owed: str
    approved: int
    deliverables: int
    late: int


class JobShown(TypedDict):
    """One job whole. licence: what the quote promised, licence_in_words: as it stands; clearance: where it stands."""

    key: str
    title: str
    client: str
    quote: QuoteOfJob
    opened_on: str
    closed_on: str
    currency: str
    net: str
    days: list[DayOfJob]
    deliverables: list[DeliverableRow]
    stages: list[StageRow]
    invoices: list[InvoiceRow]
    licence: dict[str, Any] | None
    licence_in_words: LicenceInWords
    holdings: list[HoldingRow]
    grants: list[LicenceRow]
    overrides: list[OverrideRow]
    clearance: Cleared
    missing: list[str]
    history: list[Event]


class QuoteOfJob(TypedDict):
    """The quote that opened a job."""

    number: str
    revision: int


class DayOfJob(TypedDict):
    """A day of a job; date: empty where it has none yet."""

    date: str
    kind: str
    place: str
    note: str


class Cleared(TypedDict):
    """Where a licence stands; licence: its number, empty where none is granted."""

    licence: str
    state: ClearanceState
    cleared: bool


class Event(TypedDict):
    """Something that was recorded of a job."""

    at: str
    by: str
    did: str
    data: dict[str, Any]
