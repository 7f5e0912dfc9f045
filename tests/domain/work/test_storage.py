"""Cards and drives from minutes and bit rates."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.storage import Rushes, StorageTerms, estimate_storage, gb_text

TERMS = StorageTerms(Decimal(256), Decimal(2000), 3, Decimal(10))


def rushes(toml: str) -> Rushes:
    return read_input(Rushes, tomllib.loads(toml, parse_float=Decimal), where="brief.toml", path="rushes[1]")


@pytest.mark.parametrize(
    ("mbit", "gb"),
    [
        ("100", "45"),  # 100 Mbit/s x 3600 s / 8 = 45 GB an hour: arithmetic
        ("184", "82.8"),  # a codec maker's white paper prints 184 Mb/s and 83 GB an hour for 1080p25 (from memory)
        ("8.5", "3.8"),  # 3.825
    ],
)
def test_an_hour_at_a_bit_rate_fills(mbit: str, gb: str) -> None:
    assert gb_text(Rushes("camera", Decimal(60), Decimal(mbit)).bytes_per_day) == gb


def test_the_bit_rate_grows_with_the_frame_rate() -> None:
    slow = rushes(
        "title = 'water camera'\nminutes_per_day = 40\nbit_rate_mbit = 200\n"
        "for_frame_rate = '25'\nframe_rate = '100'\ndays = 3"
    )
    # 40 x 60 x 200 x 4 / 8 = 240,000 MB.
    assert slow.bytes_per_day == 240 * 10**9
    assert slow.working.text == (
        "water camera: 40 min x 60 s x 200 Mbit/s x 100/25 frames a second / 8 = 240 GB a day"
    )


def test_cards_for_a_day_and_drives_for_the_job() -> None:
    # Water camera 240 GB a day for 3 days, drone 45 GB a day for 2: 285 a day, 810 in all.
    # With 10 % room: 264 GB on 256 GB cards = 2, 49.5 = 1; 891 GB on a 500 GB drive = 2, three copies = 6.
    water = Rushes("water camera", Decimal(40), Decimal(800), 3)
    drone = Rushes("drone", Decimal(60), Decimal(100), 2)
    found = estimate_storage([water, drone], StorageTerms(Decimal(256), Decimal(500), 3, Decimal(10)))
    assert found.cards == (("water camera", 2), ("drone", 1))
    assert (found.bytes_per_day, found.bytes_total, found.drives) == (285 * 10**9, 810 * 10**9, 2)
    assert found.working.text == "810 GB + 10% room on drives of 500 GB = 2, x 3 copies = 6"
    assert found.data()["working"]["parts"][2]["text"] == ("water camera: 240 GB + 10% room on cards of 256 GB = 2")


def test_terms_have_defaults() -> None:
    assert read_input(StorageTerms, {"card_gb": 256, "drive_gb": 2000}) == TERMS


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        (
            "title = 'a'\nminutes_per_day = -1\nbit_rate_mbit = 1",
            "brief.toml: rushes[1].minutes_per_day: wanted a number 0..1440, got -1",
        ),
        (
            "title = 'a'\nminutes_per_day = 1\nbit_rate_mbit = 1\nframe_rate = '25'",
            "brief.toml: rushes[1].frame_rate: wanted both for_frame_rate and frame_rate, or neither, "
            "got one of them",
        ),
        (
            "title = 'a'\nminutes_per_day = 1\nbit_rate_mbit = 1\nframe_rate = '29.97'",
            'brief.toml: rushes[1].frame_rate: wanted a frame rate as a fraction, got 29.97. Write "30000/1001"',
        ),
        (
            "title = 'a'\nminutes_per_day = 1\nbitrate = 1",
            "brief.toml: rushes[1].bit_rate_mbit: wanted a number 0..1000000, got nothing. "
            "The file says bitrate: write bit_rate_mbit",
        ),
    ],
)
def test_rushes_that_cannot_be_are_refused_a_line_a_problem(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        rushes(toml)
    assert str(error.value) == line


def test_estimates_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadInput, match=r"rushes: wanted one \[\[rushes\]\] or more, got none"):
        estimate_storage([], TERMS)
    with pytest.raises(BadInput, match="wanted each title once, got a twice"):
        estimate_storage([Rushes("a", Decimal(1), Decimal(1))] * 2, TERMS)
    with pytest.raises(BadInput, match=r"storage\.card_gb: wanted more than 0, got 0"):
        read_input(StorageTerms, {"card_gb": 0, "drive_gb": 1}, where="s", path="storage")


AMOUNT = st.decimals(0, 1440, places=2)


@given(AMOUNT, st.decimals(0, 5000, places=1), st.integers(1, 30), st.integers(1, 4000), st.integers(0, 50))
def test_drives_always_hold_what_is_shot_and_never_one_too_many(
    minutes: Decimal, mbit: Decimal, days: int, drive: int, spare: int
) -> None:
    terms = StorageTerms(Decimal(128), Decimal(drive), 2, Decimal(spare))
    found = estimate_storage([Rushes("a", minutes, mbit, days)], terms)
    need = Fraction(minutes) * 60 * Fraction(mbit) * 125_000 * days * (100 + spare) / 100
    # Rounding up to whole bytes may add less than one byte a day.
    assert need <= found.drives * drive * 10**9
    assert (found.drives - 1) * drive * 10**9 < need + days * 2
