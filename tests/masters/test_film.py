"""Facts of small real films, encoded here in the right and in the wrong ways.

What a film should be read as follows from how it was made; ExifTool, a reader of its own, is asked where it knows.
"""

import json
import subprocess
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.work.facts import Facts, Silence, Span
from bizkit.masters.picture import FrameClock

from .conftest import combed, flat, moving, seen, silence, tone, write_film

Film = Callable[..., Facts]


def picture(facts: Facts) -> Any:
    assert facts.picture is not None
    return facts.picture


def test_a_plain_film_is_read_as_it_was_made(film: Film) -> None:
    facts = film(moving(50), [tone(2)], language="gla")
    assert (facts.kind, facts.container, facts.duration_s, facts.damage) == ("film", "mp4", 2, ())
    seen_picture = picture(facts)
    assert (seen_picture.codec, seen_picture.width_px, seen_picture.height_px) == ("h264", 320, 180)
    assert (seen_picture.frame_rate, seen_picture.even, seen_picture.frames) == (25, True, 50)
    assert (seen_picture.scan, seen_picture.bit_depth, seen_picture.chroma) == ("progressive", 8, "4:2:0")
    assert (seen_picture.black, seen_picture.frozen) == ((), ())
    (track,) = facts.tracks
    assert (track.codec, track.channels, track.layout, track.sample_rate_hz) == ("aac", 2, "stereo", 48000)
    assert (track.language, track.starts_s, track.silent_channels, track.silences) == ("gla", 0, (), ())
    assert 2 <= track.ends_s < 2 + Fraction(1024, 48000)


def test_exiftool_agrees_on_size_rate_length_and_turning(tmp_path: Path) -> None:
    path = write_film(tmp_path / "turned.mp4", moving(60), rate="30000/1001", turned=90)
    (said,) = json.loads(subprocess.run(["exiftool", "-json", "-n", path], capture_output=True, check=True).stdout)
    facts = seen(path)
    assert (said["ImageWidth"], said["ImageHeight"]) == (picture(facts).width_px, picture(facts).height_px)
    assert said["VideoFrameRate"] == pytest.approx(float(picture(facts).frame_rate), abs=0.001)
    assert said["TrackDuration"] == pytest.approx(float(facts.duration_s), abs=0.001)
    assert said["Rotation"] == picture(facts).turned_degrees == 270
    assert picture(facts).aspect == Fraction(180, 320)


@pytest.mark.parametrize("name", ["film.mp4", "film.mkv", "film.ts"])
@pytest.mark.parametrize("rate", ["24000/1001", "24", "25", "30000/1001", "60000/1001"])
def test_frame_rates_are_exact_in_every_wrapper(film: Film, name: str, rate: str) -> None:
    # Matroska keeps whole milliseconds, MPEG-TS ticks of 1/90000 s: the fraction is found again all the same.
    facts = film(moving(30, 64, 48), rate=rate, name=name)
    assert (picture(facts).frame_rate, picture(facts).even) == (Fraction(rate), True)
    assert facts.duration_s == 30 / Fraction(rate)


def test_a_left_out_frame_is_counted(film: Film) -> None:
    facts = film(moving(50), stamps=lambda number: number + (number > 20))
    assert (picture(facts).even, picture(facts).uneven_frames, picture(facts).frame_rate) == (False, 1, 25)
    assert facts.duration_s == Fraction(51, 25)


def test_a_left_out_frame_is_counted_where_ticks_are_as_long_as_frames() -> None:
    clock = FrameClock(Fraction(1, 25), Fraction(25))
    for stamp in (0, 1, 2, 4, 5, 6, 7):
        clock.frame(stamp)
    assert (clock.rate(), clock.uneven(), clock.duration_s()) == (25, 1, Fraction(8, 25))


