"""Cancelling and postponing: the fee by the card's scale, with its working, and what it does to the job."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.domain.dated_ahead import check_new_date
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.typed_numbers import number_of
from bizkit.services.billing.fell_away import let_fall
from bizkit.services.billing.standing import standing
from bizkit.services.job.called_off import cancelled_on
from bizkit.services.shooting.called_off_fee import Fee, called_off_fee
from bizkit.services.shooting.dearer_days import moved_days_of, moved_source, put_dearer
from bizkit.services.shooting.job_days import job_days
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.line import LineData
    from bizkit.domain.pricing.working import WorkingData
    from bizkit.domain.rights.licence import LicenceState
    from bizkit.services.shooting.dearer_days import DearerRow
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.jobs import Job


def cancel_quote(
    folder: StudioFolder,
    name: str,
    on: date,
    *,
    by: str = "",
    reason: str = "",
    post_done: str = "",
    preview: bool = False,
) -> Cancelled:
    """Cancel a quote by notice on the day `on`. A sent quote is taken back without a fee; a job ends with one.

    The fee stands in place of what is left of the quote: days to come by the card's scale, days worked in full,
    costs already spent in full, and of the post-production the percent that was done. `left` is what is to be
    invoiced then, less what was invoiced before; below zero it is to be credited. `outside`: what of the quote the
    fee leaves out. preview: only say what it would be. Raises RuleBroken for a shoot day in the past that was not
    logged as worked, and, without a reason, for a job of which no day is to come.
    """
    from bizkit.services.job.charges import put_charges
    from bizkit.services.quoting.quote_list import find_quote
    from bizkit.services.rights.licences import licence_of_job
    from bizkit.store.charges import drop_open_charges
    from bizkit.store.events import record
    from bizkit.store.jobs import close_job, jobs
    from bizkit.store.spent import add_called_off

    done_by_then = number_of(
        post_done or "0", field="--post-done", wanted="a percentage from 0 to 100", least=0, most=100
    )
    stamp = folder.draft_stamp(on) if preview else folder.stamp(on)
    with folder.book.work(keep=not preview) as work:
        quote = find_quote(work, name)
        found = [job for job in jobs(work) if job.quote_number == quote.number]
        if not found:
            return _take_back(folder, work, quote, on, by=by, reason=reason, preview=preview)
        job = found[0]
        _refuse_notice(work, job, on)
        fee = called_off_fee(folder, work, job, "cancel", on, lost=None, post_done=done_by_then)
        if not fee.coming and not fee.open_days and not reason.strip() and not preview:
            raise RuleBroken(
                f"{job.key}: no day is to come, and cancelling ends the job with what was worked instead of what "
                "was quoted: say why with --reason"
            )
        done = _answer(work, job, "cancel", fee, on, by, reason)
        fell = let_fall(work, stamp, job)
        put_charges(work, stamp, job.key, "cancellation", fee.lines, source=f"cancelled on {on}")
        for position in fee.coming:
            drop_open_charges(work, job.key, moved_source(position))
        row = _row(job, "cancel", on, by, reason, fee)
        row["working"]["inputs"] = {**row["working"].get("inputs", {}), **fell}
        add_called_off(work, stamp, row, fee=fee.amount)
        close_job(work, job.key, on.isoformat())
        record(work, stamp, "cancelled", job.key, fee=fee.amount.text, by=by, reason=reason)
        stood = standing(work, job)
        licence = licence_of_job(folder, work, job, on)
    return {
        **done,
        "preview": preview,
        "outside": _outside(quote, post=not done_by_then),
        "licence": {"name": licence.key, "state": licence.state(on)} if licence else None,
        "other_charges": (stood.net + stood.before - fee.amount).rounded().text,
        "invoiced_before": stood.before.text,
        "left": stood.net.text,
    }


def postpone_quote(
    folder: StudioFolder,
    name: str,
    on: date,
    *,
    to: date | None = None,
    lost: tuple[int, ...] = (),
    by: str = "",
    reason: str = "",
    preview: bool = False,
) -> Postponed:
    """Postpone a job by notice on the day `on`: the fee, and new dates for every day that is still to come.

    to: the new date of the first shoot day to come, the others keep their distance from it; None leaves them open.
    lost: costs of the job (their numbers) that were spent in vain. Raises RuleBroken as `cancel_quote` does.
    """
    from bizkit.services.job.charges import put_charges
    from bizkit.services.quoting.bookings import clashes_of
    from bizkit.services.quoting.quote_list import find_quote
    from bizkit.store.events import record
    from bizkit.store.jobs import jobs
    from bizkit.store.spent import add_called_off, called_off_jobs
    from bizkit.store.work_days import MoveRecord, move_day, moved_days

    stamp = folder.draft_stamp(on) if preview else folder.stamp(on)
    with folder.book.work() as work:
        quote = find_quote(work, name)
        found = [job for job in jobs(work) if job.quote_number == quote.number]
        if not found:
            raise RuleBroken(f"{quote.number} was not accepted: change the dates in the brief and draft it again")
        job = found[0]
        _refuse_notice(work, job, on)
        fee = called_off_fee(folder, work, job, "postpone", on, lost=lost)
        key, moves = job.key, _moves(work, job, on, to, reason)
        rows = [{**move, "job": key, "why": "postponed", "hold": 0, "note": reason} for move in moves]
        done: Postponed = {
            **_answer(work, job, "postpone", fee, on, by, reason), "days": moves, "clashes": [], "dearer": []
        }  # fmt: skip
        days, places = job_days(folder, work, key), [move["position"] for move in moves]
        if preview:
            ahead = [
                MoveRecord(
                    0, key, move["position"], move["moved_from"], move["moved_to"], "postponed", 0, reason,
                    recorded_at=stamp.at, recorded_by=stamp.who, noticed_on=on.isoformat(),
                )
                for move in moves
            ]  # fmt: skip
            dearer = moved_days_of(folder, days, [*moved_days(work, key), *ahead], places)
            return {**done, "dearer": [one.data() for one in dearer if one.line.amount], "preview": True}
        for row in rows:
            move_day(work, stamp, row)
        done["dearer"] = [
            row for row in put_dearer(folder, work, stamp, days, moved_days(work, key), places) if row["borne_by"]
        ]
        again = sum(1 for one in called_off_jobs(work, key) if (one.kind, one.notice_on) == ("postpone", f"{on}"))
        source = f"postponed on {on}" + (f", again ({again + 1})" if again else "")
        put_charges(work, stamp, key, "postponement", fee.lines, source=source)
        add_called_off(work, stamp, _row(job, "postpone", on, by, reason, fee), fee=fee.amount)
        record(work, stamp, "postponed", key, fee=fee.amount.text, to=_iso(to), by=by, reason=reason)
        done["clashes"] = clashes_of(folder, work, key, on)
    return done


def _refuse_notice(work: Connection, job: Job, on: date) -> None:
    if on.isoformat() < job.opened_on:
        raise RuleBroken(f"{job.key} was agreed on {job.opened_on}: notice cannot be given on {on}")
    gone = cancelled_on(work, job.key)
    if gone:
        raise RuleBroken(f"{job.key} was cancelled on {gone} already")
    if job.closed_on:
        raise RuleBroken(f"{job.key} was closed on {job.closed_on}: nothing is left to call off")


def _take_back(
    folder: StudioFolder, work: Connection, quote: IssuedQuote, on: date, *, by: str, reason: str, preview: bool
) -> Cancelled:
    """Take back a quote that nobody accepted; without a job there is no fee."""
    from bizkit.services.quoting.states import refuse_answered
    from bizkit.store.events import record
    from bizkit.store.quotes import put_answer

    refuse_answered(work, quote, on)
    if on.isoformat() < quote.issued_on:
        raise RuleBroken(
            f"{quote.number} was sent on {quote.issued_on}: it cannot be taken back on {on}; give the day with --on"
        )
    currency = quote.document["currency"]
    nothing = Money(0, currency).rounded()
    done: Cancelled = {
        "kind": "cancel", "key": quote.key, "number": quote.number, "job": "", "notice_on": on.isoformat(),
        "by": by, "reason": reason, "fee": nothing.text, "currency": currency, "lines": [], "working": None,
        "open_days": 0, "invoiced_before": nothing.text, "preview": preview,
    }  # fmt: skip
    if not preview:
        stamp = folder.stamp(on)
        put_answer(
            work, stamp, number=quote.number, revision=quote.revision, answered="cancelled", by=by, reason=reason
        )
        record(work, stamp, "cancelled", quote.key, number=quote.number, revision=quote.revision, reason=reason)
    return done


def _moves(work: Connection, job: Job, on: date, to: date | None, reason: str) -> list[DayGoes]:
    """Where each day to come goes. Raises RuleBroken when none is to come, or the new date is before the notice."""
    from bizkit.services.job.jobs import SHOOTS
    from bizkit.store.jobs import shoot_days
    from bizkit.store.work_days import worked_days

    logged = {position for key, position in worked_days(work) if key == job.key}
    coming = [
        day for day in shoot_days(work, job.key)
        if day.position not in logged and day.on and day.on >= on.isoformat()
    ]  # fmt: skip
    first = min((day.on for day in coming if day.kind in SHOOTS), default="")
    if not first:
        raise RuleBroken(f"{job.key}: no shoot day with a date is still to come")
    if to is not None and to < on:
        raise RuleBroken(f"the new first shoot day {to} lies before the notice of {on}")
    if to is not None and to.isoformat() == first:
        raise BadInput(wanted="another date than the first shoot day has", got=to, field="--to")
    if to is not None:
        check_new_date(to, date.fromisoformat(first), on, reason, field="--to")
    shift = (to - date.fromisoformat(first)) if to else None
    return [
        {
            "position": day.position,
            "moved_from": day.on,
            "moved_to": (date.fromisoformat(day.on) + shift).isoformat() if shift is not None else "",
        }
        for day in coming
    ]


def _answer(work: Connection, job: Job, kind: str, fee: Fee, on: date, by: str, reason: str) -> CalledOff:
    from bizkit.store.issued import of_kind

    papers = of_kind(work, "invoice", "credit_note", key=job.key)
    before = total(
        (
            Money(one.document["net"], job.currency) * (1 if one.kind == "invoice" else -1)
            for one in papers
            if not one.document.get("charges")
        ),
        job.currency,
    )
    return {
        "kind": kind,
        "key": job.key,
        "number": job.quote_number,
        "job": job.key,
        "notice_on": on.isoformat(),
        "by": by,
        "reason": reason,
        "fee": fee.amount.text,
        "currency": job.currency,
        "lines": [line.data() for line in fee.lines],
        "working": fee.working.data(),
        "open_days": fee.open_days,
        "invoiced_before": before.rounded().text,
        "preview": False,
    }


def _outside(quote: IssuedQuote, *, post: bool) -> list[SectionLeft]:
    """Sections of a quote that its cancellation fee leaves out, with their sum; post: whether that is one of them."""
    currency, lines = quote.document["currency"], quote.document["lines"]
    sums = {
        section: total((Money(one["amount"], currency) for one in lines if one["section"] == section), currency)
        for section in ("travel", *(["post"] if post else []), "licence", "fees")
    }
    return [{"section": section, "net": sum_.rounded().text} for section, sum_ in sums.items() if sum_]


def _row(job: Job, kind: str, on: date, by: str, reason: str, fee: Fee) -> CalledOffWritten:
    return {
        "job": job.key,
        "kind": kind,
        "notice_on": on.isoformat(),
        "by": by,
        "reason": reason,
        "working": fee.working.data(),
    }


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""


class CalledOff(TypedDict):
    """What calling a job or quote off costs; lines: of the fee; working: None without one."""

    kind: str
    key: str
    number: str
    job: str
    notice_on: str
    by: str
    reason: str
    fee: str
    currency: str
    lines: list[LineData]
    working: WorkingData | None
    open_days: int
    invoiced_before: str
    preview: bool


class Cancelled(CalledOff):
    """The same for a job cancelled: what is left to invoice, what its fee leaves out, and its licence."""

    outside: NotRequired[list[SectionLeft]]
    licence: NotRequired[LicenceLeft | None]
    other_charges: NotRequired[str]
    left: NotRequired[str]


class SectionLeft(TypedDict):
    """A section that a cancellation fee leaves out, and what the quote has for it."""

    section: str
    net: str


class LicenceLeft(TypedDict):
    """The licence of a job called off, and how it stands."""

    name: str
    state: LicenceState


class Postponed(CalledOff):
    """The same for a job postponed: where its days go, what is dearer there, and what clashes."""

    days: list[DayGoes]
    clashes: list[str]
    dearer: list[DearerRow]


class DayGoes(TypedDict):
    """A day to come and where it goes; moved_to empty: open."""

    position: int
    moved_from: str
    moved_to: str


class CalledOffWritten(TypedDict):
    """What is written when a job is called off."""

    job: str
    kind: str
    notice_on: str
    by: str
    reason: str
    working: WorkingData
