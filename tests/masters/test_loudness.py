"""Loudness and true peak against EBU's test signals, against pyloudnorm, and against what sines must give.

EBU Tech 3341 (2016): cases 1 to 6 for integrated loudness, +-0.1 LU; 15 to 19 for true peak, +0.2 / -0.4 dB. Case 1
is in the table of check values; the others are from memory.
"""

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pyloudnorm
import pytest
from scipy.signal import resample_poly

from bizkit.domain.work.facts import Facts, Loudness

from .conftest import RATE_HZ, silence, tone

Film = Callable[..., Facts]


def loudness(facts: Facts) -> Loudness:
    assert facts.loudness is not None
    return facts.loudness


def measured(film: Film, samples: Any, **options: Any) -> Loudness:
    return loudness(film([], [samples], name="mix.wav", sound_codec="pcm_s24le", **options))


def stepped(*steps: tuple[float, float], channels: int = 2) -> Any:
    """1 kHz at each level in dBFS for each number of seconds."""
    return np.concatenate([tone(seconds, dbfs, channels=channels) for dbfs, seconds in steps], axis=1)


def test_case_1_reads_minus_23_and_pyloudnorm_agrees(film: Film) -> None:
    samples = tone(20, -23)
    found = measured(film, samples).integrated_lufs
    assert found is not None
    assert abs(found - Decimal("-23.0")) <= Decimal("0.1")
    assert abs(float(found) - pyloudnorm.Meter(RATE_HZ).integrated_loudness(samples.T)) <= 0.1


@pytest.mark.parametrize(
    ("steps", "target"),
    [
        (((-33, 20),), "-33.0"),
        (((-36, 10), (-23, 60), (-36, 10)), "-23.0"),
        (((-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)), "-23.0"),
        (((-26, 20), (-20, 20.1), (-26, 20)), "-23.0"),
    ],
    ids=["case 2", "case 3", "case 4", "case 5"],
)
def test_the_gates_of_cases_2_to_5(film: Film, steps: tuple[tuple[float, float], ...], target: str) -> None:
    found = measured(film, stepped(*steps)).integrated_lufs
    assert found is not None
    assert abs(found - Decimal(target)) <= Decimal("0.1")


def test_the_channel_weights_of_case_6(film: Film) -> None:
    levels = (-28, -28, -24, -30, -30)
    samples = np.concatenate([tone(20, level, channels=1) for level in levels])
    found = measured(film, samples, layout="5.0").integrated_lufs
    assert found is not None
    assert abs(found - Decimal("-23.0")) <= Decimal("0.1")


def test_music_like_noise_agrees_with_pyloudnorm(film: Film) -> None:
    random = np.random.default_rng(3)
    envelope = np.repeat(10 ** (random.uniform(-50, -12, 40) / 20), RATE_HZ // 2)
    samples = np.clip(np.cumsum(random.standard_normal((2, envelope.size)), axis=1) % 2 - 1, -1, 1) * envelope * 0.5
    found = measured(film, samples).integrated_lufs
    assert found is not None
    assert abs(float(found) - pyloudnorm.Meter(RATE_HZ).integrated_loudness(samples.T)) <= 0.1


@pytest.mark.parametrize(
    ("divisor", "phase_degrees", "amplitude", "target_dbtp"),
    [(4, 0, 0.5, -6.0), (4, 45, 0.5, -6.0), (6, 60, 0.5, -6.0), (8, 67.5, 0.5, -6.0), (4, 45, 1.41, 3.0)],
    ids=["case 15", "case 16", "case 17", "case 18", "case 19"],
)
def test_peaks_between_the_samples(
    film: Film, divisor: int, phase_degrees: float, amplitude: float, target_dbtp: float
) -> None:
    at = np.arange(2 * RATE_HZ)
    fade = np.minimum(1, np.minimum(at, at[::-1]) / 4800)
    wave = amplitude * np.sin(2 * np.pi * at / divisor + math.radians(phase_degrees)) * fade
    found = measured(film, np.stack([wave, wave])).true_peak_dbtp
    assert found is not None
    assert target_dbtp - 0.4 <= float(found) <= target_dbtp + 0.2


def test_the_true_peak_agrees_with_scipy_at_sixteen_times_the_rate(film: Film) -> None:
    samples = np.random.default_rng(5).uniform(-0.3, 0.3, (2, RATE_HZ))
    finer = np.abs(resample_poly(samples, 16, 1, axis=1)).max()
    found = measured(film, samples).true_peak_dbtp
    assert found is not None
    # Four times the rate, as ITU-R BS.1770 asks at the least, may miss a little of a peak near half the rate.
    assert -0.7 <= float(found) - 20 * math.log10(finer) <= 0.3


def test_two_mono_tracks_are_measured_as_the_pair_they_are(film: Film) -> None:
    found = loudness(film([], [tone(3, channels=1), tone(3, channels=1)], name="mix.mov", sound_codec="pcm_s24le"))
    assert found.integrated_lufs == Decimal("-23.00")
    assert found.measured_on == "tracks 1 and 2 as a stereo pair"


def test_one_mono_track_counts_on_two_speakers(film: Film) -> None:
    found = measured(film, tone(3, channels=1))
    assert found.integrated_lufs == Decimal("-23.00")
    assert "mono" in found.measured_on


def test_of_eight_unnamed_channels_the_first_two_are_the_mix(film: Film) -> None:
    samples = np.concatenate([tone(3, channels=2), tone(3, dbfs=-3, channels=6)])
    found = loudness(film([], [samples], name="mix.mov", sound_codec="pcm_s24le", layout="8 channels"))
    assert found.integrated_lufs == Decimal("-23.00")
    assert found.measured_on == "the whole mix, channels 1 and 2"


def test_a_lost_second_track_does_not_hold_up_the_first(film: Film) -> None:
    facts = film([], [tone(40, channels=1), tone(1, channels=1)], name="mix.mov", sound_codec="pcm_s16le")
    assert facts.tracks[0].ends_s == 40
    assert facts.tracks[1].ends_s == Fraction(1)
    assert loudness(facts).integrated_lufs is not None


def test_silence_has_no_loudness_and_no_peak(film: Film) -> None:
    found = measured(film, silence(2))
    assert (found.integrated_lufs, found.range_lu, found.true_peak_dbtp) == (None, None, None)


def test_a_tenth_of_a_second_is_too_short_to_measure(film: Film) -> None:
    assert measured(film, tone(0.1)).integrated_lufs is None


@pytest.mark.parametrize("codec", ["pcm_s16le", "pcm_f32le", "pcm_u8", "pcm_s32le", "flac"])
def test_every_sample_form_is_heard_at_its_level(film: Film, codec: str) -> None:
    if codec == "flac":
        facts = film([], [tone(2)], name="mix.flac", sound_codec=codec)
    else:
        facts = film([], [tone(2)], name="mix.wav", sound_codec=codec)
    found = loudness(facts).integrated_lufs
    assert found is not None
    assert abs(found + 23) <= Decimal("0.1")
    assert (facts.tracks[0].silences, facts.tracks[0].silent_channels) == ((), ())
