"""In-water kit: the fresh-water soak (24 h by default, common practice) and the service interval."""

from __future__ import annotations

import pytest

from bizkit.domain.pricing.kit_care import care_warnings

CREW = '[crew.camera]\ntitle = "Camera"\nday_rate = 1\n'
HOUSING = '[kit.housing]\ntitle = "Housing"\nday_rate = 100\nin_water = true\n'


@pytest.fixture
def warnings(card, brief):
    return lambda card_text, days: care_warnings(card(CREW + card_text).kit, brief(days).days)


def day(on: str, more: str = "", kind: str = "water", kit: str = '["housing"]') -> str:
    return f'[[days]]\ndate = {on}\nkind = "{kind}"\nkit = {kit}\n{more}\n'


TWO_DAYS = day("2027-05-10") + day("2027-05-11")


def test_one_housing_on_two_water_days_in_a_row_is_still_soaking(warnings):
    assert warnings(HOUSING, TWO_DAYS) == [
        "Housing is still in its 24 h soak on 2027-05-11: plan 1 more, a spare, or a day between"
    ]


def test_a_day_between_is_enough(warnings):
    assert warnings(HOUSING, day("2027-05-10") + day("2027-05-12")) == []


def test_a_second_housing_or_a_spare_is_enough(warnings):
    assert warnings(HOUSING + "owned = 2\n", TWO_DAYS) == []
    spare = "spares = { housing = 1 }"
    assert warnings(HOUSING, day("2027-05-10", spare) + day("2027-05-11", spare)) == []


def test_three_days_in_a_row_need_only_two(warnings):
    assert warnings(HOUSING + "owned = 2\n", day("2027-05-10", "count = 3")) == []
    assert warnings(HOUSING, day("2027-05-10", "count = 3")) == [
        "Housing is still in its 24 h soak on 2027-05-11, 2027-05-12: plan 1 more, a spare, or a day between"
    ]


def test_the_soak_counts_from_wrap_to_call(warnings):
    late = day("2027-05-10", 'call = "06:00"\nwrap = "12:00"') + day("2027-05-11", 'call = "12:00"\nwrap = "18:00"')
    assert warnings(HOUSING, late) == []  # exactly 24 h
    assert warnings(HOUSING, late.replace('call = "12:00"', 'call = "11:59"')) != []


def test_the_soak_is_a_setting_and_fresh_water_needs_none(warnings):
    assert warnings(HOUSING + "[hire]\nsoak_hours = 12\n", TWO_DAYS) == []
    assert warnings(HOUSING, day("2027-05-10", "fresh_water = true") + day("2027-05-11")) == []


def test_a_housing_inside_a_bundle_soaks_too(warnings):
    bundle = HOUSING + '[bundles.set]\ntitle = "Set"\nitems = ["housing"]\n'
    days = day("2027-05-10", kit='["set"]') + day("2027-05-11")
    assert warnings(bundle, days) != []


def test_dry_kit_never_soaks(warnings):
    assert warnings(HOUSING.replace("in_water = true", "in_water = false"), TWO_DAYS) == []


def test_a_dry_day_after_the_water_still_finds_it_soaking(warnings):
    assert warnings(HOUSING, day("2027-05-10") + day("2027-05-11", kind="dry")) != []


def test_a_job_that_passes_the_service_date_is_told(warnings):
    served = HOUSING + "serviced_on = 2026-05-11\nservice_every_days = 365\n"
    assert warnings(served, day("2027-05-11")) == []
    assert warnings(served, day("2027-05-12")) == [
        "Housing is due for service on 2027-05-11, before its last day of use on 2027-05-12"
    ]


def test_a_job_that_passes_the_service_dives_is_told(warnings):
    served = HOUSING + "dives_since_service = 90\nservice_every_dives = 100\n"
    assert warnings(served, day("2027-05-10", "dives = 10")) == []
    assert warnings(served, day("2027-05-10", "dives = 6") + day("2027-05-13", "dives = 5")) == [
        "Housing is due for service after 100 dives: 90 so far + 11 planned = 101"
    ]
