"""The rate card: read whole, counted."""

from __future__ import annotations

from typing import TypedDict

from bizkit.domain.pricing.second_look import look_at_card
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.canonical import sha256


def check_rates(folder: StudioFolder) -> RatesChecked:
    """Read the studio's details and the whole rate card. Raises BadInput for the first thing that is wrong."""
    studio, card = folder.studio, folder.card
    return {
        "name": card.name,
        "studio": studio.name,
        "currency": card.currency,
        "from": card.valid_from.isoformat(),
        "sha256": sha256(folder.card_file.text),
        "looks": look_at_card(card),
        "counts": {
            "crew roles": len(card.crew.roles),
            "kit items and bundles": len(card.kit.items),
            "kinds of post work": len(card.post),
            "kinds of cost": len(card.costs),
            "deals": len(card.deals),
        },
    }


#: A rate card read whole: since when it holds, what is worth a look, and how much there is of each kind.
RatesChecked = TypedDict(
    "RatesChecked",
    {
        "name": str, "studio": str, "currency": str, "from": str, "sha256": str, "looks": list[str],
        "counts": dict[str, int],
    },
)  # fmt: skip
