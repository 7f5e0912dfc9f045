"""What calling a job off costs: days to come by the card's scale, days worked and costs spent in full.

A day worked is one that was logged, or - where no camera runs on it: prep, recce, travel, wrap, a hold day of the
brief - one whose date lies before the notice; nobody logs call and wrap of a travel day. Each day costs its share of
the lines of the quote: crew, kit, discount. What a job was charged on top stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.services.shooting.costs import spent_line
from bizkit.services.shooting.dearer_days import moved_source
from bizkit.services.shooting.job_days import JobDays, hold_days, job_days
from bizkit.services.shooting.moved_away import moved_away
from bizkit.services.shooting.spent_costs import spent_on
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.cancellation import CancellationScale, DayToCome
    from bizkit.domain.pricing.day_prices import DayPrice, QuotedLine
    from bizkit.services.studio.wording import Wording
    from bizkit.store.jobs import Job


@dataclass(frozen=True, slots=True)
class Fee:
    """What calling off costs: lines to charge, their sum, and the working. open_days: shoot days without a date, so
    without notice to count. coming: positions of the days to come, whose charges for having moved are in the fee.
    """

    amount: Money
    lines: tuple[Line, ...]
    working: Working
    open_days: int
    coming: tuple[int, ...] = ()


def called_off_fee(
    folder: StudioFolder,
    work: Connection,
    job: Job,
    kind: str,
    on: date,
    *,
    lost: tuple[int, ...] | None,
    post_done: Decimal = Decimal(0),
) -> Fee:
    """The fee for calling a job off by notice on the day `on`. kind: "cancel" or "postpone".

    lost: numbers of the costs that were spent in vain, None for all of them. post_done: percent of the
    post-production that was done by then. Raises RuleBroken without a scale, and for a shoot day before the notice
    that was not logged as worked.
    """
    days = _days(folder, work, job)
    scale = _scale(days)
    prices = quoted_days(folder, days, with_deal=kind == "postpone")
    dated = [(price, day.date) for price, day in zip(prices, days.actual, strict=True)]
    past = [
        str(day) for price, day in dated if price.shoots and day and day < on and price.position not in days.logged
    ]
    if past:
        raise RuleBroken(
            f"{days.job.key}: shoot days before the notice of {on} cannot be called off: {', '.join(past)}. "
            f"Log them as worked with bizkit day log {days.job.key} DATE, or correct the day of notice"
        )
    gone = {price.position for price, day in dated if day and (price.position in days.logged or day < on)}
    coming = [price for price, day in dated if day and price.position not in gone]
    lines: list[Line] = []
    if kind == "cancel":
        lines += [_worked_line(days, price) for price in prices if price.position in gone]
        lines += _holds_kept(folder, work, days, on)
        lines += _taken_back(folder, work, days, coming)
        lines += _post_done(folder, days, post_done)
    parts = [line.working for line in lines]
    spent = _spent(folder, work, days, lost)
    if coming:
        done = scale.fee(
            kind, _to_come(folder, work, days, kind, coming), notice_on=on, spent=spent, day_off=folder.day_off,
            words=days.card.words,
        )  # fmt: skip
        lines += done.lines
        parts.append(done.working)
    elif spent:
        costs = [spent_line(what, cost, days.card.words["spent"]) for what, cost in spent]
        lines += costs
        parts += [line.working for line in costs]
    if kind == "cancel":
        first = min((day for price, day in dated if price in coming and price.shoots and day), default=None)
        booked = _holds_booked(folder, work, days, scale, first, on)
        lines += booked
        parts += [line.working for line in booked]
        left = moved_away(folder, work, days, scale, [price for price in prices if price.position not in gone], on)
        lines += left
        parts += [line.working for line in left]
    amount = total((line.amount for line in lines), days.job.currency).rounded()
    open_days = sum(1 for price, day in dated if price.shoots and day is None)
    text = _summary(days, kind, on, coming, gone, open_days)
    working = Working(f"{text} = {amount}", f"cancellation.{kind}_job", amount, parts=tuple(parts))
    return Fee(
        amount,
        tuple(line for line in lines if line.amount),
        working,
        open_days,
        tuple(price.position for price in coming),
    )


def move_fee(folder: StudioFolder, work: Connection, days: JobDays, positions: Sequence[int], on: date) -> Fee | None:
    """The postponement fee for moving these days alone, asked by the client on the day `on`; None without a scale.

    A move noted after the day it left had no notice. Days without a date cost nothing to move.
    """
    if days.card.cancellation is None:
        return None
    prices = [price for price in quoted_days(folder, days, with_deal=True) if price.position in positions]
    moving = [price for price in prices if days.actual[price.position - 1].date]
    nothing = Money(0, days.job.currency).rounded()
    if not moving:
        return Fee(nothing, (), Working("no day with a date moves", "cancellation.postpone", nothing), 0)
    to_come = _to_come(folder, work, days, "postpone", moving)
    notice_on = min(on, *(day.on for day in to_come))
    done = days.card.cancellation.fee(
        "postpone", to_come, notice_on=notice_on, day_off=folder.day_off, words=days.card.words
    )
    return Fee(done.amount, done.lines, done.working, 0)


def quoted_days(folder: StudioFolder, days: JobDays, *, with_deal: bool) -> list[DayPrice]:
    """Every day of a job with its share of the lines quoted. with_deal: the credit of days bought ahead taken off.

    A job that is cancelled gives all its days back to the deal, so that its worked days cost their whole price.
    """
    from bizkit.domain.pricing.day_prices import day_prices

    deal = days.quote.document.get("deal") if with_deal else None
    return day_prices(
        days.card,
        days.planned,
        quoted_lines(days),
        currency=days.job.currency,
        holiday=folder.holiday,
        deal_days=Decimal(deal["days"]) if deal else Decimal(0),
    )


def quoted_lines(days: JobDays) -> list[QuotedLine]:
    """The lines of a job's quote."""
    from bizkit.domain.pricing.day_prices import QuotedLine

    currency = days.job.currency
    return [
        QuotedLine(line["section"], line["item"], Money(line["amount"], currency))
        for line in days.quote.document["lines"]
    ]


