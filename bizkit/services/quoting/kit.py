"""The studio's kit in the book: clashes, soak, service, and when each item has paid for itself."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BizkitError, NotFound
from bizkit.domain.money import plain
from bizkit.services.job.basis import actual_brief
from bizkit.services.quoting.bookings import clash_rows, last_days, plans
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.kit_terms import KitTerms
    from bizkit.domain.pricing.shoot_day import ShootDay
    from bizkit.domain.pricing.working import WorkingData
    from bizkit.services.quoting.bookings import ClashRow


def past_days(folder: StudioFolder, work: Connection, on: date, since: date | None = None) -> list[list[ShootDay]]:
    """For each job the single days that took place by the day `on`, dives as logged.

    Of a cancelled job only days that were logged took place; of any other every day whose date has come. since: jobs
    that were over before it are left out.
    """
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.store.issued import quotes_named
    from bizkit.store.jobs import jobs
    from bizkit.store.spent import called_off_jobs
    from bizkit.store.work_days import worked_days

    cancelled = {row.job for row in called_off_jobs(work) if row.kind == "cancel"}
    logged = worked_days(work)
    found = []
    first, last = since.isoformat() if since else "", last_days(work)
    recent = [job for job in jobs(work) if last.get(job.key, "") >= first]
    quotes = quotes_named(work, {(job.quote_number, job.quote_revision) for job in recent})
    for job in recent:
        quote = quotes.get((job.quote_number, job.quote_revision))
        actual = None
        if quote:
            with suppress(BizkitError):
                actual = actual_brief(folder, work, job, quote)
        if actual is None:
            continue
        days = []
        for position, day in enumerate(day_list(actual[1]), start=1):
            rows = logged.get((job.key, position), [])
            if day.date is None or day.date > on or (job.key in cancelled and not rows):
                continue
            dives = [row.dives for row in rows if row.dives is not None]
            days.append(replace(day, dives=max(dives)) if dives else day)
        found.append(days)
    return found


def list_clashes(folder: StudioFolder, on: date) -> ClashesShown:
    """Every clash from the day `on`, and what in-water kit cannot do: still in its soak, due for service."""
    with folder.book.read_all() as work:
        return {"clashes": clash_rows(folder, work, on), "care": care_rows(folder, work, on)}


def care_rows(folder: StudioFolder, work: Connection, on: date, key: str | None = None) -> list[str]:
    """Warnings about in-water kit over all jobs together, by the rate card as it stands.

    key: only those that a job, quote or draft brings about.
    """
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.domain.pricing.kit_care import care_warnings
    from bizkit.domain.pricing.kit_use import with_dives

    kit = folder.card.kit
    since = on - timedelta(hours=kit.soak_hours) - timedelta(days=1)
    days: list[tuple[str, ShootDay]] = []
    for plan in plans(folder, work, on):
        for day in day_list(plan.brief):
            known = {name: many for name, many in day.kit.items() if name in kit.items}
            spares = {name: many for name, many in day.spares.items() if name in kit.items}
            if day.date is not None and day.date > since and known:
                days.append((plan.key, replace(day, kit=known, spares=spares)))
    days.sort(key=lambda one: (one[1].date or on, one[1].call or time()))
    dived = past_days(folder, work, on, _first_service(kit))
    past = [day for job in dived for day in job if day.date and day.date <= since]
    used = with_dives(kit, past)
    found = care_warnings(used, [day for _, day in days])
    if key is None:
        return found
    without = care_warnings(used, [day for whose, day in days if whose != key])
    return [warning for warning in found if warning not in without]


def _first_service(kit: KitTerms) -> date | None:
    """The day from which dives matter: the oldest last service; None where one is not known."""
    days = [item.serviced_on for item in kit.items.values() if item.in_water and item.service_every_dives]
    known = [day for day in days if day is not None]
    return min(known, default=date.max) if len(known) == len(days) else None


def kit_pay_back(folder: StudioFolder, on: date, item: str | None = None) -> list[PayBack]:
    """For each owned item with a value: hire days by the book until the day `on`, earned, and days to go.

    Raises NotFound for an unknown item.
    """
    from bizkit.domain.pricing.kit_days import pay_back
    from bizkit.domain.pricing.kit_use import hire_days

    kit = folder.card.kit
    mine = {key: one for key, one in kit.items.items() if not one.parts and not one.sub_hired}
    if item is not None and item not in mine:
        raise NotFound("item of kit that the studio owns", item, mine, field="ITEM")
    hired: dict[str, Decimal] = {}
    with folder.book.read() as work:
        for days in past_days(folder, work, on):
            for key, count in hire_days(kit, days).items():
                hired[key] = hired.get(key, Decimal(0)) + count
    rows: list[PayBack] = []
    for key, one in mine.items():
        if one.value is None or one.day_rate.amount <= 0 or item not in (None, key):
            continue
        # Several of the same kind were each bought, and each hire day is of one of them.
        used = hired.get(key, Decimal(0))
        whole = replace(one, value=one.value * one.owned)
        back = pay_back(whole, used)
        rows.append(
            {
                "item": key,
                "title": one.title,
                "owned": one.owned,
                "currency": one.day_rate.currency,
                "value": whole.value.text if whole.value else "",
                "rate_per_day": one.day_rate.text,
                "days_hired": plain(used),
                "earned": back.earned.rounded().text,
                "days_needed": back.days_needed,
                "days_left": back.days_left,
                "paid_back": back.days_left == 0,
                "working": back.working.data(),
            }
        )
    return rows


def kit_service(folder: StudioFolder, on: date) -> list[ServiceDue]:
    """For each in-water item: when its service is due by date and by dives, and what is planned before that."""
    from bizkit.domain.pricing.kit_use import dives

    kit = folder.card.kit
    with folder.book.read() as work:
        past = [day for job in past_days(folder, work, on) for day in job]
        coming = [day for plan in plans(folder, work, on) for day in plan.brief.days if day.date and day.date > on]
    rows: list[ServiceDue] = []
    for key, item in kit.items.items():
        if not (item.service_every_days or item.service_every_dives):
            continue
        due = ""
        if item.service_every_days and item.serviced_on:
            due = (item.serviced_on + timedelta(days=item.service_every_days)).isoformat()
        done, planned = item.dives_since_service + dives(kit, item, past), dives(kit, item, coming)
        most = item.service_every_dives
        late = bool(due and on.isoformat() > due) or bool(most and done >= most)
        soon = bool(most and done + planned > most)
        rows.append(
            {
                "item": key,
                "title": item.title,
                "serviced_on": item.serviced_on.isoformat() if item.serviced_on else "",
                "due_on": due,
                "dives": done,
                "dives_planned": planned,
                "dives_allowed": most,
                "state": "due" if late else "due before the last planned dive" if soon else "fine",
            }
        )
    return rows


class ClashesShown(TypedDict):
    """Bookings and kit that clash."""

    clashes: list[ClashRow]
    care: list[str]


class PayBack(TypedDict):
    """What an owned item of kit has earned, and the hire days to go until it has paid for itself."""

    item: str
    title: str
    owned: int
    currency: str
    value: str
    rate_per_day: str
    days_hired: str
    earned: str
    days_needed: int
    days_left: int
    paid_back: bool
    working: WorkingData


class ServiceDue(TypedDict):
    """When an item that goes into the water is to be serviced: by day and by dives; empty, None where it is not."""

    item: str
    title: str
    serviced_on: str
    due_on: str
    dives: int
    dives_planned: int
    dives_allowed: int | None
    state: str
