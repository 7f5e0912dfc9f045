"""How a client is taxed, the reason said in the client's language."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import wording

if TYPE_CHECKING:
    from bizkit.domain.billing.tax import TaxTreatment
    from bizkit.domain.parties import Client


def treated(folder: StudioFolder, client: Client, on: date) -> TaxTreatment:
    """`domain.billing.tax.treatment`, in the words that `[tax]` of the client's language has."""
    from bizkit.domain.billing.tax import treatment

    studio = folder.studio
    words = wording(folder, client.language or studio.language, client.locale or studio.locale)
    return treatment(studio, client, on, lambda name, **values: words.say(f"tax.{name}", **values))
