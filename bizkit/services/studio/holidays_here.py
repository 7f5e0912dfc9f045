"""Public holidays of one country and subdivision, from the holidays library.

The library takes a tenth of a second to load, so the days of a year are kept in the user's cache under its version:
what is kept there is what it says, and may be deleted at any time.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from importlib.metadata import version
from pathlib import Path

from bizkit.domain.dates import DayOff, iso_date, weekend
from bizkit.domain.errors import BizkitError, NotFound
from bizkit.services.studio.user_folder import user_folder


def days_off(country: str, subdivision: str) -> DayOff:
    """Weekends and public holidays, looked up when first asked.

    Then raises NotFound for a subdivision the country does not have. A country the library does not know has
    weekends only.
    """

    @cache
    def day_off(day: date) -> bool:
        return weekend(day) or day in _calendar(country, subdivision).of_year(day.year)

    return day_off


def public_holidays(country: str, subdivision: str) -> DayOff:
    """Public holidays alone, looked up when first asked; otherwise as `days_off`."""

    def holiday(day: date) -> bool:
        return day in _calendar(country, subdivision).of_year(day.year)

    return holiday


@dataclass(slots=True)
class _Calendar:
    """Holidays by year, as far as they were asked for."""

    country: str
    subdivision: str
    years: dict[int, frozenset[date]] = field(default_factory=dict)

    def of_year(self, year: int) -> frozenset[date]:
        """The holidays of a year: from the cache, else from the library."""
        if year not in self.years:
            kept = _kept(self.country, self.subdivision).get(year)
            self.years[year] = self._worked_out(year) if kept is None else kept
        return self.years[year]

    def _worked_out(self, year: int) -> frozenset[date]:
        import holidays

        known = holidays.list_supported_countries()
        if self.country not in known:
            return frozenset()
        if self.subdivision and self.subdivision not in known[self.country]:
            raise NotFound(
                "subdivision", self.subdivision, known[self.country], field="subdivision", where="studio.toml"
            )
        found = holidays.country_holidays(self.country, subdiv=self.subdivision or None, years=year)
        days = frozenset(day for day in found if day.year == year)
        _keep(self.country, self.subdivision, year, days)
        return days


@cache
def _calendar(country: str, subdivision: str) -> _Calendar:
    return _Calendar(country, subdivision)


def _file(country: str, subdivision: str) -> Path:
    """Where the days of one place are kept, by the version of the library."""
    place = "-".join(part for part in (country, subdivision) if part)
    return user_folder("cache") / f"holidays-{version('holidays')}" / f"{place}.json"


def _kept(country: str, subdivision: str) -> dict[int, frozenset[date]]:
    try:
        found = json.loads(_file(country, subdivision).read_text(encoding="utf-8"))
        return {int(year): frozenset(iso_date(day) for day in days) for year, days in found.items()}
    except (OSError, ValueError, BizkitError, AttributeError, TypeError, RuntimeError):
        return {}  # not there, or not as it was written: the library says it


def _keep(country: str, subdivision: str, year: int, days: frozenset[date]) -> None:
    try:
        file = _file(country, subdivision)
        known = {**_kept(country, subdivision), year: days}
        text = json.dumps({str(one): sorted(day.isoformat() for day in known[one]) for one in known})
        file.parent.mkdir(parents=True, exist_ok=True)
        fresh = file.with_name(f"{file.name}.{os.getpid()}")
        fresh.write_text(text, encoding="utf-8")
        fresh.replace(file)
    except (OSError, RuntimeError):
        pass  # nowhere to keep it: it is worked out again
