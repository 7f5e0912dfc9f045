"""Jobs: opened by an accepted quote, found by their key, with their shoot days."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.money import Money

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.sales import Day
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.jobs import Job, JobDay

#: Kinds of day on which a camera runs.
SHOOTS = ("water", "dry")


def open_job_from(work: Connection, quote: IssuedQuote, on: date) -> str:
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
            "crew": list(
                dict.fromkeys(
                    one["person"]
                    for day in brief_days(work, quote.number, quote.revision)
                    for one in day.get("crew", ())
                    if one.get("person")
                )
            ),
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
                "data": {"asks": one.get("asks"), "cut_of": one.get("cut_of", ""), "cut": one.get("cut", "")},
            },
        )
    return quote.key


def brief_days(work: Connection, number: str, revision: int) -> list[dict[str, Any]]:
    """The days of the brief that a quote was priced from, as written; none when it was not kept."""
    import tomllib

    from bizkit.store.basis import basis_of

    basis = basis_of(work, number, revision)
    if basis is None:
        return []
    tree = tomllib.loads(basis.brief)
    days = list(tree.get("days", ()))
    for option in basis.options:
        days += tree.get("options", {}).get(option, {}).get("days", ())
    return days


def the_job(work: Connection, key: str) -> Job:
    """The row of one job, also found by its quote's number. Raises NotFound."""
    from bizkit.store.jobs import job_keys, job_named

    found = job_named(work, key)
    if found is None:
        known = job_keys(work)
        raise NotFound("job", key, known, hint="" if known else "Accept a quote first")
    return found


def by_date(on: str, position: int) -> tuple[str, int]:
    """What sorts the days of a job for a reader: by date, those of one date as in the brief, open ones last.

    >>> sorted([("", 1), ("2027-06-12", 2), ("2027-06-10", 3)], key=lambda day: by_date(*day))
    [('2027-06-10', 3), ('2027-06-12', 2), ('', 1)]
    """
    return (on or "9999-99-99", position)


def days_by_date(work: Connection, key: str) -> list[JobDay]:
    """The days of a job in the order of their dates; `shoot_days` has them in the order of the brief."""
    from bizkit.store.jobs import shoot_days

    return sorted(shoot_days(work, key), key=lambda day: by_date(day.on, day.position))


def last_shoot_day(days: list[JobDay]) -> date | None:
    """The last day on which a camera runs; None while any of them is without a date."""
    shoots = [day.on for day in days if day.kind in SHOOTS]
    if not shoots or "" in shoots:
        return None
    return date.fromisoformat(max(shoots))


def first_shoot_day(days: list[JobDay]) -> date | None:
    """The first dated day on which a camera runs, or None."""
    shoots = [day.on for day in days if day.kind in SHOOTS and day.on]
    return date.fromisoformat(min(shoots)) if shoots else None


def _each_date(day: Day) -> list[str]:
    if not day["date"]:
        return [""] * int(day["count"])
    first = date.fromisoformat(day["date"])
    return [(first + timedelta(days=number)).isoformat() for number in range(int(day["count"]))]


def said_in_quote(work: Connection, job: Job, name: str) -> Any:
    """One member of the accepted quote of a job, None where it has none; the rest of the quote is not read."""
    from bizkit.store.issued import members_of

    return (members_of(work, job.quote_number, job.quote_revision, name) or {}).get(name)


def quote_of(work: Connection, job: Job) -> IssuedQuote:
    """The accepted quote of a job. Raises RuleBroken when it is gone from the book."""
    from bizkit.store.issued import by_number

    quote = by_number(work, job.quote_number, job.quote_revision)
    if quote is None:
        raise RuleBroken(f"{job.quote_number} is not in the book any more: run bizkit verify")
    return quote
