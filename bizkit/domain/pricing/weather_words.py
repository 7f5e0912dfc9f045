"""The sentences of a weather plan, in English; a card in another language gives its own under the same keys."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from bizkit.domain.pricing.sentences import number_in

#: key -> text; names in braces are filled in and must stay.
WEATHER_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "weather_item": "Weather hold days",
        "weather_one_day": "1 day",
        "weather_days": "{count} days",
        "weather_one_water_day": "1 water day",
        "weather_water_days": "{count} water days",
        "weather_one_dry_day": "1 dry day",
        "weather_dry_days": "{count} dry days",
        "weather_and": "{first} and {second}",
        "weather_keep": "The shoot needs {needed}. We keep {days} free{when}, {hold}.",
        "weather_on": " on {day}",
        "weather_from": " from {first} to {last}",
        "weather_no_hold": "none of them a hold day",
        "weather_one_hold": "1 of them a hold day",
        "weather_hold": "{count} of them hold days",
        "weather_in_a_row": (
            "The water days must follow each other; a run broken by weather starts again. "
            "A water day shot and then lost to a broken run is a shoot day and is charged as one."
        ),
        "weather_dry_on_rough": "Dry scenes are shot on days that are too rough for the water.",
        "weather_sure": "The chance of finishing within those days is {chance}%.",
        "weather_less_sure": (
            "The chance of finishing within those days is {chance}%, less than the {aim}% we aim for."
        ),
        "weather_booked": (
            "Each hold day is charged at {rate} ({percent}% of a full day), used or not, "
            "because no other work is taken for it."
        ),
        "weather_used": (
            "Each hold day used is charged at {rate} ({percent}% of a full day); those not used cost nothing."
        ),
        "weather_expected": (
            "The hold days are a fixed price: {days} at {rate} ({percent}% of a full day), "
            "the number used on average, however many of the {count} are used."
        ),
        "weather_fails": "If the weather still fails: {what}",
        "weather_move": (
            "the days still missing move to a new window that suits both of us, priced from the same rate card."
        ),
        "weather_extend": (
            "more hold days are added one at a time at the same rate, for as long as crew and kit are free."
        ),
        "weather_stop": (
            "we deliver from what has been shot, and shoot days that did not take place are not charged."
        ),
        "weather_date": "{day} {month} {year}",
        "weather_months": "January February March April May June July August September October November December",
    }
)


def counted(words: Mapping[str, str], kind: str, count: Decimal | int) -> str:
    """`count` days in words; kind: "days", "water_days" or "dry_days".

    >>> counted(WEATHER_WORDS, "water_days", 1), counted(WEATHER_WORDS, "days", Decimal("1.92"))
    ('1 water day', '1.92 days')
    """
    if count == 1:
        return words[f"weather_one_{kind.removesuffix('s')}"]
    return words[f"weather_{kind}"].format(count=number_in(words, count))


def written(words: Mapping[str, str], day: date) -> str:
    """A date in words: 10 May 2027."""
    month = words["weather_months"].split()[day.month - 1]
    return words["weather_date"].format(day=day.day, month=month, year=day.year)
