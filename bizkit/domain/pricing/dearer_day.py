"""A day that moved to a dearer date - a Saturday, a Sunday, a public holiday - against the price agreed for it.

What is agreed is the price of the day on the date quoted. The crew that works it is paid by the date it falls on, so
the difference is due; kit knows no dearer days. Whoever moved the day bears it: the client where it asked for the
move or the weather made it, the studio where the studio did. A cheaper date gives nothing back by itself. Source:
the uplifts are the card's own; who bears them is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.dates import DayOff
from bizkit.domain.money import Money, total
from bizkit.domain.pricing.crew_days import crew_on, who_of
from bizkit.domain.pricing.crew_pay import DayPay
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.shoot_day import CrewEntry, ShootDay
from bizkit.domain.pricing.working import Working

#: The uplifts that a date alone can bring, as `day_pay` notes them.
BY_DATE = ("saturday", "sunday", "holiday")


@dataclass(frozen=True, slots=True)
class DayMove:
    """One move of a day. to: where it went, None: open. client_bears: whether a dearer date is the client's."""

    to: date | None
    client_bears: bool


@dataclass(frozen=True, slots=True)
class DearerDay:
    """What a moved day costs more than agreed. agreed, now: crew of the day on the date quoted and where it is now.

    difference: what the client bears of it, zero or more, exact. uplifts: names of `BY_DATE` that apply now.
    """

    agreed_on: date | None
    on: date | None
    agreed: Money
    now: Money
    difference: Money
    uplifts: tuple[str, ...]
    working: Working


def borne(agreed: Decimal, moves: Iterable[tuple[Decimal, bool]]) -> Decimal:
    """What the client bears above `agreed` after these moves: (price on the date moved to, client bears it).

    While everything is the client's, this is the price where the day ended less the price agreed, and never less than
    nothing; the way there does not count. A step that is the studio's raises nothing, and what it has taken on
    before, it keeps until the day is cheaper again.

    >>> borne(Decimal(100), [(Decimal(150), True), (Decimal(200), True), (Decimal(150), True)])
    Decimal('50')
    >>> borne(Decimal(100), [(Decimal(150), False), (Decimal(200), True)])
    Decimal('50')
    """
    level = agreed
    gap = Decimal(0)
    for price, client_bears in moves:
        price = max(price, agreed)
        level = max(min(level, price), price - gap) if client_bears else min(level, price)
        gap = price - level
    return level - agreed


def without_detours(agreed_on: date | None, moves: Sequence[DayMove]) -> tuple[DayMove, ...]:
    """The moves that brought a day where it is: what lies between two stays on one date is left out.

    A day that comes back to a date is as it was there, whoever sent it round.

    >>> there = DayMove(date(2027, 5, 15), client_bears=False)
    >>> around = [there, DayMove(date(2027, 5, 16), True), DayMove(date(2027, 5, 15), False)]
    >>> without_detours(date(2027, 5, 12), around) == (there,)
    True
    """
    path: list[DayMove] = []
    for move in moves:
        stays = [agreed_on, *(one.to for one in path)]
        path = path[: stays.index(move.to)] if move.to in stays else [*path, move]
    return tuple(path)


def dearer_day(
    terms: CrewTerms,
    day: ShootDay,
    moves: Sequence[DayMove],
    words: Mapping[str, str],
    *,
    holiday: DayOff,
    where: str = "",
) -> DearerDay:
    """Compare a single day after its moves with the day agreed; `day.date` is the date quoted, None: open.

    An open day was agreed without the uplift of any date. A detour back to a date counts for nothing.
    """
    moves = without_detours(day.date, moves)

    def paid(on: date | None) -> list[tuple[CrewEntry, DayPay]]:
        return crew_on(terms, day, on, words, holiday=holiday, where=where)

    def price(on: date | None) -> Money:
        return total((pay.times(entry.people) for entry, pay in paid(on)), currency)

    currency = next(iter(terms.roles.values())).day_rate.currency
    on = moves[-1].to if moves else day.date
    agreed, now = price(day.date), price(on)
    more = Money(borne(agreed.amount, [(price(one.to).amount, one.client_bears) for one in moves]), currency)
    here = paid(on)
    notes = {note for _, pay in here for note in pay.notes}
    quoted = f"agreed for {day.date}" if day.date else "agreed without a date"
    text = f"{on or 'open'}: the crew costs {shown(now)}, {quoted} were {shown(agreed)} = {shown(more)} more"
    if more.amount < max(now - agreed, Money(0, currency)).amount:
        text += ", the rest is the studio's own move"
    steps = tuple(
        Working(f"{who_of(entry)}: {pay.steps}", "crew.moved_entry", pay.times(entry.people)) for entry, pay in here
    )
    inputs = (("agreed", agreed.text), ("now", now.text))
    working = Working(text, "crew.moved", more, "common practice", inputs, steps)
    return DearerDay(day.date, on, agreed, now, more, tuple(one for one in BY_DATE if one in notes), working)
