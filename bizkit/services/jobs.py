"""Jobs: opened by an accepted quote, looked at as one."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import NotFound
from bizkit.domain.money import Money
from bizkit.services.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import Issued

#: Kinds of day on which a camera runs.
SHOOTS = ("water", "dry")


def open_job_from(work: Connection, quote: Issued, on: date) -> str:
    """Open the job of an accepted quote, in the caller's transaction: days, deliverables, stages, licence."""
    from bizkit.store.deliveries import add_deliverable
    from bizkit.store.jobs import open_job

    document = quote.document
    currency = document["currency"]
    days = [
        {"on": each, "kind": day["kind"], "place": day["place"], "data": {"note": day["note"]}}
        for day in document["days"]
        for each in _each_date(day)
    ]
    stages = [
        {
            "title": stage["title"],
            "percent": stage["percent"],
            "due_when": stage["when"],
            "net_minor": Money(stage["net"], currency).minor,
            "invoice": "",
        }
        for stage in document["stages"]
    ]
    open_job(
        work,
        {
            "key": quote.key,
            "title": document["title"],
            "client": document["client"]["key"],
            "quote_number": quote.number,
            "quote_revision": quote.revision,
            "opened_on": on.isoformat(),
            "closed_on": "",
            "currency": currency,
            "net_minor": Money(document["net"], currency).minor,
            "licence": document["licence"],
        },
        days=days,
        stages=stages,
    )
    for position, one in enumerate(document["deliverables"], start=1):
        add_deliverable(
            work,
            {
                "job": quote.key,
                "key": one["key"],
                "position": position,
                "title": one["title"],
                "kind": one["kind"],
                "quantity": one["quantity"],
                "spec": one["spec"],
                "rounds": one["rounds"],
                "due_days": one["due_days"],
                "due_on": one["due_on"],
                "approved_on": "",
                "data": {},
            },
        )
    return quote.key


def the_job(work: Connection, key: str) -> dict[str, Any]:
    """The row of one job, also found by its quote's number. Raises NotFound."""
    from bizkit.store.jobs import jobs

    everyone = jobs(work)
    for row in everyone:
        if key in (row["key"], row["quote_number"]):
            return row
    raise NotFound("job", key, [row["key"] for row in everyone], hint="" if everyone else "Accept a quote first")


def last_shoot_day(days: list[dict[str, Any]]) -> date | None:
    """The last day on which a camera runs; None while any of them is without a date."""
    shoots = [day["on"] for day in days if day["kind"] in SHOOTS]
    if not shoots or "" in shoots:
        return None
    return date.fromisoformat(max(shoots))


def first_shoot_day(days: list[dict[str, Any]]) -> date | None:
    """The first dated day on which a camera runs, or None."""
    shoots = [day["on"] for day in days if day["kind"] in SHOOTS and day["on"]]
    return date.fromisoformat(min(shoots)) if shoots else None


def list_jobs(folder: StudioFolder, on: date) -> list[dict[str, Any]]:
    """Every job with what is invoiced, paid and still to deliver."""
    from bizkit.services.deliverables import deliverable_rows
    from bizkit.services.invoices import invoice_rows
    from bizkit.store.jobs import jobs

    rows = []
    with folder.book.read() as work:
        for job in jobs(work):
            invoices = invoice_rows(folder, work, on, job["key"])
            deliverables = deliverable_rows(folder, work, job["key"], on)
            currency = job["currency"]
            rows.append(
                {
                    "key": job["key"],
                    "title": job["title"],
                    "client": job["client"],
                    "quote": job["quote_number"],
                    "opened_on": job["opened_on"],
                    "closed_on": job["closed_on"],
                    "currency": currency,
                    "net": Money.from_minor(job["net_minor"], currency).text,
                    "invoiced": _sum(invoices, "net", currency),
                    "owed": _sum(invoices, "balance", currency),
                    "approved": sum(1 for one in deliverables if one["state"] == "approved"),
                    "deliverables": len(deliverables),
                    "late": sum(1 for one in deliverables if one["days_late"]),
                }
            )
    return rows


def show_job(folder: StudioFolder, key: str, on: date) -> dict[str, Any]:
    """One job whole: days, deliverables, stages, invoices, licence, papers on file, and what is missing."""
    from bizkit.services.deliverables import deliverable_rows
    from bizkit.services.holdings import holding_rows, missing_papers
    from bizkit.services.invoices import invoice_rows, stage_rows
    from bizkit.store.events import history
    from bizkit.store.issued import by_number
    from bizkit.store.jobs import shoot_days

    with folder.book.read() as work:
        job = the_job(work, key)
        key = job["key"]
        quote = by_number(work, job["quote_number"], job["quote_revision"])
        assert quote is not None  # a job is opened from an issued quote, and issued quotes never go
        days = shoot_days(work, key)
        holdings = holding_rows(work, key)
        return {
            "key": key,
            "title": job["title"],
            "client": quote.document["client"]["name"],
            "quote": {"number": job["quote_number"], "revision": job["quote_revision"]},
            "opened_on": job["opened_on"],
            "closed_on": job["closed_on"],
            "currency": job["currency"],
            "net": Money.from_minor(job["net_minor"], job["currency"]).text,
            "days": [
                {"date": day["on"], "kind": day["kind"], "place": day["place"], "note": day["data"].get("note", "")}
                for day in days
            ],
            "deliverables": deliverable_rows(folder, work, key, on),
            "stages": stage_rows(folder, work, key, on),
            "invoices": invoice_rows(folder, work, on, key),
            "licence": job["licence"],
            "holdings": holdings,
            "missing": missing_papers(job, days, holdings),
            "history": [
                {"at": one["at"], "by": one["by"], "did": one["verb"], "data": one["data"]}
                for one in history(work, key)
            ],
        }


def _each_date(day: dict[str, Any]) -> list[str]:
    if not day["date"]:
        return [""] * int(day["count"])
    first = date.fromisoformat(day["date"])
    return [(first + timedelta(days=number)).isoformat() for number in range(int(day["count"]))]


def _sum(rows: list[dict[str, Any]], member: str, currency: str) -> str:
    whole = Money(0, currency)
    for row in rows:
        whole = whole + Money(row[member], currency)
    return whole.text
