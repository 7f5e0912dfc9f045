"""Days that weather, client or studio move, and the hold days that this uses."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.services.shooting.called_off import refuse_cancelled
from bizkit.services.shooting.job_days import JobDays, Row, hold_days, job_days
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.shoot_day import ShootDay

#: Who or what moves a day.
WHY = ("weather", "client", "studio")


def move_day(
    folder: StudioFolder,
    job: str,
    day: date,
    to: date,
    on: date,
    *,
    why: str = "weather",
    hold: bool | None = None,
    swap: bool = False,
    note: str = "",
) -> Row:
    """Move what was planned for a date to another. Deliverables that count from the last shoot day follow.

    why: "weather", "client" or "studio". hold: whether crew and kit waited in vain on the date it leaves, which uses
    a hold day; None: yes where the weather did it. swap: the days of the two dates change places, so nobody waited.
    A hold day that the quote charges as used becomes a charge. Raises RuleBroken for a day that was logged as worked,
    or a date on which the job shoots already (unless `swap`).
    """
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.services.shooting.bookings import clashes_of
    from bizkit.services.shooting.charges import put_charges
    from bizkit.store.events import record
    from bizkit.store.work_days import move_day as write_move
    from bizkit.store.work_days import moved_days

    if why not in WHY:
        raise BadInput(wanted=f"one of {', '.join(WHY)}", got=why, field="--why")
    waited = (why == "weather" if hold is None else hold) and not swap
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        days = job_days(folder, work, job)
        key = days.job["key"]
        refuse_cancelled(work, key)
        leaving = _shoots_on(days, day)
        if not leaving:
            raise NotFound("day of the job", day, [str(one.date) for one in days.actual if one.date], field="DATE")
        if to == day:
            raise BadInput(wanted="another date", got=to, field="--to")
        coming = _shoots_on(days, to)
        worked = [
            str(days.actual[one - 1].date) for one in (*leaving, *(coming if swap else ())) if one in days.logged
        ]
        if worked:
            raise RuleBroken(f"{key}: {', '.join(worked)} was logged as worked: it cannot move any more")
        if coming and not swap:
            raise RuleBroken(f"{key} shoots on {to} already: exchange the two with --swap, or choose another date")
        before = {row["key"]: row["due"] for row in deliverable_rows(folder, work, key, on)}
        base = {"job": key, "why": why, "note": note}
        for position in leaving:
            write_move(work, stamp, {**base, "position": position, "moved_from": day.isoformat(),
                                     "moved_to": to.isoformat(), "hold": int(waited)})  # fmt: skip
        for position in coming if swap else ():
            write_move(work, stamp, {**base, "position": position, "moved_from": to.isoformat(),
                                     "moved_to": day.isoformat(), "hold": 0})  # fmt: skip
        days = job_days(folder, work, key)
        holds = hold_days(folder, days, moved_days(work, key))
        line = _hold_line(days, holds, day) if waited else None
        if line:
            put_charges(work, stamp, key, "hold day", [line], source=f"hold day {day}")
        record(work, stamp, "moved day", key, day=day.isoformat(), to=to.isoformat(), why=why, hold=waited)
        after = {row["key"]: row["due"] for row in deliverable_rows(folder, work, key, on)}
        clashes = clashes_of(folder, work, key, on)
    return {
        "job": key,
        "from": day.isoformat(),
        "to": to.isoformat(),
        "swapped": bool(swap and coming),
        "hold": waited,
        "holds": holds,
        "charge": line.data() if line else None,
        "currency": days.job["currency"],
        "due": [
            {"deliverable": name, "before": before[name], "after": due}
            for name, due in after.items()
            if due != before[name]
        ],
        "warnings": [*_order_warnings(days), *clashes],
    }


def _hold_line(days: JobDays, holds: Row, day: date) -> Line | None:
    """The charge for a hold day used; None where it is in the price already or nothing was agreed."""
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.working import Working

    count, beyond = len(holds["used"]), len(holds["used"]) - holds["agreed"]
    if not holds["rate"] or (holds["charge"] != "used" and beyond <= 0):
        return None
    rate = Money(holds["rate"], days.job["currency"])
    text = f"hold day {count} of {holds['agreed']} agreed, {day}: {rate} ({holds['percent']} % of a full day)"
    if beyond > 0:
        text = f"hold day {count}, {beyond} beyond the {holds['agreed']} agreed, {day}: {rate}"
    working = Working(text, "weather.hold_used", rate, "common practice")
    item = f"{days.card.words['weather_item']}, {day}"
    return Line("weather", item, Decimal(1), "day", rate.rounded(), rate.rounded(), working)


def _shoots_on(days: JobDays, day: date) -> list[int]:
    """Positions of the water and dry days on a date; of its other days where it has none of these."""
    from bizkit.domain.pricing.shoot_day import SHOOT_KINDS

    on_date = [number for number, one in enumerate(days.actual, start=1) if one.date == day]
    shoots = [number for number in on_date if days.actual[number - 1].kind in SHOOT_KINDS]
    return shoots or on_date


def _order_warnings(days: JobDays) -> list[str]:
    """Days that stand in an order they cannot be worked in."""
    from bizkit.domain.pricing.shoot_day import SHOOT_KINDS

    shoots = [one.date for one in days.actual if one.date and one.kind in SHOOT_KINDS]
    return [
        f"the wrap day on {one.date} lies before the last shoot day on {max(shoots)}"
        if one.kind == "wrap"
        else f"the last travel day on {one.date} lies before the last shoot day on {max(shoots)}: move it too"
        for one in _last_of(days, "travel", "wrap")
        if shoots and one.date and one.date < max(shoots)
    ]


def _last_of(days: JobDays, *kinds: str) -> list[ShootDay]:
    """The last dated day of each of these kinds that came after a shoot day in the plan."""
    found = []
    for kind in kinds:
        mine = [one for one in days.actual if one.kind == kind and one.date]
        later = bool(mine) and days.actual.index(mine[-1]) > 0
        if later and any(one.kind in ("water", "dry") for one in days.actual[: days.actual.index(mine[-1])]):
            found.append(mine[-1])
    return found
