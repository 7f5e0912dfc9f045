"""Facts held against specs, one point at a time."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from bizkit.domain.errors import RuleBroken
from bizkit.domain.work.facts import CaptionTrack, Facts, Loudness, Silence, Span
from bizkit.domain.work.judge import failed, judge, ratio, require
from bizkit.domain.work.naming import NamePattern
from bizkit.domain.work.point import Point
from bizkit.domain.work.spec import (
    CaptionSpec,
    FileSpec,
    LengthSpec,
    PictureSpec,
    SoundSpec,
    Spec,
    StillSpec,
)

from .conftest import FILM, STILL

WEB = Spec(
    title="Web film",
    kind="film",
    file=FileSpec(("mp4",), Decimal(100), NamePattern.of("{job}_{cut}_{aspect}_{seconds}_{version}")),
    picture=PictureSpec(
        width_px=1920,
        height_px=1080,
        frame_rates=(Fraction(25), Fraction(30000, 1001)),
        scan="progressive",
        codecs=("h264",),
        profiles=("High",),
        bit_depth_least=8,
        chroma=("4:2:0",),
        primaries="bt709",
        transfer="bt709",
        matrix="bt709",
        value_range="limited",
        start_timecode="01:00:00:00",
        black_head_most_s=Decimal("0.5"),
        black_tail_most_s=Decimal(1),
        black_inside_most_s=Decimal(0),
        frozen_head_most_s=Decimal("0.5"),
        frozen_tail_most_s=Decimal(5),
        frozen_inside_most_s=Decimal(2),
    ),
    length=LengthSpec(Decimal(60), Decimal(60)),
    sound=SoundSpec(
        tracks=1,
        channels=2,
        sample_rates_hz=(48_000,),
        codecs=("aac",),
        loudness_lufs=Decimal(-23),
        loudness_tolerance_lu=Decimal("0.5"),
        true_peak_most_dbtp=Decimal(-1),
        silence_most_s=Decimal("0.5"),
    ),
)
SPAN = Span(Fraction(10), Fraction(12))


def point(spec: Spec, facts: Facts, name: str, **words: str) -> Point:
    (found,) = [each for each in judge(spec, facts, words) if each.name == name]
    return found


def picture(**changes: Any) -> Facts:
    assert FILM.picture is not None
    return replace(FILM, picture=replace(FILM.picture, **changes))


def track(**changes: Any) -> Facts:
    return replace(FILM, tracks=(replace(FILM.tracks[0], **changes),))


def loud(integrated: str | None, peak: str | None = "-1.5") -> Facts:
    return replace(
        FILM,
        loudness=Loudness(
            Decimal(integrated) if integrated else None, None, Decimal(peak) if peak else None, "the whole mix"
        ),
    )


def test_a_file_as_it_should_be_passes_every_point() -> None:
    points = judge(WEB, FILM, {"job": "follow-the-kelp", "version": "v2"})
    assert all(each.ok for each in points)
    assert len(points) >= 30
    assert not any(each.why for each in points if each.name != "loudness")


def test_what_a_spec_leaves_out_is_not_asked() -> None:
    assert [each.name for each in judge(Spec("Anything", "film"), FILM)] == ["kind", "whole"]


@pytest.mark.parametrize(
    ("facts", "name", "got"),
    [
        (picture(width_px=1280, height_px=720), "frame size", "1280 x 720"),
        (picture(width_px=1080, height_px=1920), "frame size", "1080 x 1920"),
        (picture(turned_degrees=90), "frame size", "1920 x 1080, turned 90 degrees by a flag"),
        (picture(turned_degrees=90), "aspect", "9:16"),
        (picture(pixel_aspect=Fraction(4, 3)), "aspect", "2.37:1"),
        (picture(frame_rate=Fraction(30)), "frame rate", "30"),
        (picture(even=False, uneven_frames=3), "frame lengths", "3 of 1798 frames are longer or shorter"),
        (picture(scan="top_first"), "scan", "top first"),
        (picture(scan="mixed"), "scan", "mixed"),
        (
            picture(combed_percent=Decimal("40.0")),
            "scan",
            "progressive, comb lines in 40% of the frames looked at",
        ),
        (picture(codec="hevc"), "codec", "hevc"),
        (picture(profile="Main"), "codec profile", "Main"),
        (picture(bit_depth=6), "bit depth", "6 bit"),
        (picture(chroma="4:2:2"), "chroma", "4:2:2"),
        (picture(primaries="bt2020"), "colour primaries", "bt2020"),
        (picture(transfer="unsaid"), "colour transfer", "unsaid"),
        (picture(matrix="rgb"), "colour matrix", "rgb"),
        (picture(value_range="full"), "value range", "full"),
        (picture(start_timecode="00:59:59:24"), "start timecode", "00:59:59:24"),
        (picture(start_timecode=""), "start timecode", "nothing"),
        (picture(black=(Span(Fraction(0), Fraction(1)),)), "black head", "1 s"),
        (picture(black=(Span(Fraction(58), Fraction(60)),)), "black tail", "2 s"),
        (picture(black=(Span(Fraction(10), Fraction(251, 25)),)), "black inside", "0.04 s at 10 s"),
        (picture(frozen=(Span(Fraction(0), Fraction(1)),)), "frozen head", "1 s"),
        (picture(frozen=(Span(Fraction(50), Fraction(60)),)), "frozen tail", "10 s"),
        (picture(frozen=(Span(Fraction(10), Fraction(13)),)), "frozen inside", "3 s at 10 s"),
        (replace(FILM, duration_s=Fraction(61)), "length", "61 s"),
        (replace(FILM, duration_s=Fraction(59)), "length", "59 s"),
        (replace(FILM, tracks=()), "sound tracks", "none"),
        (track(channels=1), "channels", "1"),
        (track(sample_rate_hz=44_100), "sample rate", "44100 Hz"),
        (track(codec="mp3"), "sound codec", "mp3"),
        (track(silent_channels=(2,)), "every channel", "channel 2 silent"),
        (track(starts_s=Fraction(1)), "sound runs", "1 s to 60 s"),
        (track(ends_s=Fraction(58)), "sound runs", "0 s to 58 s"),
        (track(gaps=(SPAN,)), "gaps", "2 s at 10 s"),
        (track(silences=(Silence(1, SPAN),)), "silence", "2 s at 10 s"),
        (loud("-22.4"), "loudness", "-22.4 LUFS"),
        (loud("-23.6"), "loudness", "-23.6 LUFS"),
        (loud(None), "loudness", "too quiet or too short to measure"),
        (loud("-23", "-0.9"), "true peak", "-0.9 dBTP"),
        (replace(FILM, container="mov"), "container", "mov"),
        (replace(FILM, size_bytes=100_000_001), "file size", "100 MB"),
        (replace(FILM, name="Final FINAL 2.mp4"), "file name", "Final FINAL 2"),
        (replace(FILM, damage=("cut off", "worse")), "whole", "cut off (and 1 more)"),
    ],
)
def test_each_thing_wrong_is_found_alone_and_says_what_to_do(facts: Facts, name: str, got: str) -> None:
    found = point(WEB, facts, name)
    assert (found.ok, found.got) == (False, got)
    assert found.why


def test_loudness_counts_at_the_one_decimal_that_meters_show() -> None:
    # -23 +-0.5 LU, both ends included.
    for level, ok in (("-22.5", True), ("-22.54", True), ("-22.46", True), ("-22.44", False), ("-23.5", True)):
        assert point(WEB, loud(level), "loudness").ok is ok, level
    assert "Lower the mix by 1 LU" in point(WEB, loud("-22"), "loudness").why
    assert "Raise the mix by 1.5 LU" in point(WEB, loud("-24.5"), "loudness").why


def test_the_true_peak_ceiling_is_not_rounded() -> None:
    assert point(WEB, loud("-23", "-1.00"), "true peak").ok
    assert point(WEB, loud("-23", "-0.99"), "true peak").ok is False
    assert point(WEB, loud("-23", None), "true peak").got == "silence"


@pytest.mark.parametrize(
    ("frames", "rate", "ok"),
    [
        # One frame either way: 60 s are 1798.2 frames at 29.97.
        (1797, "30000/1001", False),
        (1798, "30000/1001", True),
        (1799, "30000/1001", True),
        (1800, "30000/1001", False),
        (1499, "25", True),
        (1501, "25", True),
        (1502, "25", False),
    ],
)
def test_length_has_a_slack_of_one_frame(frames: int, rate: str, ok: bool) -> None:
    facts = replace(picture(frame_rate=Fraction(rate)), duration_s=frames / Fraction(rate))
    assert point(WEB, facts, "length").ok is ok


def test_open_ended_lengths() -> None:
    up_to = replace(WEB, length=LengthSpec(None, Decimal(60)))
    assert (point(up_to, FILM, "length").wanted, point(up_to, FILM, "length").ok) == ("60 s or less", True)
    from_on = replace(WEB, length=LengthSpec(Decimal(90), None))
    assert (point(from_on, FILM, "length").wanted, point(from_on, FILM, "length").ok) == ("90 s or more", False)
    between = replace(WEB, length=LengthSpec(Decimal(45), Decimal("60.5")))
    assert point(between, FILM, "length").wanted == "45 s to 60.5 s"


def test_a_film_without_sound_where_none_is_wanted() -> None:
    silent = replace(WEB, sound=SoundSpec(tracks=0))
    assert point(silent, replace(FILM, tracks=(), loudness=None), "sound tracks").ok
    assert point(silent, FILM, "sound tracks").ok is False


def test_one_silent_channel_of_six_is_no_fault() -> None:
    surround = replace(WEB, sound=replace(WEB.sound, channels=6))
    facts = track(channels=6, silent_channels=(4,), silences=(Silence(4, Span(Fraction(0), Fraction(60))),))
    assert point(surround, facts, "every channel").ok
    assert point(surround, facts, "silence").ok
    assert point(surround, track(channels=6, silent_channels=(1, 2, 3, 4, 5, 6)), "every channel").ok is False


def test_several_tracks_are_named_by_number() -> None:
    two = replace(FILM, tracks=(FILM.tracks[0], replace(FILM.tracks[0], channels=1)))
    spec = replace(WEB, sound=replace(WEB.sound, tracks=2))
    assert point(spec, two, "track 1 channels").ok
    assert point(spec, two, "track 2 channels").ok is False


def test_interlaced_is_met_by_either_order_and_an_order_by_itself() -> None:
    either = replace(WEB, picture=replace(WEB.picture, scan="interlaced"))
    top = replace(WEB, picture=replace(WEB.picture, scan="top_first"))
    assert point(either, picture(scan="bottom_first"), "scan").ok
    assert point(top, picture(scan="bottom_first"), "scan").ok is False
    assert point(either, picture(), "scan").ok is False


@pytest.mark.parametrize(("high", "ok"), [(804, True), (803, True), (800, False), (816, False)])
def test_a_wide_shape_may_be_off_by_one_pixel(high: int, ok: bool) -> None:
    # 1920 / 2.39 is 803.35.
    wide = replace(WEB, picture=PictureSpec(aspect=Fraction(239, 100)))
    assert point(wide, picture(height_px=high), "aspect").ok is ok


def test_words_of_the_name_that_are_known_must_be_those() -> None:
    assert point(WEB, FILM, "file name", job="follow-the-kelp", seconds="60s").ok
    wrong = point(WEB, FILM, "file name", version="v3")
    assert (wrong.ok, wrong.why) == (False, "version should be v3")


@pytest.mark.parametrize(
    ("captions", "facts", "ok"),
    [
        (CaptionSpec("clean"), FILM, None),
        (CaptionSpec("clean"), replace(FILM, captions=(CaptionTrack("mov_text", "en"),)), False),
        (CaptionSpec("burned_in"), FILM, None),
        (CaptionSpec("embedded"), FILM, False),
        (CaptionSpec("embedded", languages=("en",)), replace(FILM, captions=(CaptionTrack("mov_text", "en"),)), True),
        (
            CaptionSpec("embedded", languages=("de",)),
            replace(FILM, captions=(CaptionTrack("mov_text", "en"),)),
            False,
        ),
        (CaptionSpec("sidecar"), FILM, False),
        (CaptionSpec("sidecar"), replace(FILM, sidecars=("hero.srt",)), True),
        (CaptionSpec("sidecar", formats=("vtt",)), replace(FILM, sidecars=("hero.srt",)), False),
        (CaptionSpec("sidecar", languages=("en",)), replace(FILM, sidecars=("hero.srt",)), True),
        (CaptionSpec("sidecar", languages=("en", "de")), replace(FILM, sidecars=("hero.en.srt",)), False),
        (CaptionSpec("sidecar", languages=("en", "de")), replace(FILM, sidecars=("h.de.srt", "h.en.vtt")), True),
    ],
)
def test_captions_are_where_they_should_be_or_left_to_eyes(
    captions: CaptionSpec, facts: Facts, ok: bool | None
) -> None:
    assert point(replace(WEB, captions=captions), facts, "captions").ok is ok


STILLS = Spec(
    title="Web stills",
    kind="stills",
    stills=StillSpec(
        formats=("jpeg",),
        width_px=3000,
        height_px=2000,
        aspect=Fraction(3, 2),
        long_edge_least_px=2048,
        colour=("RGB",),
        profiles=("sRGB",),
        bit_depth_least=8,
        per_inch_least=300,
        metadata_wanted=("creator", "copyright"),
        metadata_refused=("position",),
    ),
)


def still(**changes: Any) -> Facts:
    assert STILL.still is not None
    return replace(STILL, still=replace(STILL.still, **changes))


def test_a_photograph_as_it_should_be_passes_every_point() -> None:
    points = judge(STILLS, STILL)
    assert all(each.ok for each in points)
    assert len(points) == 13


@pytest.mark.parametrize(
    ("facts", "name", "got"),
    [
        (still(format="png"), "format", "png"),
        (still(width_px=2999), "size", "2999 x 2000"),
        (still(width_px=2000), "aspect", "1:1"),
        (still(width_px=1024, height_px=683), "long edge", "1024 px"),
        (still(colour="CMYK"), "colour", "CMYK"),
        (still(profile="none"), "colour profile", "none"),
        (still(bit_depth=1), "bit depth", "1 bit"),
        (still(per_inch=0), "resolution", "not said"),
        (still(metadata=()), "creator", "not said"),
        (still(metadata=(("position", "yes"),)), "position", "in the file"),
    ],
)
def test_each_thing_wrong_with_a_photograph(facts: Facts, name: str, got: str) -> None:
    found = point(STILLS, facts, name)
    assert (found.ok, found.got) == (False, got)
    assert found.why


def test_another_kind_of_file_is_said_once_and_nothing_else_is_held_against_it() -> None:
    points = judge(WEB, STILL)
    assert points[0] == Point("kind", "film", "stills", False, points[0].why)
    assert [each.name for each in points] == ["kind", "whole", "file size", "file name"]


def test_requiring_names_the_first_fault_and_counts_the_rest() -> None:
    require(judge(WEB, FILM), FILM.name)
    bad = replace(picture(codec="hevc"), container="mov")
    assert [each.name for each in failed(judge(WEB, bad))] == ["codec", "container"]
    with pytest.raises(RuleBroken, match=r"v2\.mp4: codec: the spec asks for h264, the file has hevc and 1 more"):
        require(judge(WEB, bad), bad.name)


def test_points_are_json_ready() -> None:
    assert point(WEB, FILM, "codec").data() == {
        "name": "codec",
        "wanted": "h264",
        "got": "h264",
        "ok": True,
        "why": "",
    }


def test_aspects_for_people() -> None:
    assert ratio(Fraction(1920, 1080)) == "16:9"
    assert ratio(Fraction(239, 100)) == "2.39:1"
    assert ratio(Fraction(1920, 804)) == "2.388:1"