@pytest.mark.parametrize(
    ("options", "codec", "profile", "bit_depth", "chroma"),
    [
        ({"codec": "prores_ks", "pixels": "yuv422p10le", "options": {"profile": "3"}}, "prores", "HQ", 10, "4:2:2"),
        ({"codec": "prores_ks", "pixels": "yuv444p10le", "options": {"profile": "4"}}, "prores", "4444", 12, "4:4:4"),
        (
            {"codec": "dnxhd", "pixels": "yuv422p10le", "options": {"profile": "dnxhr_hqx"}},
            *("dnxhd", "DNXHR HQX", 10, "4:2:2"),
        ),
        ({"codec": "libx265", "pixels": "yuv420p10le"}, "hevc", "Main 10", 10, "4:2:0"),
        ({"codec": "mjpeg", "pixels": "yuvj420p"}, "mjpeg", "Baseline", 8, "4:2:0"),
    ],
)  # fmt: skip
def test_codecs_profiles_and_sampling(
    film: Film, options: dict[str, Any], codec: str, profile: str, bit_depth: int, chroma: str
) -> None:
    got = picture(film(moving(5), name="film.mov", **options))
    assert (got.codec, got.profile, got.bit_depth, got.chroma) == (codec, profile, bit_depth, chroma)


def test_wrappers_are_told_apart_by_content_not_by_name(tmp_path: Path) -> None:
    for ending, options, said in (
        ("mov", {}, "mov"),
        ("mp4", {}, "mp4"),
        ("mkv", {}, "matroska"),
        ("webm", {"codec": "libvpx-vp9", "options": {"cpu-used": "8", "deadline": "realtime"}}, "webm"),
        ("mxf", {"codec": "dnxhd", "pixels": "yuv422p", "options": {"profile": "dnxhr_sq"}}, "mxf"),
        ("avi", {"codec": "mjpeg", "pixels": "yuvj420p"}, "avi"),
    ):
        path = write_film(tmp_path / f"film.{ending}", moving(5), **options)
        renamed = path.rename(tmp_path / f"{ending}.bin")
        assert seen(renamed).container == said


def test_colour_tags_are_named_by_their_code_points(film: Film) -> None:
    # ISO/IEC 23091-2: 1, 1, 1 is BT.709; 9, 16, 9 is BT.2020 with PQ.
    sdr = {"color_primaries": 1, "color_trc": 1, "colorspace": 1, "color_range": 1}
    got = picture(film(moving(5), tags=sdr))
    assert (got.primaries, got.transfer, got.matrix, got.value_range) == ("bt709", "bt709", "bt709", "limited")
    hdr = {"color_primaries": 9, "color_trc": 16, "colorspace": 9, "color_range": 1}
    got = picture(film(moving(5), tags=hdr, codec="libx265", pixels="yuv420p10le"))
    assert (got.primaries, got.transfer, got.matrix, got.value_range) == ("bt2020", "pq", "bt2020", "limited")
    got = picture(film(moving(5)))
    assert (got.primaries, got.transfer, got.matrix) == ("unsaid", "unsaid", "unsaid")


def test_pixels_that_are_not_square_widen_the_aspect(film: Film) -> None:
    got = picture(film(moving(5, 720, 576), pixel_shape=Fraction(64, 45)))
    assert (got.pixel_aspect, got.aspect) == (Fraction(64, 45), Fraction(16, 9))


def test_the_start_timecode_is_found(film: Film) -> None:
    facts = film(moving(5), name="film.mov", metadata={"timecode": "10:00:00:00"})
    assert picture(facts).start_timecode == "10:00:00:00"


def test_interlaced_flags_and_comb_lines(film: Film) -> None:
    top = picture(film(combed(48), options={"flags": "+ildct+ilme", "x264-params": "tff=1"}))
    assert (top.scan, top.combed_percent) == ("top_first", Decimal(100))
    bottom = picture(film(combed(48), options={"flags": "+ildct+ilme", "x264-params": "bff=1"}))
    assert (bottom.scan, bottom.combed_percent) == ("bottom_first", Decimal(100))


def test_comb_lines_are_found_behind_a_progressive_flag(film: Film) -> None:
    hidden = picture(film(combed(48)))
    assert (hidden.scan, hidden.combed_percent) == ("progressive", Decimal(100))
    assert picture(film(moving(48))).combed_percent == 0


def test_still_lines_one_row_high_are_no_comb(film: Film) -> None:
    lines = np.zeros((180, 320), np.uint8) + 60
    lines[::2] = 180
    assert picture(film([lines] * 48)).combed_percent == 0


