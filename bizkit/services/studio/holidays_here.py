"""Public holidays of one country and subdivision, from the holidays library."""

from __future__ import annotations

from collections.abc import Container
from datetime import date
from functools import cache

from bizkit.domain.dates import DayOff, weekend
from bizkit.domain.errors import NotFound


def days_off(country: str, subdivision: str) -> DayOff:
    """Weekends and public holidays, looked up when first asked.

    Then raises NotFound for a subdivision the country does not have. A country the library does not know has
    weekends only.
    """

    @cache
    def day_off(day: date) -> bool:
        return weekend(day) or day in _calendar(country, subdivision)

    return day_off


def public_holidays(country: str, subdivision: str) -> DayOff:
    """Public holidays alone, looked up when first asked; otherwise as `days_off`."""

    def holiday(day: date) -> bool:
        return day in _calendar(country, subdivision)

    return holiday


@cache
def _calendar(country: str, subdivision: str) -> Container[date]:
    import holidays

    known = holidays.list_supported_countries()
    if country not in known:
        return frozenset()
    if subdivision and subdivision not in known[country]:
        raise NotFound("subdivision", subdivision, known[country], field="subdivision", where="studio.toml")
    return holidays.country_holidays(country, subdiv=subdivision or None)
