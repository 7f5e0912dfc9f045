"""The words that printed items are made of, in the language of the rate card."""

from __future__ import annotations

from collections.abc import Mapping
from string import Formatter

from bizkit.domain.inputs.reading import Table
from bizkit.domain.pricing.cancellation import WORDS as CANCELLATION_WORDS
from bizkit.domain.pricing.weather_words import WEATHER_WORDS

#: English; a card in another language gives its own under [words].
ENGLISH: Mapping[str, str] = {
    "and": "and",
    "water": "water day",
    "dry": "dry day",
    "prep": "prep day",
    "recce": "recce day",
    "travel": "travel day",
    "short_travel": "short travel day",
    "hold": "hold day",
    "wrap": "wrap day",
    "half_day": "half day",
    "by_hour": "by the hour",
    "overtime": "{hours} h overtime",
    "night": "night",
    "saturday": "Saturday",
    "sunday": "Sunday",
    "holiday": "public holiday",
    "rest": "short rest",
    "spare": "spare",
    "insurance": "Kit insurance",
    "mileage": "Mileage",
    "licence": "Licence",
    "cut_length": "{title}: further lengths",
    "cut_shape": "{title}: further shapes",
    "cut_captions": "{title}: captioned copies",
    "cut_master": "{title}: master",
    "minimum": "Minimum fee",
    "rush": "Rush uplift",
    "contingency": "Contingency",
    "discount": "Discount: {reason}",
    "deal": "Drawn from {deal}",
    "paid_by_client": "paid by the client directly",
    # How figures inside items and sentences are written; the reader's locale says it where the card does not.
    "decimal_sign": ".",
    "money": "{currency} {amount}",
}


#: Every word a card may give: these, and those of the weather plan and of cancelling.
ALL_ENGLISH: Mapping[str, str] = {**ENGLISH, **WEATHER_WORDS, **CANCELLATION_WORDS}


def card_words(said: Mapping[str, str], at: Table) -> Mapping[str, str]:
    """The card's [words] over the English ones; reports a text that loses one of the {names}, or has others."""
    words = dict(ALL_ENGLISH)
    for key, text in said.items():
        if _names(text) != _names(ALL_ENGLISH[key]):
            at.problem(f"words.{key}", f"text like {ALL_ENGLISH[key]!r}", text)
        words[key] = (" " if ALL_ENGLISH[key].startswith(" ") else "") + text
    return words


def _names(text: str) -> list[str] | None:
    """The {names} in a text, sorted; None where braces are used in any other way."""
    try:
        parsed = list(Formatter().parse(text))
    except ValueError:
        return None
    if any(spec or conversion for _, _, spec, conversion in parsed):
        return None
    return sorted(name for _, name, _, _ in parsed if name is not None)
