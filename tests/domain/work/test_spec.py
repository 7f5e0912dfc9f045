"""Delivery specs as data: read from TOML, and the shipped ones."""

import tomllib
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.spec import Spec, aspect_of, rate_of, rate_text
from bizkit.resources import templates

HEAD = 'title = "Hero"\nkind = "film"\n'


def read(text: str) -> Spec:
    return read_input(Spec, tomllib.loads(text, parse_float=Decimal), where="hero.toml")


def test_a_spec_is_read_whole() -> None:
    spec = read(
        HEAD
        + """
        [file]
        containers = ["mp4", "mov"]
        size_most_mb = 250
        name = "{job}_{cut}_{version}"
        [picture]
        width_px = 1920
        height_px = 1080
        aspect = "16:9"
        frame_rates = ["25", "30000/1001"]
        scan = "progressive"
        codecs = ["h264"]
        bit_depth_least = 8
        chroma = ["4:2:0"]
        primaries = "bt709"
        black_head_most_s = 0.5
        [length]
        least_s = 59.5
        most_s = 60
        [sound]
        channels = 2
        sample_rates_hz = ["48000"]
        loudness_lufs = -23
        loudness_tolerance_lu = 0.5
        true_peak_most_dbtp = -1
        [captions]
        how = "sidecar"
        formats = ["srt"]
        languages = ["en"]
        """
    )
    assert spec.file.name is not None
    assert (spec.file.name.text, spec.file.size_most_mb) == ("{job}_{cut}_{version}", 250)
    assert (spec.picture.width_px, spec.picture.aspect) == (1920, Fraction(16, 9))
    assert spec.picture.frame_rates == (Fraction(25), Fraction(30000, 1001))
    assert (spec.picture.black_head_most_s, spec.picture.black_tail_most_s) == (Decimal("0.5"), None)
    assert (spec.length.least_s, spec.length.most_s, spec.length.slack_frames) == (Decimal("59.5"), 60, 1)
    assert (spec.sound.loudness_lufs, spec.sound.loudness_tolerance_lu) == (-23, Decimal("0.5"))
    assert (spec.captions.how, spec.captions.formats) == ("sidecar", ("srt",))
    assert spec.summary == "1920 x 1080, 25 or 29.97 fps, 59.5 to 60 s"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[picture]\nframe_rates = ['29.97']", "picture.frame_rates: wanted a frame rate as a fraction, got 29.97"),
        ("[picture]\naspect = 'wide'", "picture.aspect: wanted an aspect ratio"),
        ("[picture]\nscan = 'progresive'", "picture.scan: wanted one of"),
        ("[picture]\nwidht_px = 1", "picture: wanted a known key, got widht_px. Did you mean width_px?"),
        ("[picture]\nwidth_px = 0", "picture.width_px: wanted a whole number 1..16384, got 0"),
        ("[length]\nleast_s = 60\nmost_s = 30", "length.most_s: wanted 60 (least_s) or more, got 30"),
        ("[sound]\nsample_rates_hz = ['48k']", "sound.sample_rates_hz: wanted rates in quotes"),
        ("[sound]\nloudness_lufs = 3", "sound.loudness_lufs: wanted a number -70..0, got 3"),
        ("[captions]\nformats = ['sub']", "captions.formats: wanted a known caption format, got sub"),
        ("[file]\nname = '{jobb}'", "file.name: wanted a known word in braces, got jobb. Did you mean job?"),
        ("[file]\nname = '../{job}'", "file.name: wanted a file name pattern"),
        ("[stills]\nformats = ['jpeg']", "wanted a known key, got stills"),
    ],
)
def test_what_is_wrong_names_file_and_field(text: str, line: str) -> None:
    with pytest.raises(BadInput) as caught:
        read(HEAD + text)
    assert str(caught.value).startswith(f"hero.toml: {line}")


def test_metadata_names_are_checked() -> None:
    with pytest.raises(BadInput, match="a known piece of metadata, got positon"):
        read('title = "Stills"\nkind = "stills"\n[stills]\nmetadata_refused = ["positon"]')


@pytest.mark.parametrize(
    ("text", "rate", "shown"),
    [
        ("24000/1001", Fraction(24000, 1001), "23.976"),
        ("25", Fraction(25), "25"),
        ("30000/1001", Fraction(30000, 1001), "29.97"),
        ("60000/1001", Fraction(60000, 1001), "59.94"),
    ],
)
def test_frame_rates_are_fractions_and_shown_as_everybody_says_them(text: str, rate: Fraction, shown: str) -> None:
    # SMPTE ST 12-1: 29.97 stands for 30000/1001.
    assert rate_of(text) == rate
    assert rate_text(rate) == shown


@pytest.mark.parametrize("text", ["0", "-25", "25/0", "1e3", "23.976", "", "٢٥", "25/1/1"])
def test_no_other_rate_is_taken(text: str) -> None:
    with pytest.raises(BadInput):
        rate_of(text)


@pytest.mark.parametrize("text", ["16/9", "0:9", "16:0", "16:9:1", "wide", ""])
def test_no_other_aspect_is_taken(text: str) -> None:
    with pytest.raises(BadInput):
        aspect_of(text)


def test_aspects_are_exact() -> None:
    assert (aspect_of("16:9"), aspect_of("2.39:1"), aspect_of("1:1")) == (Fraction(16, 9), Fraction(239, 100), 1)


def shipped() -> list[Any]:
    return sorted((templates() / "specs").glob("*.toml"))


def test_specs_are_shipped() -> None:
    assert len(shipped()) >= 8


@pytest.mark.parametrize("path", shipped(), ids=lambda path: path.stem)
def test_every_shipped_spec_reads_and_says_what_it_is(path: Any) -> None:
    tree = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    spec = read_input(Spec, tree, where=path.name)
    assert spec.title
    assert spec.about
    assert spec.file.name is not None
    assert spec.file.name.parts(spec.file.name.example) is not None


def test_the_television_spec_asks_for_r_128() -> None:
    # EBU R 128 (2020): programme loudness -23.0 LUFS, maximum true peak -1 dBTP.
    path = templates() / "specs" / "broadcast_25.toml"
    spec = read_input(Spec, tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal), where=path.name)
    assert (spec.sound.loudness_lufs, spec.sound.true_peak_most_dbtp) == (-23, -1)
