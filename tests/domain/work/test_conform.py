"""Frame rates against each other, and the shutter that goes with them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.work.conform import conform, flickers, shutter_s, shutter_text
from bizkit.domain.work.spec import rate_text

FILM = Fraction(24000, 1001)


@pytest.mark.parametrize(
    ("material", "speed", "ten_seconds", "words"),
    [
        # Arithmetic; common practice: 50p on 25 is half speed, 100 a quarter; 23.976 to 25 is 25 x 1001 / 24000.
        (Fraction(50), Fraction(1, 2), 20, "half speed"),
        (Fraction(100), Fraction(1, 4), 40, "a quarter of the speed"),
        (FILM, Fraction(1001, 960), Fraction(9600, 1001), "104.27% of the speed"),
        (Fraction(25), 1, 10, "real time"),
        (Fraction(12), Fraction(25, 12), Fraction(24, 5), "208.33% of the speed"),
    ],
)
def test_material_on_a_25_timeline(material: Fraction, speed: Fraction, ten_seconds: Fraction, words: str) -> None:
    found = conform(material, Fraction(25))
    assert (found.speed, found.lasts_s(Fraction(10)), found.words) == (speed, ten_seconds, words)


def test_hints_say_what_to_do() -> None:
    assert conform(Fraction(50), Fraction(25)).hints() == (
        "Frame by frame it plays at half speed: 10 s become 20 s.",
        "For real time keep every second frame.",
        "Sound is no use at this speed: record it apart or take it from another shot.",
    )
    assert conform(FILM, Fraction(25)).hints() == (
        "Frame by frame it plays at 104.27% of the speed: 10 s become 9.59 s.",
        "Sound runs 4.27% faster with it: change its speed too, and correct the pitch.",
    )
    assert conform(Fraction(60), Fraction(25)).hints()[1] == (
        "Real time needs frames that were never shot: blending or made-up frames show in motion."
    )
    assert conform(FILM, FILM).hints() == ("23.976 frames a second fit the timeline as they are.",)


def test_the_shutter_at_100_frames_a_second_is_a_two_hundredth() -> None:
    # Common practice: the 180-degree rule.
    assert shutter_text(shutter_s(Fraction(100))) == "1/200 s"
    assert shutter_s(Fraction(25), Fraction(90)) == Fraction(1, 100)


def test_lamps_on_mains_power_are_safe_at_whole_pulses() -> None:
    # Common practice: 1/50 and 1/100 s under 50 Hz, 1/60 and 1/120 s under 60 Hz.
    assert [flickers(Fraction(1, n), 50) for n in (25, 50, 100, 60, 200)] == [False, False, False, True, True]
    assert [flickers(Fraction(1, n), 60) for n in (60, 120, 50)] == [False, False, True]


def test_rates_read_as_people_write_them() -> None:
    assert [rate_text(rate) for rate in (FILM, Fraction(30000, 1001), Fraction(25), Fraction("12.5"))] == [
        *("23.976", "29.97", "25", "12.5")
    ]


@pytest.mark.parametrize("rate", [0, -25, 10**6])
def test_rates_that_cannot_be_are_refused(rate: int) -> None:
    with pytest.raises(BadInput, match="material: wanted frames a second above 0"):
        conform(Fraction(rate), Fraction(25))


def test_shutters_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadInput, match="angle: wanted a shutter angle above 0 and up to 360 degrees, got 400"):
        shutter_s(Fraction(25), Fraction(400))
    with pytest.raises(BadInput, match="rate: wanted frames a second above 0, got 0"):
        shutter_s(Fraction(0))
    with pytest.raises(BadInput, match="mains_hz: wanted 50 or 60 Hz, got 55"):
        flickers(Fraction(1, 50), 55)


RATES = st.fractions(min_value=Fraction(1, 10), max_value=1000, max_denominator=1001)


@given(RATES, RATES, RATES)
def test_two_conforms_make_one_and_there_and_back_is_real_time(a: Fraction, b: Fraction, c: Fraction) -> None:
    assert conform(a, b).speed * conform(b, c).speed == conform(a, c).speed
    assert conform(b, a).lasts_s(conform(a, b).lasts_s(Fraction(10))) == 10
    # Frames are kept: as many leave the timeline as were shot.
    assert conform(a, b).lasts_s(Fraction(10)) * b == 10 * a
