"""Days that the client moved and cancels while their old date is still to come: they cost no less than if they had
been cancelled when they moved.

Postponing is cheaper than cancelling because the work comes later. Where it does not come after all, what cancelling
the day would have cost on the day of that notice is due, less what was charged for moving it and what the scale asks
for the date it stands on now. Once the old date has passed, the new one alone counts. Source: common practice; a
quote that does not say so asks for nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.money import Money, total
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.domain.pricing.working import Working
from bizkit.services.shooting.job_days import JobDays
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.cancellation import CancellationScale
    from bizkit.domain.pricing.day_prices import DayPrice
    from bizkit.store.charges import Charge
    from bizkit.store.work_days import MoveRecord

#: Why a day moved where the client wanted it.
BY_CLIENT = ("client", "postponed")


def moved_away(
    folder: StudioFolder,
    work: Connection,
    days: JobDays,
    scale: CancellationScale,
    prices: Sequence[DayPrice],
    on: date,
) -> list[Line]:
    """A line for each of these days, not worked yet, that costs more for having been moved. on: the day of notice."""
    from bizkit.services.studio.wording import words_of
    from bizkit.store.work_days import moved_days

    extras = days.quote.document.get("extras")
    said = extras["notice"] if extras else None
    if not said or not said.get("after_moving"):
        return []
    by_client = [row for row in moved_days(work, days.job.key) if row.why in BY_CLIENT]
    moves = [row for row in by_client if row.moved_from >= on.isoformat()]
    words = words_of(folder, days.quote.document)
    lines = []
    for price in prices:
        owed = max(
            ((_cancelled_then(folder, days, scale, price, row, moves), row) for row in moves
             if row.position == price.position),
            key=lambda one: one[0].amount,
            default=None,
        )  # fmt: skip
        if owed is None:
            continue
        then, move = owed
        charged = _charged(folder, work, days, price, moves)
        now = _cancelled_now(folder, days, scale, price, prices, on)
        more = then - charged - now
        if more.amount <= 0:
            continue
        left, notice = move.moved_from, _noticed(move)
        text = (
            f"{left}: cancelling it on {notice} in place of moving it would have cost {then}; less {charged} charged "
            f"for moving it and {now} for the date it has now = {more}"
        )
        working = Working(text, "cancellation.moved_away", more, "common practice")
        item = words.say("charges.moved_away", date=words.day(left))
        lines.append(Line("fees", item, Decimal(1), "day", more, more, working))
    return lines


def _noticed(move: MoveRecord) -> date:
    """The day of notice of a move, never after the day it left; of an earlier book when it was recorded."""
    given = date.fromisoformat((move.noticed_on or move.recorded_at)[:10])
    return min(given, date.fromisoformat(move.moved_from))


def _cancelled_then(
    folder: StudioFolder,
    days: JobDays,
    scale: CancellationScale,
    price: DayPrice,
    move: MoveRecord,
    moves: Sequence[MoveRecord],
) -> Money:
    """What cancelling a day in place of this move would have cost."""
    left, notice = date.fromisoformat(move.moved_from), _noticed(move)
    to = left
    if scale.counts_to == "first_day" and move.why == "postponed":
        same = [row for row in moves if (row.why, row.recorded_at) == (move.why, move.recorded_at)]
        shoots = [row.moved_from for row in same if days.actual[row.position - 1].kind in SHOOT_KINDS]
        to = date.fromisoformat(min(shoots, default=move.moved_from))
    notice = min(notice, to)
    share = scale.percent("cancel", scale.notice_days(notice, to, folder.day_off))
    return (price.price * (share / 100)).rounded()


def _cancelled_now(
    folder: StudioFolder,
    days: JobDays,
    scale: CancellationScale,
    price: DayPrice,
    prices: Sequence[DayPrice],
    on: date,
) -> Money:
    """What the scale asks for the date a day stands on; nothing for a day without one."""
    mine = days.actual[price.position - 1].date
    if mine is None:
        return Money(0, price.currency).rounded()
    coming = [(one.shoots, days.actual[one.position - 1].date) for one in prices]
    shoots = [day for shoots, day in coming if shoots and day]
    first = min(shoots or [day for _, day in coming if day])
    to = first if scale.counts_to == "first_day" else mine
    share = scale.percent("cancel", scale.notice_days(on, to, folder.day_off))
    return (price.price * (share / 100)).rounded()


def _charged(
    folder: StudioFolder, work: Connection, days: JobDays, price: DayPrice, moves: Sequence[MoveRecord]
) -> Money:
    """What was charged for moving a day and not given up; days that left one date together share it evenly."""
    from bizkit.services.studio.wording import words_of
    from bizkit.store.charges import charges

    words = words_of(folder, days.quote.document)
    rows = [row for row in charges(work, days.job.key) if row.kind == "postponement" and not row.waived]
    return total(_shares(days, words, rows, price, moves), price.currency).rounded()


def _shares(
    days: JobDays, words: Any, rows: Sequence[Charge], price: DayPrice, moves: Sequence[MoveRecord]
) -> Iterator[Money]:
    def item_of(position: int, left: str) -> str:
        kind = days.actual[position - 1].kind
        if kind in SHOOT_KINDS:
            return str(days.card.words["postponed_day"].format(date=left))
        return str(words.say("charges.postponed_day", kind=days.card.words[kind], date=left))

    for left in {row.moved_from for row in moves if row.position == price.position}:
        item = item_of(price.position, left)
        alike = {row.position for row in moves if row.moved_from == left}
        sharing = sum(1 for position in alike if item_of(position, left) == item)
        for row in rows:
            if row.item == item:
                yield Money(row.amount.text, row.currency) * (Decimal(1) / sharing)