def test_black_head_tail_and_flash(film: Film) -> None:
    got = picture(film([*flat(10, 16), *moving(30), *flat(1, 16), *moving(20), *flat(5, 16)]))
    frame = Fraction(1, 25)
    assert got.black == (Span(Fraction(0), 10 * frame), Span(40 * frame, 41 * frame), Span(61 * frame, 66 * frame))
    assert (got.head_s(got.black), got.tail_s(got.black)) == (10 * frame, 5 * frame)
    assert got.frozen == ()


def test_a_small_title_on_black_is_picture(film: Film) -> None:
    title = np.full((180, 320), 16, np.uint8)
    title[80:92, 130:190] = 200
    assert picture(film([title] * 30)).black == ()


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("film.avi", {"codec": "rawvideo", "pixels": "bgr24"}),
        ("film.avi", {"codec": "rawvideo", "pixels": "yuyv422"}),
        ("film.avi", {"codec": "mjpeg", "pixels": "yuvj420p"}),
        ("film.mkv", {"codec": "ffv1", "pixels": "gray"}),
        ("film.mkv", {"codec": "ffv1", "pixels": "gbrp10le"}),
        ("film.mov", {"codec": "prores_ks", "pixels": "yuv422p10le"}),
        ("film.mkv", {"codec": "ffv1", "pixels": "yuv420p16le"}),
    ],
)
def test_black_is_black_in_every_pixel_form(film: Film, name: str, options: dict[str, Any]) -> None:
    got = picture(film([*moving(5), *flat(5, 16)], name=name, **options))
    assert got.black == (Span(Fraction(1, 5), Fraction(2, 5)),)


def test_frozen_head_and_tail(film: Film) -> None:
    frames = list(moving(60))
    got = picture(film([*[frames[0]] * 12, *frames, *[frames[-1]] * 24]))
    assert got.frozen == (Span(Fraction(0), Fraction(13, 25)), Span(Fraction(71, 25), Fraction(96, 25)))
    assert (got.head_s(got.frozen), got.tail_s(got.frozen)) == (Fraction(13, 25), 1)


def test_a_small_bird_in_a_still_sky_is_no_freeze(film: Film) -> None:
    sky = np.full((360, 640), 120, np.uint8)
    frames = []
    for number in range(50):
        frame = sky.copy()
        frame[100:112, 10 * number : 10 * number + 14] = 40
        frames.append(frame)
    assert picture(film(frames)).frozen == ()


def test_dropped_sound_is_found_where_it_is(film: Film) -> None:
    holed = np.concatenate([tone(1), silence(0.5), tone(1.5)], axis=1)
    (track,) = film(moving(75), [holed], name="film.mov", sound_codec="pcm_s24le").tracks
    # Ten-millisecond blocks: the first and the last are counted in or out whole.
    hole = Span(Fraction(1), Fraction(3, 2))
    assert [each.channel for each in track.silences] == [0, 1, 2]
    for each in track.silences:
        assert abs(each.span.starts_s - hole.starts_s) <= Fraction(1, 50)
        assert abs(each.span.ends_s - hole.ends_s) <= Fraction(1, 50)
    assert track.silent_channels == ()


def test_quiet_sound_is_not_silence(film: Film) -> None:
    (track,) = film(moving(25), [tone(1, dbfs=-66)], name="film.mov", sound_codec="pcm_s24le").tracks
    assert (track.silences, track.silent_channels) == ((), ())


def test_a_dead_channel_is_named(film: Film) -> None:
    half = np.concatenate([tone(2, channels=1), silence(2, channels=1)])
    (track,) = film(moving(50), [half], name="film.mov", sound_codec="pcm_s16le").tracks
    assert track.silent_channels == (2,)
    assert track.silences == (Silence(2, Span(Fraction(0), Fraction(2))),)


def test_sound_that_starts_late_or_ends_early(film: Film) -> None:
    (late,) = film(moving(75), [tone(2)], sound_from_s=Fraction(1), name="film.mkv", sound_codec="pcm_s16le").tracks
    assert abs(late.starts_s - 1) < Fraction(1, 50)
    (early,) = film(moving(75), [tone(2)], name="film.mov", sound_codec="pcm_s16le").tracks
    assert (early.starts_s, early.ends_s) == (0, 2)


