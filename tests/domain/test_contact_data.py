"""What reads like a telephone number or an address of electronic mail; numbers are those reserved for drama."""

from __future__ import annotations

import pytest

from bizkit.domain.contact_data import contact_data


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("call her on 01632 960111", ["01632 960111"]),
        ("call +44 (0)1632 960111 first", ["+44 (0)1632 960111"]),
        ("Tel. 01632/960-111.", ["01632/960-111"]),
        ("ring 07700\u00a0900\u2011123", ["07700\u00a0900\u2011123"]),
        ("0163 2 96 01 11", ["0163 2 96 01 11"]),
        ("write to Morag.Sinclair@selkie.example, please", ["Morag.Sinclair@selkie.example"]),
        ("morag (at) selkie.example", ["morag (at) selkie.example"]),
        ("not before 2027-07-01, 10:30", []),
        ("until 31.12.2028 or 31/12/28", []),
        ("in 2027 and 2028 for 24 months at 1920 x 1080", []),
        ("No bathers in the background", []),
        ("Credit: @kelptrust", []),
        ("at most 12,500 prints", []),
        ("up to 500000 impressions", []),
        ("for 1,000,000 views or 250 000 Aufrufe", []),
        ("500000 impressions, then ring 01632 960111", ["01632 960111"]),
        ("ring 960111 people", []),
        ("link to www.selkie.example when it is shared", []),
        ("https://wa.example/441632960111", ["441632960111"]),
    ],
)
def test_contact_data_is_found_and_dates_are_none(text, found):
    assert contact_data(text) == found
