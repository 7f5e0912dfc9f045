"""Who and what is booked on which day by jobs, quotes waiting for an answer and drafts; where two need the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BizkitError
from bizkit.services.job.basis import on_its_days, quoted_brief
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.booking import Booking, Conflict
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.weather_plan import WeatherPlan
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.quotes import Draft


@dataclass(frozen=True, slots=True)
class Plan:
    """One job, waiting quote or draft with its days as they fall by now.

    sure: accepted, not only pencilled in. weather: the plan whose days are still held for it.
    """

    key: str
    name: str
    sure: bool
    card: RateCard
    brief: Brief
    weather: WeatherPlan | None


def weather_of(folder: StudioFolder, card: RateCard, brief: Brief) -> WeatherPlan | None:
    """The weather plan of a brief as quoted."""
    from bizkit.domain.pricing.estimate import price

    if brief.weather is None:
        return None
    return price(card, brief, day_off=folder.day_off, holiday=folder.holiday).weather


def plans(folder: StudioFolder, work: Connection, on: date) -> Iterator[Plan]:
    """Everything that may need somebody or something: open jobs, quotes that can still be accepted, drafts.

    Jobs whose days are all over are left out, and what cannot be read any more (a delivery spec that is gone, say):
    one old quote must not stand in the way of the next.
    """
    from bizkit.store.issued import quotes_named
    from bizkit.store.jobs import jobs
    from bizkit.store.quotes import drafts
    from bizkit.store.register import quotes as waiting
    from bizkit.store.spent import called_off_jobs

    everything = jobs(work)
    known = {job.key for job in everything}
    off = {row.job for row in called_off_jobs(work)}
    since, last = (on - STILL_THERE).isoformat(), last_days(work)
    coming = [job for job in everything if not job.closed_on and last.get(job.key, "") >= since]
    quotes = quotes_named(work, {(job.quote_number, job.quote_revision) for job in coming})
    for job in coming:
        quote = quotes.get((job.quote_number, job.quote_revision))
        if quote:
            with suppress(BizkitError):
                yield from _job_plan(folder, work, job.key, quote, holds=job.key not in off)
    for draft in drafts(work):
        known.add(draft.key)
        with suppress(BizkitError):
            yield _draft_plan(folder, draft)
    newest = {one.key: one for one in waiting(work, waiting_only=True)}
    offers = [one for one in newest.values() if one.key not in known and on.isoformat() <= one.valid_until]
    sent = quotes_named(work, {(one.number, one.revision) for one in offers})
    for quote in (sent[one.number, one.revision] for one in offers):
        with suppress(BizkitError):
            found = quoted_brief(folder, work, quote)
            if found:
                yield Plan(quote.key, quote.key, False, *found, weather_of(folder, *found))


#: How long after its last day a job still matters: longer than any soak.
STILL_THERE = timedelta(days=8)


def last_days(work: Connection) -> dict[str, str]:
    """Job -> the last date of its days; a date after all others while one of them is open."""
    from bizkit.store.jobs import shoot_days

    found: dict[str, str] = {}
    for day in shoot_days(work):
        found[day.job] = max(found.get(day.job, ""), day.on or date.max.isoformat())
    return found


def _job_plan(folder: StudioFolder, work: Connection, job: str, quote: IssuedQuote, *, holds: bool) -> Iterator[Plan]:
    """The plan of a job. Whoever postpones lets go of the weather window that was agreed (not `holds`)."""
    found = quoted_brief(folder, work, quote)
    if found:
        card, quoted = found
        weather = weather_of(folder, card, quoted) if holds else None
        yield Plan(job, job, True, card, on_its_days(work, job, quoted), weather)


def _draft_plan(folder: StudioFolder, draft: Draft) -> Plan:
    from bizkit.domain.pricing.options import chosen_brief
    from bizkit.services.job.basis import read_basis

    card, brief, _ = read_basis(folder, draft.brief, draft.brief_file, draft.card, draft.document)
    brief = chosen_brief(brief)
    return Plan(draft.key, f"draft {draft.key}", False, card, brief, weather_of(folder, card, brief))


def booked(all_plans: Iterable[Plan], since: date) -> list[Booking]:
    """Every person and owned item needed on a day from `since` on, the days held for weather included."""
    from bizkit.domain.pricing.booking import bookings, weather_holds
    from bizkit.domain.pricing.shoot_day import SHOOT_KINDS

    found: list[Booking] = []
    for plan in all_plans:
        mine = bookings(plan.card.kit, plan.brief, plan.name, hold=not plan.sure)
        shooting = [on for day in plan.brief.days if day.kind in SHOOT_KINDS for on in day.dates()]
        if plan.weather and any(on >= since for on in shooting):
            mine += weather_holds(plan.card.kit, plan.brief, plan.weather, plan.name)
        found += [one for one in mine if one.date >= since]
    return found


def clash_rows(folder: StudioFolder, work: Connection, on: date) -> list[ClashRow]:
    """Where more is booked than there is, from the day `on`, each with its jobs and one sentence."""
    return [
        {
            "kind": one.kind,
            "resource": one.resource,
            "on": one.date.isoformat(),
            "jobs": list(one.jobs),
            "wanted": one.wanted,
            "at_hand": one.at_hand,
            "text": one.text,
        }
        for one in _clashes(folder, work, on)
    ]


def _clashes(folder: StudioFolder, work: Connection, on: date) -> list[Conflict]:
    from bizkit.domain.pricing.booking import conflicts, owned_kit

    everything = list(plans(folder, work, on))
    owned: dict[str, int] = {}
    for plan in everything:
        owned |= owned_kit(plan.card.kit)
    with suppress(BizkitError):  # a card that is being written must not stop what accepted work asks
        owned |= owned_kit(folder.card.kit)
    return conflicts(booked(everything, on), owned)


def clashes_of(folder: StudioFolder, work: Connection, key: str, on: date) -> list[str]:
    """One sentence for each person or thing that a job, quote or draft needs when others do, with all such days."""
    from bizkit.domain.pricing.booking import clash_sentences

    names = {key, f"draft {key}", f"{key} (hold)", f"draft {key} (hold)"}
    return clash_sentences(one for one in _clashes(folder, work, on) if names & set(one.jobs))


def list_bookings(folder: StudioFolder, on: date, until: date | None = None) -> list[BookingRow]:
    """Who and what is booked from the day `on` to `until` (included), by date."""
    with folder.book.read_all() as work:
        found = booked(plans(folder, work, on), on)
    return [
        {
            "on": one.date.isoformat(),
            "kind": one.kind,
            "resource": one.resource,
            "quantity": one.quantity,
            "job": one.job,
            "hold": one.hold,
        }
        for one in sorted(found, key=lambda one: (one.date, one.kind, one.resource, one.job))
        if until is None or one.date <= until
    ]


class ClashRow(TypedDict):
    """Two bookings that cannot both be, as a sentence."""

    kind: str
    resource: str
    on: str
    jobs: list[str]
    wanted: int
    at_hand: int
    text: str


class BookingRow(TypedDict):
    """Who or what is booked on a day, and for which job."""

    on: str
    kind: str
    resource: str
    quantity: int
    job: str
    hold: bool
