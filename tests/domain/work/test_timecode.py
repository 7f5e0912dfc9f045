"""Timecode by SMPTE ST 12-1: published values, and every name of an hour counted one by one."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.work.timecode import (
    can_drop,
    frame_at,
    frames_in_day,
    names_per_second,
    read_timecode,
    seconds_at,
    write_timecode,
)

NTSC = Fraction(30000, 1001)
NTSC_60 = Fraction(60000, 1001)
FILM = Fraction(24000, 1001)


@pytest.mark.parametrize(
    ("text", "frame"),
    [
        # SMPTE ST 12-1, drop-frame at 29.97.
        ("00:00:00;00", 0),
        ("00:00:59;29", 1799),
        ("00:01:00;02", 1800),
        ("00:10:00;00", 17982),
        ("01:00:00;00", 107892),
        # 24 h x 107,892 = 2,589,408 names, the last of them one less.
        ("23:59:59;29", 2589407),
    ],
)
def test_drop_frame_counts_as_smpte_12_1(text: str, frame: int) -> None:
    assert read_timecode(text, NTSC) == frame
    assert write_timecode(frame, NTSC, drop=True) == text


@pytest.mark.parametrize("text", ["00:01:00;00", "00:01:00;01", "00:59:00;00", "23:01:00;01"])
def test_names_that_drop_frame_leaves_out_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match=r"wanted a timecode that exists, got .* leaves out frames 00\.\.01"):
        read_timecode(text, NTSC)


def names_one_by_one(rate: Fraction, dropped: int, minutes: int) -> Iterator[str]:
    """The rule of ST 12-1 word for word: skip the first names of every minute except each tenth."""
    for minute in range(minutes):
        for second in range(60):
            for frame in range(names_per_second(rate)):
                if second == 0 and frame < dropped and minute % 10:
                    continue
                yield f"{minute // 60:02d}:{minute % 60:02d}:{second:02d};{frame:02d}"


@pytest.mark.parametrize(("rate", "dropped", "minutes"), [(NTSC, 2, 21), (NTSC_60, 4, 12)])
def test_every_frame_has_the_name_found_by_counting(rate: Fraction, dropped: int, minutes: int) -> None:
    for frame, name in enumerate(names_one_by_one(rate, dropped, minutes)):
        assert write_timecode(frame, rate, drop=True) == name
        assert read_timecode(name, rate) == frame


def test_an_hour_of_drop_frame_is_an_hour_to_a_tenth_of_a_second() -> None:
    # 107,892 frames x 1001/30000 s = 3599.9964 s; without dropping 108,000 names take 3603.6 s.
    assert seconds_at(107892, NTSC) == Fraction("3599.9964")
    assert seconds_at(108000, NTSC) == Fraction("3603.6")


def test_other_rates_count_every_name() -> None:
    assert read_timecode("01:00:00:00", Fraction(25)) == 90000
    assert read_timecode("00:01:00:00", NTSC) == 1800
    assert read_timecode("00:00:01:23", FILM) == 47
    assert write_timecode(90061, Fraction(25)) == "01:00:02:11"
    assert write_timecode(119, Fraction(120)) == "00:00:00:119"
    assert frames_in_day(Fraction(25)) == 2160000


def test_only_slowed_multiples_of_thirty_can_drop() -> None:
    rates = [NTSC, NTSC_60, Fraction(120000, 1001), Fraction(30), Fraction(25), FILM]
    assert [can_drop(rate) for rate in rates] == [True, True, True, False, False, False]


@pytest.mark.parametrize(
    ("text", "rate", "line"),
    [
        ("1:2:3:4", Fraction(25), "timecode: wanted a timecode as HH:MM:SS:FF or HH:MM:SS;FF, got 1:2:3:4"),
        ("00:00:00:25", Fraction(25), "timecode: wanted a timecode up to 23:59:59:24, got 00:00:00:25"),
        ("24:00:00:00", Fraction(25), "timecode: wanted a timecode up to 23:59:59:24, got 24:00:00:00"),
        ("00:60:00:00", Fraction(25), "timecode: wanted a timecode up to 23:59:59:24, got 00:60:00:00"),
        ("٠٠:00:00:00", Fraction(25), "timecode: wanted a timecode as HH:MM:SS:FF or HH:MM:SS;FF, got ٠٠:00:00:00"),
        (
            "00:00:00;00",
            Fraction(25),
            "timecode: wanted a timecode with colons, as 25 frames a second have no drop-frame, got 00:00:00;00",
        ),
        (
            "00:00:00:00",
            Fraction("29.97"),
            "frame_rate: wanted frames a second such as 25, 24000/1001 or 30000/1001, got 2997/100",
        ),
    ],
)
def test_what_names_no_frame_is_refused_in_one_line(text: str, rate: Fraction, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read_timecode(text, rate)
    assert str(error.value) == line


@pytest.mark.parametrize("frame", [-1, 2589408])
def test_frames_outside_the_day_have_no_name(frame: int) -> None:
    with pytest.raises(BadInput, match="within one day"):
        write_timecode(frame, NTSC, drop=True)


RATES = st.sampled_from([Fraction(n) for n in (24, 25, 30, 50, 60, 100)] + [FILM, NTSC, NTSC_60])


@given(RATES, st.integers(0, 2_000_000), st.booleans())
def test_writing_and_reading_go_round(rate: Fraction, frame: int, drop: bool) -> None:
    drop = drop and can_drop(rate)
    assert read_timecode(write_timecode(frame, rate, drop=drop), rate) == frame


@given(RATES, st.integers(0, 10**7))
def test_the_frame_on_screen_at_its_own_time_is_itself(rate: Fraction, frame: int) -> None:
    assert frame_at(seconds_at(frame, rate), rate) == frame
    assert frame_at(seconds_at(frame + 1, rate) - Fraction(1, 10**9), rate) == frame


@given(
    st.text(max_size=14) | st.from_regex(r"[0-9]{2}[:;][0-9]{2}[:;][0-9]{2}[:;.][0-9]{2,3}", fullmatch=True), RATES
)
@example("00:01:00;00", NTSC)
def test_no_text_whatever_gives_worse_than_bad_input(text: str, rate: Fraction) -> None:
    try:
        frame = read_timecode(text, rate)
    except BadInput:
        return
    assert 0 <= frame < frames_in_day(rate)