def _days(folder: StudioFolder, work: Connection, job: Job) -> JobDays:
    from bizkit.store.basis import basis_of

    if basis_of(work, job.quote_number, job.quote_revision) is None:
        raise RuleBroken(
            f"{job.quote_number} was sent before briefs were kept with quotes: work the fee out by hand and "
            f"charge it with bizkit charge add {job.key}"
        )
    return job_days(folder, work, job.key)


def _scale(days: JobDays) -> CancellationScale:
    if days.card.cancellation is None:
        raise RuleBroken(
            f"the rate card of {days.job.quote_number} has no [cancellation] scale: agree a fee and charge it "
            f"with bizkit charge add {days.job.key}"
        )
    return days.card.cancellation


def _to_come(
    folder: StudioFolder, work: Connection, days: JobDays, kind: str, prices: Sequence[DayPrice]
) -> list[DayToCome]:
    """Days for the scale: the price quoted, with what moving the day has made of it."""
    from bizkit.domain.pricing.cancellation import DayToCome

    words = _words(folder, days)
    result = []
    for price in prices:
        on = days.actual[price.position - 1].date
        assert on is not None  # the callers leave out days without a date
        moved = _moved(work, days, price.position)
        parts = price.workings
        if moved:
            text = f"dearer since it moved to {on}: {moved}"
            parts = (*parts, Working(text, "crew.moved", moved))
        item = ""
        if not price.shoots:
            name = "charges.cancelled_day" if kind == "cancel" else "charges.postponed_day"
            item = words.say(name, kind=days.card.words[price.kind], date=on.isoformat())
        result.append(DayToCome(on, price.price + moved, item, parts, price.shoots))
    return result


