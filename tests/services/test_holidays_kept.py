"""Holidays are kept in the user's cache under the library's version; what is there never changes what is said."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, timedelta

import holidays
import pytest

from bizkit.domain.errors import NotFound
from bizkit.services.studio import holidays_here
from bizkit.services.studio.holidays_here import public_holidays


@pytest.fixture(autouse=True)
def cache_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    holidays_here._calendar.cache_clear()
    yield tmp_path / "cache"
    holidays_here._calendar.cache_clear()


@pytest.mark.parametrize(
    ("country", "subdivision"), [("GB", "SCT"), ("DE", "BY"), ("DE", ""), ("US", "CA"), ("XX", "")]
)
def test_what_is_kept_is_what_the_library_says(country, subdivision, cache_folder):
    known = (
        holidays.country_holidays(country, subdiv=subdivision or None, years=range(2026, 2031))
        if country != "XX"
        else {}
    )
    for _ in range(2):  # worked out, then read
        holidays_here._calendar.cache_clear()
        holiday = public_holidays(country, subdivision)
        first = date(2026, 1, 1)
        days = [first + timedelta(days=number) for number in range(5 * 365)]
        assert [day for day in days if holiday(day)] == [day for day in days if day in known]
    assert len(list(cache_folder.rglob("*.json"))) == (country != "XX")


@pytest.mark.parametrize("rubbish", ["", "[]", "{}", '{"2027": 5}', '{"2027": ["soon"]}', "\x00\xff", '{"x": []}'])
def test_rubbish_in_the_cache_changes_nothing(cache_folder, rubbish):
    assert public_holidays("GB", "SCT")(date(2027, 1, 2))
    (file,) = cache_folder.rglob("*.json")
    file.write_text(rubbish, encoding="utf-8")
    holidays_here._calendar.cache_clear()
    assert public_holidays("GB", "SCT")(date(2027, 1, 2))
    assert not public_holidays("GB", "SCT")(date(2027, 1, 5))


def test_nowhere_to_keep_it_is_no_fault(monkeypatch, tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    assert public_holidays("GB", "SCT")(date(2027, 1, 2))


def test_a_subdivision_that_is_none_is_named(cache_folder):
    with pytest.raises(NotFound, match="subdivision"):
        public_holidays("GB", "Nowhere")(date(2027, 1, 2))


def test_the_library_is_not_loaded_for_a_year_that_is_kept(cache_folder):
    public_holidays("GB", "SCT")(date(2027, 1, 2))
    look = (
        "import sys; from datetime import date; "
        "from bizkit.services.studio.holidays_here import public_holidays as p; "
        "print(p('GB', 'SCT')(date(2027, 1, 2)), 'holidays' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "False"]
