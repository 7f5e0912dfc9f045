"""What calling a job off costs: days to come by the card's scale, days worked and costs spent in full."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.working import Working
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard


@dataclass(frozen=True, slots=True)
class Fee:
    """What calling off costs: lines to charge, their sum, and the working. open_days: without a date, so without
    notice to count.
    """

    amount: Money
    lines: tuple[Line, ...]
    working: Working
    open_days: int


def called_off_fee(
    folder: StudioFolder, work: Connection, job: dict[str, Any], kind: str, on: date, *, lost: tuple[int, ...] | None
) -> Fee:
    """The fee for calling a job off by notice on the day `on`. kind: "cancel" or "postpone".

    lost: numbers of the costs that were spent in vain, None for all of them. Raises RuleBroken without a scale, and
    for a shoot day before the notice that was not logged as worked.
    """
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
    from bizkit.services.shooting.bookings import actual_brief
    from bizkit.store.issued import by_number
    from bizkit.store.work_days import worked_days

    quote = by_number(work, job["quote_number"], job["quote_revision"])
    found = actual_brief(folder, work, job, quote) if quote else None
    if found is None:
        raise RuleBroken(
            f"{job['quote_number']} was sent before briefs were kept with quotes: work the fee out by hand and "
            f"charge it with bizkit charge add {job['key']}"
        )
    card, brief = found
    if card.cancellation is None:
        raise RuleBroken(
            f"the rate card of {job['quote_number']} has no [cancellation] scale: agree a fee and charge it with "
            f"bizkit charge add {job['key']}"
        )
    logged = {position for key, position in worked_days(work) if key == job["key"]}
    days = list(enumerate(day_list(brief), start=1))
    shoots = [(position, day) for position, day in days if day.kind in SHOOT_KINDS]
    past = [str(day.date) for position, day in shoots if day.date and day.date < on and position not in logged]
    if past:
        raise RuleBroken(
            f"{job['key']}: shoot days before the notice of {on} cannot be called off: {', '.join(past)}. "
            f"Log them as worked with bizkit day log {job['key']} DATE, or correct the day of notice"
        )
    prices = _prices(folder, card, brief, on)
    worked = [(day.date, prices[position]) for position, day in shoots if position in logged and day.date]
    coming = [(day.date, prices[position]) for position, day in shoots if position not in logged and day.date]
    open_days = sum(1 for _, day in shoots if day.date is None)
    spent = _spent(work, job, kind, lost)
    lines = [_worked_line(on_day, money, card.words["worked_day"]) for on_day, money in worked if kind == "cancel"]
    parts = [line.working for line in lines]
    if coming:
        done = card.cancellation.fee(
            kind, coming, notice_on=on, spent=spent, day_off=folder.day_off, words=card.words
        )
        lines += done.lines
        parts.append(done.working)
    elif spent:
        lines += [_spent_line(what, cost, card.words["spent"]) for what, cost in spent]
        parts += [line.working for line in lines if line.unit == "cost"]
    amount = total((line.amount for line in lines), job["currency"]).rounded()
    verb = "Cancelling" if kind == "cancel" else "Postponing"
    text = f"{verb} {job['key']} by notice on {on}: {len(coming)} shoot days to come"
    if worked and kind == "cancel":
        text += f", {len(worked)} worked"
    if open_days:
        text += f", {open_days} without a date and so without a fee"
    working = Working(f"{text} = {amount}", f"cancellation.{kind}_job", amount, parts=tuple(parts))
    return Fee(amount, tuple(line for line in lines if line.amount), working, open_days)


def _prices(folder: StudioFolder, card: RateCard, brief: Brief, on: date) -> dict[int, Money]:
    """Position -> its share of the price of crew and kit. A day without a date is priced on a Wednesday to come."""
    from bizkit.domain.pricing.day_prices import shoot_day_prices
    from bizkit.domain.pricing.shoot_day import SHOOT_KINDS

    wednesday = on + timedelta(days=728 + (2 - on.weekday()) % 7)
    days = []
    dates: dict[date, list[int]] = {}
    for position, day in enumerate(brief.days, start=1):
        used = day.date or wednesday + timedelta(weeks=position)
        days.append(replace(day, date=used))
        if day.kind in SHOOT_KINDS:
            dates.setdefault(used, []).append(position)
    dated = replace(brief, parts=replace(brief.parts, days=tuple(days)), asked_on=None, rush=False)
    prices: dict[int, Money] = {}
    for used, money in shoot_day_prices(card, dated, day_off=folder.day_off, holiday=folder.holiday):
        # Two shoots of one date (a half day each) share its price.
        for position, part in zip(dates[used], money.allocate([1] * len(dates[used])), strict=True):
            prices[position] = part
    return prices


def _spent(work: Connection, job: dict[str, Any], kind: str, lost: tuple[int, ...] | None) -> list[tuple[str, Money]]:
    """Costs spent in vain, by what they were for: all of a cancelled job, those named of a postponed one.

    Costs that the client is charged already are left out.
    """
    from bizkit.store.charges import charges
    from bizkit.store.spent import costs

    rows = costs(work, job["key"])
    charged = {row["source"] for row in charges(work, job["key"])}
    known = {row["id"] for row in rows}
    for one in lost or ():
        if one not in known:
            raise NotFound("cost of the job", one, [str(each) for each in sorted(known)], field="--lost")
    sums: dict[str, Money] = {}
    for row in rows:
        if f"cost {row['id']}" in charged or (lost is not None and row["id"] not in lost):
            continue
        money = Money.from_minor(row["job_minor"], job["currency"])
        name = row["what"] or row["kind"]
        sums[name] = sums.get(name, Money(0, job["currency"])) + money
    return [(what, money) for what, money in sums.items() if money.amount > 0]


def _worked_line(on: date, price: Money, words: str) -> Line:
    working = Working(f"{on}: worked, its whole price of {price}", "cancellation.worked_day", price)
    return Line("fees", words.format(date=on.isoformat()), Decimal(1), "day", price, price.rounded(), working)


def _spent_line(what: str, cost: Money, words: str) -> Line:
    working = Working(f"{what}: {cost}, already spent, in full", "cancellation.spent", cost)
    return Line("fees", words.format(what=what), Decimal(1), "cost", cost, cost.rounded(), working)