def _moved(work: Connection, days: JobDays, position: int, *, billed: bool = False) -> Money:
    """What was charged for moving a day and not waived; only what was billed of it where asked."""
    from bizkit.store.charges import charges

    rows = charges(work, days.job.key, source=moved_source(position))
    return total(
        (
            Money(row.amount.text, row.currency)
            for row in rows
            if (row.invoice if billed else not row.waived)
        ),
        days.job.currency,
    )  # fmt: skip


def _taken_back(folder: StudioFolder, work: Connection, days: JobDays, prices: Iterable[DayPrice]) -> list[Line]:
    """What was billed for moving days that are not worked now; the scale has it in their price instead."""
    lines = []
    for price in prices:
        billed, on = _moved(work, days, price.position, billed=True), days.actual[price.position - 1].date
        if billed:
            item = _words(folder, days).say("charges.not_worked", date=str(on))
            text = f"{on}: {billed} billed for moving it, not worked"
            working = Working(text, "cancellation.not_worked", -billed)
            lines.append(Line("fees", item, Decimal(-1), "flat", billed, -billed, working))
    return lines


def _post_done(folder: StudioFolder, days: JobDays, percent: Decimal) -> list[Line]:
    """The share of the post-production quoted that was done. Raises RuleBroken where the quote does not state it."""
    from bizkit.domain.pricing.day_prices import post_price

    if not percent:
        return []
    extras = days.quote.document.get("extras")
    said = extras["notice"] if extras else None
    price = post_price(days.card, days.planned, quoted_lines(days), currency=days.job.currency)
    if not said or not said.get("post_too") or not price:
        why = "does not state that it is due" if price else "has no price for it"
        raise RuleBroken(
            f"{days.job.key}: post-production cannot be charged with the fee, as {days.quote.number} {why}; agree "
            f"an amount with the client and charge it with bizkit charge add {days.job.key}"
        )
    share = price * (percent / 100)
    working = Working(
        f"post-production, {plain(percent)} % of it done: {plain(percent)} % of {price} = {share.rounded()}",
        "cancellation.post_done",
        share,
        "common practice",
    )
    words = _words(folder, days)
    item = words.say("charges.post_done", percent=words.percent(plain(percent)))
    return [Line("post", item, Decimal(1), "flat", share.rounded(), share.rounded(), working)]


def _holds_kept(folder: StudioFolder, work: Connection, days: JobDays, on: date) -> list[Line]:
    """Hold days used by the notice whose price stood in the quote, where nothing charged them apart.

    Where the quote charges the days expected at one fixed price, they come to no more than that, however many were
    used.
    """
    from bizkit.store.charges import charges
    from bizkit.store.work_days import moved_days

    holds = hold_days(folder, days, moved_days(work, days.job.key))
    if not holds["rate"] or holds["charge"] == "used":
        return []
    charged = {row.source for row in charges(work, days.job.key)}
    full, currency = Money(holds["rate"], days.job.currency), days.job.currency
    quoted = (line for line in days.quote.document["lines"] if line["section"] == "weather" and line["unit"] == "day")
    left = total((Money(line["amount"], currency) for line in quoted), currency)
    lines = []
    for day in holds["used"][: holds["agreed"]]:
        if day <= on.isoformat() and f"hold day {day}" not in charged:
            rate = min(full, left) if holds["charge"] == "expected" else full
            left -= rate
            working = Working(f"{day}: hold day used, {rate} as quoted", "cancellation.hold_day", rate)
            item = f"{days.card.words['weather_item']}, {day}"
            lines.append(Line("fees", item, Decimal(1), "day", rate, rate.rounded(), working))
    return [line for line in lines if line.amount]


