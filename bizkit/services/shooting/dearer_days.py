"""Days that moved to a dearer date: what the client bears above the price agreed, as one charge a day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.services.shooting.job_days import JobDays
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.pricing.dearer_day import DearerDay
    from bizkit.domain.pricing.line import Line
    from bizkit.domain.pricing.weather_plan import WeatherPlan
    from bizkit.store.stamp import Stamp
    from bizkit.store.work_days import MoveRecord


@dataclass(frozen=True, slots=True)
class MovedDay:
    """A moved day and the line that charges what is dearer about it. position: of the day in the brief, from 1."""

    position: int
    found: DearerDay
    line: Line

    def data(self) -> DearerRow:
        """As JSON-ready data. borne_by: who pays the difference of crew cost between the date agreed and now."""
        found = self.found
        more = found.now - found.agreed
        return {
            "position": self.position,
            "agreed_on": _iso(found.agreed_on),
            "on": _iso(found.on),
            "agreed": found.agreed.rounded().text,
            "now": found.now.rounded().text,
            "difference": self.line.amount.text,
            "borne_by": "" if more.amount <= 0 else "client" if found.difference.amount > 0 else "studio",
            "why": found.working.text,
        }


def moved_source(position: int) -> str:
    """The source of the charge for a moved day."""
    return f"move of day {position}"


def moved_days_of(
    folder: StudioFolder, days: JobDays, moves: Sequence[MoveRecord], positions: Iterable[int]
) -> list[MovedDay]:
    """Those of these days that ever moved, with what they cost by all `moves` of the job so far."""
    from bizkit.domain.pricing.actual_days import day_list
    from bizkit.domain.pricing.dearer_day import DayMove, dearer_day
    from bizkit.services.quoting.bookings import weather_of

    agreed = day_list(days.planned)
    mine = {place: [row for row in moves if row.position == place] for place in positions}
    if not any(mine.values()):
        return []
    plan = weather_of(folder, days.card, days.planned)
    result = []
    for place, rows in mine.items():
        if rows:
            steps = [DayMove(_day(row.moved_to), _client_bears(row, plan, moves)) for row in rows]
            found = dearer_day(
                days.card.crew,
                agreed[place - 1],
                steps,
                days.card.words,
                holiday=folder.holiday,
                where=days.planned.where,
            )
            result.append(MovedDay(place, found, _line(folder, days, found)))
    return result


def put_dearer(
    folder: StudioFolder,
    work: Connection,
    stamp: Stamp,
    days: JobDays,
    moves: Sequence[MoveRecord],
    positions: Iterable[int],
) -> list[DearerRow]:
    """Keep what moved days cost above the price agreed as charges, in the caller's transaction; a row for each.

    `to_invoice` of a row is the charge that is open now: what was billed or waived before is not charged again.
    """
    from bizkit.services.job.charges import put_difference

    rows: list[DearerRow] = []
    for one in moved_days_of(folder, days, moves, positions):
        source = moved_source(one.position)
        left = put_difference(work, stamp, days.job.key, "moved day", one.line, source=source)
        rows.append({**one.data(), "to_invoice": left.text})
    return rows


def _client_bears(move: MoveRecord, plan: WeatherPlan | None, moves: Sequence[MoveRecord]) -> bool:
    """Whether a dearer date of a move is the client's.

    The studio bears its own moves, and those of the weather where the quote sells waiting at a fixed price and the
    day stays within the hold days and the dates kept free for it. All others are the client's, as hold days are.
    """
    if move.why == "studio":
        return False
    if move.why != "weather" or plan is None or plan.request.charge != "expected":
        return True
    until = moves.index(move) + 1
    held = len({row.moved_from for row in moves[:until] if row.hold})
    first, to = plan.request.starts, _day(move.moved_to)
    kept = first is None or to is None or first <= to < first + timedelta(days=plan.booked_days)
    return held > plan.hold_days or not kept


def _line(folder: StudioFolder, days: JobDays, found: DearerDay) -> Line:
    from bizkit.domain.pricing.line import Line
    from bizkit.services.studio.wording import words_of

    currency = days.job.currency
    words = words_of(folder, days.quote.document)
    uplift = ", ".join(days.card.words[name] for name in found.uplifts)
    item = words.say(
        "charges.moved_day" if found.agreed_on else "charges.dated_day",
        agreed=words.day(_iso(found.agreed_on)),
        date=words.day(_iso(found.on)),
    )
    item = f"{item} ({uplift})" if uplift else item
    more, exchange = found.difference, days.planned.exchange
    line = Line("crew", item, Decimal(1), "day", more, more.rounded(), found.working)
    if exchange:
        line = exchange.line(line, currency)
    return replace(line, rate=line.amount)


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""


class DearerRow(TypedDict):
    """What a moved day costs above the price agreed. to_invoice: of it now, once it is charged."""

    position: int
    agreed_on: str
    on: str
    agreed: str
    now: str
    difference: str
    borne_by: str
    why: str
    to_invoice: NotRequired[str]
