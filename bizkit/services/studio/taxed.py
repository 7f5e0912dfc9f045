"""How a client is taxed, the reason said in the client's language."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import NotFound
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.billing.tax import TaxTreatment
    from bizkit.domain.parties import Client


def treated(folder: StudioFolder, client: Client, on: date) -> TaxTreatment:
    """`domain.billing.tax.treatment`, in the words that `[tax]` of the client's language has, else in English."""
    from bizkit.domain.billing.tax import in_english, treatment
    from bizkit.services.studio.wording import wording

    studio = folder.studio

    def say(name: str, **values: str) -> str:
        try:
            words = wording(folder, client.language or studio.language, client.locale or studio.locale)
        except NotFound:
            return in_english(name, **values)
        return words.say(f"tax.{name}", **values)

    return treatment(studio, client, on, say)