def _holds_booked(
    folder: StudioFolder, work: Connection, days: JobDays, scale: CancellationScale, first: date | None, on: date
) -> list[Line]:
    """Hold days that the quote charges used or not, and that were not used: as days to come, by notice to the first
    shoot day to come; in full where there is none.
    """
    from bizkit.store.work_days import moved_days

    holds = hold_days(folder, days, moved_days(work, days.job.key))
    unused = holds["agreed"] - len(holds["used"])
    extras = days.quote.document.get("extras")
    said = extras["hold_days"] if extras else None
    if not said or not said.get("unused_too") or unused <= 0:
        return []
    share, why = Decimal(100), "no shoot day is to come"
    if first is not None:
        notice = scale.notice_days(on, first, folder.day_off)
        share, why = scale.percent("cancel", notice), f"{notice} {scale.counting} days of notice to {first}"
    rate = Money(holds["rate"], days.job.currency)
    each = rate * (share / 100)
    text = f"{unused} hold days booked and not used, {why}: {plain(share)}% of {rate} each"
    working = Working(text, "cancellation.hold_booked", each * unused, "common practice")
    item, amount = days.card.words["weather_item"], (each * unused).rounded()
    line = Line("fees", item, Decimal(unused), "day", each, amount, working)
    return [line] if line.amount else []


def _summary(
    days: JobDays, kind: str, on: date, coming: Sequence[DayPrice], gone: Iterable[int], open_days: int
) -> str:
    verb = "Cancelling" if kind == "cancel" else "Postponing"
    shoots = sum(1 for price in coming if price.shoots)
    text = f"{verb} {days.job.key} by notice on {on}: {shoots} shoot days to come"
    if len(coming) > shoots:
        text += f", {len(coming) - shoots} other days to come"
    worked = len(set(gone))
    if worked and kind == "cancel":
        text += f", {worked} worked"
    if open_days:
        text += f", {open_days} without a date and so without a fee"
    return text


def _spent(
    folder: StudioFolder, work: Connection, days: JobDays, lost: tuple[int, ...] | None
) -> list[tuple[str, Money]]:
    """Costs spent in vain, by what they were for: all of a cancelled job, those named of a postponed one.

    Costs that the client is charged already are left out, also those that an earlier postponement has charged; tax
    that is reclaimed is no cost.
    """
    from bizkit.store.charges import charges

    job = days.job
    rows, before = spent_on(folder, work, job.key), charges(work, job.key)
    charged = {row.source for row in before}
    known = {row.number for row in rows}
    for one in lost or ():
        if one not in known:
            raise NotFound("cost of the job", one, [str(each) for each in sorted(known)], field="--lost")
    sums: dict[str, Money] = {}
    for cost in rows:
        counted = cost.row.reverses or cost.number  # what takes a cost back goes with it
        if f"cost {counted}" in charged or (lost is not None and counted not in lost):
            continue
        name = cost.row.what or cost.row.kind
        sums[name] = sums.get(name, Money(0, job.currency)) + cost.net
    items = {days.card.words["spent"].format(what=what): what for what in sums}
    for row in before:
        what = items.get(row.item, "")
        if what and row.kind == "postponement":
            sums[what] = sums[what] - Money(row.amount.text, job.currency)
    return [(what, money) for what, money in sums.items() if money.amount > 0]


def _words(folder: StudioFolder, days: JobDays) -> Wording:
    from bizkit.services.studio.wording import words_of

    return words_of(folder, days.quote.document)


def _worked_line(days: JobDays, price: DayPrice) -> Line:
    on = days.actual[price.position - 1].date
    how = "worked" if price.position in days.logged else f"worked ({price.kind} day, its date is past)"
    cost = price.price
    working = Working(
        f"{on}: {how}, its whole price of {cost}", "cancellation.worked_day", cost, parts=price.workings
    )
    item = days.card.words["worked_day"].format(date=str(on))
    return Line("fees", item, Decimal(1), "day", cost, cost.rounded(), working)
