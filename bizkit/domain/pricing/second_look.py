"""What in a brief or a rate card is allowed and yet looks like a slip of the pen: a second look, never a refusal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from bizkit.domain.money import plain
from bizkit.domain.names import nearly_same, same_name
from bizkit.domain.pricing.brief import Brief, Parts
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.shoot_day import ShootDay

#: Days of one job that lie further apart, or a due date that much later, are most often a slip of the year.
MOST_APART: Final = timedelta(days=183)
LONGEST_WAIT: Final = timedelta(days=366)
#: A longer day leaves fewer than 8 of 24 hours to rest in; 11 are the law (Directive 2003/88/EC article 3).
LONGEST_DAY: Final = 16 * 60
#: More units of anything than a job of two or three people has.
MOST_UNITS: Final = Decimal(10_000)


def look_at_brief(brief: Brief, card: RateCard, on: date, *, people: Sequence[str], sector: str) -> list[str]:
    """A sentence for each thing in a brief to be quoted on the day `on`.

    people: of the studio. sector: the client's line of business.
    """
    parts = {"": brief.parts, **{f"options.{key}.": option.parts for key, option in brief.options.items()}}
    found = []
    for place, one in parts.items():
        found += [f"{brief.where}: {place}{text}" for text in _look_at(one, brief, people, sector)]
    return [*found, *look_at_day(_first(brief), _last(brief), on), *_card_to_come(card, on)]


def look_at_day(first: date | None, last: date | None, on: date) -> list[str]:
    """A sentence where a quote is made, sent or accepted on a day after its work began. first, last: its days."""
    if first is None or first >= on:
        return []
    what = f"were over on {last}" if last and last < on else f"began on {first}"
    return [f"the days quoted {what}, before {on}: check the dates of the brief, and the day given with --on"]


def look_at_lines(lines: Sequence[Line]) -> list[str]:
    """A sentence for each line of more units than anybody shoots."""
    return [
        f"line {number}, {line.item}: {plain(line.quantity)} {line.unit} - is the quantity right?"
        for number, line in enumerate(lines, start=1)
        if abs(line.quantity) >= MOST_UNITS
    ]


def look_at_card(card: RateCard) -> list[str]:
    """A sentence for each price of nothing or of a part of the smallest coin, and for names that are hard to hit."""
    found = []
    rates = {f"crew.{key}.day_rate": role.day_rate for key, role in card.crew.roles.items()}
    rates |= {f"post.{key}.day_rate": work.day_rate for key, work in card.post.items()}
    rates |= {
        f"post.{key}.hour_rate": work.hour_rate for key, work in card.post.items() if work.hour_rate is not None
    }
    rates |= {f"costs.{key}.cost": kind.cost for key, kind in card.costs.items() if kind.cost is not None}
    kit = {f"kit.{key}.day_rate": item.day_rate for key, item in card.kit.items.items()}
    for place, rate in {**rates, **kit}.items():
        if not rate:
            found.append(f"{card.where}: {place} is 0: whoever asks for it pays nothing. Write what it costs")
    for place, rate in rates.items():
        if rate != rate.rounded():
            found.append(
                f"{card.where}: {place} is {rate}, with a part of the smallest coin: write {rate.rounded()}, or what "
                "else is meant"
            )
    for table, keys in (
        ("crew", card.crew.roles), ("kit", card.kit.items), ("post", card.post), ("costs", card.costs),
    ):  # fmt: skip
        for key in keys:
            if key != key.lower():
                found.append(
                    f"{card.where}: [{table}.{key}] has capitals, and briefs must write it just so: [{table}."
                    f"{key.lower()}] is what they look for"
                )
    return found


def _look_at(parts: Parts, brief: Brief, people: Sequence[str], sector: str) -> Iterator[str]:
    """What to look at in the tables of a brief or an option, each beginning with its place there."""
    before: tuple[int, date] | None = None
    for number, day in enumerate(parts.days, start=1):
        yield from _look_at_day(number, day, brief.asked_on, before)
        for seat, entry in enumerate(day.crew, start=1):
            meant = next((one for one in people if nearly_same(one, entry.person)), "")
            if meant and same_name(entry.person) not in map(same_name, people):
                yield (
                    f"days[{number}].crew[{seat}].person: {entry.person} is nobody of people in studio.toml. Did you "
                    f"mean {meant}?"
                )
        if day.last_date is not None:
            before = (number, day.last_date)
    last = _last(brief)
    due = {one.due_on: one.key for one in reversed(parts.deliverables) if one.due_on}
    for due_on, key in sorted(due.items()):
        if last and due_on > last + LONGEST_WAIT:
            yield f"{key}: due_on {due_on} is more than a year after the last day, {last}: check the year"
    licence = parts.licence
    if licence is not None:
        if licence.starts and last and abs(licence.starts - last) > LONGEST_WAIT:
            yield f"licence.starts {licence.starts} is more than a year from the last day, {last}: check the year"
        if nearly_same(licence.sector, sector):
            yield (
                f"licence.sector is {licence.sector}, but the client's file says {sector}: write both alike, as the "
                "licence protects only what is written the same"
            )


def _look_at_day(number: int, day: ShootDay, asked_on: date | None, before: tuple[int, date] | None) -> Iterator[str]:
    place = f"days[{number}]"
    if day.date is not None:
        if before is not None and day.date - before[1] > MOST_APART:
            apart = (day.date - before[1]).days
            yield f"{place}.date {day.date} is {apart} days after {before[1]}: check the year of both"
        if asked_on is not None and day.date < asked_on:
            yield f"{place}.date {day.date} lies before asked_on, {asked_on}: check the year of both"
    minutes = day.minutes_on_set if day.minutes_on_set is not None else day.minutes
    if minutes is not None and minutes > LONGEST_DAY:
        hours = plain(Decimal(minutes) / 60)
        if day.call is not None and day.wrap is not None:
            yield (
                f"{place}: from call {day.call:%H:%M} to wrap {day.wrap:%H:%M} is {hours} hours"
                f"{', into the next day' if day.wrap <= day.call else ''}: check both times"
            )
        else:
            yield f"{place}: {hours} hours of work in a day: check the number"


def _first(brief: Brief) -> date | None:
    return min((day.date for day in brief.days if day.date), default=None)


def _last(brief: Brief) -> date | None:
    return max((day.last_date for day in brief.days if day.last_date), default=None)


def _card_to_come(card: RateCard, on: date) -> list[str]:
    if on >= card.valid_from:
        return []
    return [f"{card.where}: valid_from {card.valid_from} is after {on}, the day of the quote: is it the right card?"]
