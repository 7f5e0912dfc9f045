"""A rate card whose words write figures as the reader of its papers does."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from bizkit.domain.pricing.card import RateCard


#: What the library of locales says of the commonest, so that pricing a brief can do without it.
AT_HAND: Final = {
    ("en_GB", "GBP"): {"thousands_sign": ",", "decimal_sign": ".", "money": "£{amount}"},
}


def in_readers_hand(card: RateCard, locale: str, currency: str) -> RateCard:
    """The card with the signs and the form of money of a locale among its words, where it gives none itself."""
    from bizkit.domain.pricing.words import ENGLISH

    own = {name: text for name, text in card.words.items() if text != ENGLISH.get(name)}
    hand = AT_HAND.get((locale, currency)) or hand_of(locale, currency)
    return replace(card, words={**card.words, **hand, **own})


@lru_cache(maxsize=32)
def hand_of(locale: str, currency: str) -> dict[str, str]:
    """How a locale writes figures: its signs, and an amount of a currency."""
    from bizkit.papers.locale import Drawn

    drawn = Drawn(locale, "en")
    # 11,111.25 or 11.111,25: the sign after two digits, and the one before the last two.
    sample, one = drawn.figure("11111.25", "EUR"), drawn.figure("1", currency)
    return {
        "thousands_sign": sample[2],
        "decimal_sign": sample[-3],
        "money": drawn.money("1", currency).replace(one, "{amount}"),
    }