def test_a_hole_in_the_time_stamps_of_sound(tmp_path: Path) -> None:
    whole = write_film(tmp_path / "whole.mkv", moving(75), [tone(3)], sound_codec="pcm_s16le")
    holed = tmp_path / "holed.mkv"
    with av.open(str(whole)) as source, av.open(str(holed), "w") as target:
        streams = {stream.index: target.add_stream_from_template(stream) for stream in source.streams}
        for packet in source.demux():
            lost = packet.stream.type == "audio" and packet.pts is not None and 1000 <= packet.pts < 1400
            if packet.dts is not None and not lost:
                packet.stream = streams[packet.stream_index]
                target.mux(packet)
    assert seen(whole).tracks[0].gaps == ()
    (gap,) = seen(holed).tracks[0].gaps
    assert abs(gap.starts_s - 1) < Fraction(1, 20)
    assert abs(gap.ends_s - Fraction(7, 5)) < Fraction(1, 20)


def test_captions_inside_are_listed_with_their_language(tmp_path: Path) -> None:
    path = tmp_path / "film.mkv"
    whole = write_film(tmp_path / "whole.mkv", moving(25))
    with av.open(str(whole)) as source, av.open(str(path), "w") as target:
        picture_stream = target.add_stream_from_template(source.streams.video[0])
        captions = target.add_stream("subrip")
        captions.metadata["language"] = "eng"
        captions.codec_context.subtitle_header = b""
        for packet in source.demux():
            if packet.dts is not None:
                packet.stream = picture_stream
                target.mux(packet)
        words = av.Packet(b"The kelp is back.")
        words.stream, words.time_base = captions, Fraction(1, 1000)
        words.pts = words.dts = 100
        words.duration = 600
        target.mux(words)
    (found,) = seen(path).captions
    assert (found.codec, found.language) == ("subrip", "eng")


def test_a_film_cut_off_tells_how_much_is_missing(tmp_path: Path) -> None:
    path = write_film(
        tmp_path / "film.mp4", moving(100), [tone(4)], wrapper_options={"movflags": "faststart"},
    )  # fmt: skip
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    facts = seen(path)
    assert any("the header promises 100 frames" in line for line in facts.damage)
    assert picture(facts).frames < 100


@pytest.mark.parametrize("name", ["mix.wav", "film.mkv", "film.mov"])
def test_every_wrapper_tells_when_it_is_cut_off(tmp_path: Path, name: str) -> None:
    options = {} if name.endswith("wav") else {"wrapper_options": {"movflags": "faststart"}} if "mov" in name else {}
    path = write_film(
        tmp_path / name, [] if "wav" in name else moving(100), [tone(4)], sound_codec="pcm_s16le", **options
    )
    whole = seen(path)
    assert whole.damage == ()
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    assert any("promises" in line for line in seen(path).damage)


def test_flipped_bits_inside_the_picture_are_found(tmp_path: Path) -> None:
    path = write_film(tmp_path / "film.mp4", moving(50))
    data = bytearray(path.read_bytes())
    for place in range(len(data) // 4, len(data) // 2, 97):
        data[place] ^= 0x10
    path.write_bytes(data)
    assert seen(path).damage


def test_a_file_of_nothing_usable_is_refused_in_one_line(tmp_path: Path) -> None:
    path = write_film(tmp_path / "film.mp4", moving(25))
    path.write_bytes(path.read_bytes()[:200])
    with pytest.raises(BadInput, match=r"film\.mp4: wanted a film, sound or image file, got"):
        seen(path)


def test_a_sound_file_is_sound(film: Film) -> None:
    facts = film([], [tone(2)], name="mix.wav", sound_codec="pcm_s24le")
    assert (facts.kind, facts.container, facts.picture, facts.duration_s) == ("sound", "wav", None, 2)
    assert (facts.tracks[0].bit_depth, facts.tracks[0].codec) == (24, "pcm")
