"""The words that printed items are made of, in the language of the rate card."""

from __future__ import annotations

from collections.abc import Mapping

from bizkit.domain.fields import Fields

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
    "hold_days": "Weather hold days",
    "minimum": "Minimum fee",
    "rush": "Rush uplift",
    "contingency": "Contingency",
    "discount": "Discount: {reason}",
    "deal": "Drawn from {deal}",
    "paid_by_client": "paid by the client directly",
}


def read_words(fields: Fields) -> Mapping[str, str]:
    """The card's [words] over the English ones. Raises NotFound for an unknown key, BadInput for a lost {name}."""
    table = fields.table("words", optional=True)
    words = dict(ENGLISH)
    for key in table.names():
        if key not in ENGLISH:
            raise table.unknown(key, "word", key, ENGLISH)
        words[key] = table.text(key)
        for name in ("hours", "reason", "deal"):
            blank = "{" + name + "}"
            if (blank in words[key]) != (blank in ENGLISH[key]) or words[key].count("{") > 1:
                raise table.wrong(key, f"text like {ENGLISH[key]!r}", words[key])
    return words
