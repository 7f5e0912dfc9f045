"""What looks like a slip of the pen in what a quote is made of, told before it goes out and as it does."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from bizkit.domain.parties import Client
from bizkit.domain.pricing.second_look import look_at_brief, look_at_day, look_at_lines
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.estimate import Estimate


def look_at(
    folder: StudioFolder,
    client: Client,
    card: RateCard,
    brief: Brief,
    estimate: Estimate,
    on: date,
) -> list[str]:
    """A sentence for each thing to look at in a brief that is priced on a day."""
    found = look_at_brief(brief, card, on, people=folder.studio.people, sector=client.sector)
    return [*found, *look_at_lines(estimate.lines)]


def look_at_dates(document: Mapping[str, Any], on: date) -> list[str]:
    """A sentence where a quote goes out, or is accepted, on a day after its work began."""
    from datetime import timedelta

    days = [(date.fromisoformat(day["date"]), day["count"]) for day in document["days"] if day["date"]]
    first = min((day for day, _ in days), default=None)
    last = max((day + timedelta(days=count - 1) for day, count in days), default=None)
    return look_at_day(first, last, on)
