"""Days that weather, client or studio move: hold days used, what is dearer, the postponement fee of the scale."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Final, TypedDict

from bizkit.domain.dated_ahead import check_new_date
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS
from bizkit.services.job.called_off import refuse_cancelled
from bizkit.services.shooting.job_days import JobDays, hold_days, job_days
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.line import Line, LineData
    from bizkit.domain.pricing.shoot_day import ShootDay
    from bizkit.services.shooting.called_off_fee import Fee
    from bizkit.services.shooting.dearer_days import DearerRow
    from bizkit.services.shooting.job_days import Holds
    from bizkit.services.shooting.overruns import RestRow
    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp
    from bizkit.store.work_days import MoveRecord

#: Who or what moves a day.
WHY: Final = ("weather", "client", "studio")


@dataclass(frozen=True, slots=True)
class Move:
    """A move as asked for. day: the date left, None for a day whose date is open. number: which day, where several
    fall on that date; None for all of them.

    hold: whether crew and kit waited in vain on the date left; None: yes where the weather did it and it was to be
    a shoot. swap: the days of the two dates change places, so nobody waited. waive: why the client's fee is let go,
    empty to charge it.
    """

    day: date | None
    to: date
    why: str = "weather"
    hold: bool | None = None
    swap: bool = False
    number: int | None = None
    waive: str = ""
    note: str = ""

    def check(self) -> None:
        """Refuse what cannot be. Raises BadInput."""
        if self.why not in WHY:
            raise BadInput(wanted=f"one of {', '.join(WHY)}", got=self.why, field="--why")
        if self.to == self.day:
            raise BadInput(wanted="another date", got=self.to, field="--to")
        if self.waive and self.why != "client":
            raise BadInput(wanted="--why client with it, as only that has a fee", got=self.why, field="--waive")

    @property
    def waited(self) -> bool:
        """Whether the move uses a hold day."""
        chosen = self.why == "weather" if self.hold is None else self.hold
        return chosen and not self.swap and self.day is not None


def move_day(folder: StudioFolder, job: str, move: Move, on: date, *, preview: bool = False) -> DayMovedAnswer:
    """Move what was planned for a date to another. Deliverables that count from the last shoot day follow.

    A hold day that the quote charges as used becomes a charge; so does what the new date costs above the price agreed
    (see `dearer_days`). A move that the client asks for bears the postponement fee of the scale quoted for the day
    left, by notice on the day `on`, unless the dates are swapped; where it also used a hold day, the dearer of the
    two is charged. preview: only say what it would be, nothing is recorded. Raises RuleBroken for a day that was
    logged as worked, or a date on which the job shoots already (unless swapped).
    """
    move.check()
    stamp = folder.draft_stamp(on) if preview else folder.stamp(on)
    with folder.book.work(keep=not preview) as work:
        return {**_moved(folder, work, stamp, job, move), "preview": preview}


def _moved(folder: StudioFolder, work: Connection, stamp: Stamp, job: str, move: Move) -> DayMoved:
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.services.quoting.bookings import clashes_of
    from bizkit.services.shooting.called_off_fee import move_fee
    from bizkit.services.shooting.dearer_days import put_dearer
    from bizkit.services.shooting.overruns import put_rests
    from bizkit.services.shooting.rests import shorter_rests
    from bizkit.store.events import record
    from bizkit.store.work_days import move_day as write_move
    from bizkit.store.work_days import moved_days

    days = job_days(folder, work, job)
    key, on = days.job.key, stamp.on
    refuse_cancelled(work, key)
    check_new_date(move.to, move.day, on, folder.reason, field="--to")
    leaving, coming = _leaving(days, move), _shoots_on(days, move.to)
    if move.hold is None and not any(days.actual[one - 1].kind in SHOOT_KINDS for one in leaving):
        move = replace(move, hold=False)  # a travel or preparation day that follows another waits for nothing
    _check_places(days, move, leaving, coming)
    before = {row["key"]: row["due"] for row in deliverable_rows(folder, work, key, on)}
    asked = move.why == "client" and not move.swap
    fee = move_fee(folder, work, days, leaving, on) if asked else None
    base = {"job": key, "why": move.why, "note": move.note}
    left, to = move.day.isoformat() if move.day else "", move.to.isoformat()
    for position in leaving:
        row = {**base, "position": position, "moved_from": left, "moved_to": to, "hold": int(move.waited)}
        write_move(work, stamp, row)
    swapped = coming if move.swap else []
    for position in swapped:
        write_move(work, stamp, {**base, "position": position, "moved_from": to, "moved_to": left, "hold": 0})
    planned, days, moves = days, job_days(folder, work, key), moved_days(work, key)
    holds = hold_days(folder, days, moves)
    line = _hold_line(days, holds, move.day) if move.waited and move.day else None
    if line and fee and not move.waive and fee.amount >= line.amount:
        line = None
    elif line and fee and not move.waive:
        fee = replace(fee, amount=Money(0, line.amount.currency).rounded(), lines=())
    charged = _put_hold(work, stamp, key, line, move.day)
    given_back = _take_back_holds(work, key, moves, holds["used"])
    fee_row = _put_fee(work, stamp, days, moves, leaving, fee, move) if asked else None
    dearer = put_dearer(folder, work, stamp, days, moves, [*leaving, *swapped])
    following = put_rests(folder, work, stamp, days, [move.to, *([move.day] if move.day else [])])
    record(work, stamp, "moved day", key, day=left, to=to, why=move.why, hold=move.waited)
    after = {row["key"]: row["due"] for row in deliverable_rows(folder, work, key, on)}
    return {
        "job": key,
        "from": left,
        "to": to,
        "why": move.why,
        "swapped": bool(swapped),
        "hold": move.waited,
        "holds": holds,
        "charge": line.data() if line and charged else None,
        "given_back": given_back,
        "fee": fee_row,
        "dearer": [row for row in dearer if row["borne_by"] or row["to_invoice"] != row["difference"]],
        "following": following,
        "currency": days.job.currency,
        "due": [
            {"deliverable": name, "before": before[name], "after": due}
            for name, due in after.items()
            if due != before[name]
        ],
        "warnings": [
            *_order_warnings(days),
            *shorter_rests(planned, days),
            *_paper_warnings(work, days.job, {to, left} if swapped else {to}),
            *clashes_of(folder, work, key, on),
        ],
    }


def _leaving(days: JobDays, move: Move) -> list[int]:
    """Positions of the days that move. Raises NotFound, and BadInput where open days are not told apart."""
    on_date = [number for number, one in enumerate(days.actual, start=1) if one.date == move.day]
    if move.number is not None:
        if move.number not in on_date:
            raise NotFound("day on that date", move.number, [str(one) for one in on_date], field="--number")
        return [move.number]
    found = _shoots_on(days, move.day)
    if not found:
        known = [str(one.date) for one in days.actual if one.date]
        raise NotFound("day of the job", move.day or "open", known, field="DATE")
    if move.day is None and len(found) > 1:
        each = ", ".join(f"{one} ({days.actual[one - 1].kind})" for one in found)
        raise BadInput(wanted=f"one of the open days: {each}", got="none said", field="--number")
    return found


def _check_places(days: JobDays, move: Move, leaving: list[int], coming: list[int]) -> None:
    key = days.job.key
    touched = (*leaving, *(coming if move.swap else ()))
    worked = [str(days.actual[one - 1].date) for one in touched if one in days.logged]
    if worked:
        raise RuleBroken(f"{key}: {', '.join(worked)} was logged as worked: it cannot move any more")
    if coming and not move.swap:
        raise RuleBroken(f"{key} shoots on {move.to} already: exchange the two with --swap, or choose another date")


def _put_hold(work: Connection, stamp: Stamp, key: str, line: Line | None, day: date | None) -> bool:
    """Charge a hold day once, however often days left its date; whether it was charged now."""
    from bizkit.services.job.charges import put_charges
    from bizkit.store.charges import charges

    source = f"hold day {day}"
    if line is None or charges(work, key, source=source):
        return False
    put_charges(work, stamp, key, "hold day", [line], source=source)
    return True


def _take_back_holds(work: Connection, key: str, moves: list[MoveRecord], used: list[str]) -> list[HoldDropped]:
    """Drop what is open of hold days that were none after all, as their day came back to its date."""
    from bizkit.store.charges import charges, drop_open_charges

    dropped: list[HoldDropped] = []
    for day in sorted({row.moved_from for row in moves if row.hold} - set(used)):
        open_ = [row for row in charges(work, key, source=f"hold day {day}") if not (row.invoice or row.waived)]
        dropped += [{"item": row.item, "amount": row.amount.text} for row in open_]
        if open_:
            drop_open_charges(work, key, f"hold day {day}")
    return dropped


def _put_fee(
    work: Connection,
    stamp: Stamp,
    days: JobDays,
    moves: list[MoveRecord],
    leaving: list[int],
    fee: Fee | None,
    move: Move,
) -> MoveFee:
    """Charge the fee of a move that the client asked for, or keep it as waived with the reason."""
    from bizkit.services.job.charges import put_charges
    from bizkit.services.job.waiving import waive_one

    nothing = Money(0, days.job.currency).rounded()
    if fee is None:
        return {"amount": nothing.text, "lines": [], "why": "", "waived": "", "scale": False}
    number = sum(1 for row in moves if row.position == leaving[0])
    source = f"move {number} of day {leaving[0]}, asked by the client"
    for charge in put_charges(work, stamp, days.job.key, "postponement", fee.lines, source=source):
        if move.waive:
            waive_one(work, stamp, charge, move.waive)
    return {
        "amount": fee.amount.text,
        "lines": [line.data() for line in fee.lines],
        "why": "; ".join(part.text for part in fee.working.parts) or fee.working.text,
        "waived": move.waive if fee.lines else "",
        "scale": True,
    }


def _hold_line(days: JobDays, holds: Holds, day: date) -> Line | None:
    """The charge for a hold day used; None where it is in the price already or nothing was agreed."""
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.working import Working

    count, beyond = len(holds["used"]), len(holds["used"]) - holds["agreed"]
    if not holds["rate"] or (holds["charge"] != "used" and beyond <= 0):
        return None
    rate = Money(holds["rate"], days.job.currency)
    text = f"hold day {count} of {holds['agreed']} agreed, {day}: {rate} ({holds['percent']} % of a full day)"
    if beyond > 0:
        text = f"hold day {count}, {beyond} beyond the {holds['agreed']} agreed, {day}: {rate}"
    inputs = (("beyond", str(beyond)),) if beyond > 0 else ()
    working = Working(text, "weather.hold_used", rate, "common practice", inputs)
    item = f"{days.card.words['weather_item']}, {day}"
    return Line("weather", item, Decimal(1), "day", rate.rounded(), rate.rounded(), working)


def _shoots_on(days: JobDays, day: date | None) -> list[int]:
    """Positions of the water and dry days on a date (None: open); of its other days where it has none of these."""
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


def _paper_warnings(work: Connection, job: Job, dates: AbstractSet[str]) -> list[str]:
    """Permits and other papers of the shoot that do not reach to the dates that days have come to."""
    from bizkit.services.rights.shoot_papers import shoot_check

    return [gap.text for gap in shoot_check(work, job) if not dates.isdisjoint(map(str, gap.days))]


def _last_of(days: JobDays, *kinds: str) -> list[ShootDay]:
    """The last dated day of each of these kinds that came after a shoot day in the plan."""
    found = []
    for kind in kinds:
        mine = [one for one in days.actual if one.kind == kind and one.date]
        later = bool(mine) and days.actual.index(mine[-1]) > 0
        if later and any(one.kind in ("water", "dry") for one in days.actual[: days.actual.index(mine[-1])]):
            found.append(mine[-1])
    return found


class MoveFee(TypedDict):
    """The fee for a move that the client asked for; scale: whether the quote has one."""

    amount: str
    lines: list[LineData]
    why: str
    waived: str
    scale: bool


class HoldDropped(TypedDict):
    """A hold day charged that was none after all."""

    item: str
    amount: str


class DueMoved(TypedDict):
    """A due date that follows the shoot."""

    deliverable: str
    before: str
    after: str


#: A move, and everything that follows from it.
DayMoved = TypedDict(
    "DayMoved",
    {
        "job": str,
        "from": str,
        "to": str,
        "why": str,
        "swapped": bool,
        "hold": bool,
        "holds": "Holds",
        "charge": "LineData | None",
        "given_back": "list[HoldDropped]",
        "fee": "MoveFee | None",
        "dearer": "list[DearerRow]",
        "following": "list[RestRow]",
        "currency": str,
        "due": "list[DueMoved]",
        "warnings": list[str],
    },
)


class DayMovedAnswer(DayMoved):
    """The same, and whether it was only looked at."""

    preview: bool
