"""Films as cameras and mixing desks write them: field order as other readers tell it, six to eight channels."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from .material import CHANNEL_TAGS, patch, write_channels, write_fields

FIELDS = """
title = "Fields"
kind = "film"

[picture]
scan = "{scan}"
"""
SOUND = """
title = "Sound"
kind = "film"

[picture]
width_px = 320

[sound]
tracks = 1
channels = {channels}
loudness_lufs = -23
loudness_tolerance_lu = 0.1
"""
PRORES = {"codec": "prores_ks", "wide": 320, "high": 180, "pixels": "yuv422p10le", "profile": "3"}
RAW = {"codec": "v210", "wide": 320, "high": 180, "pixels": "yuv422p10le"}
JPEG = {"codec": "mjpeg", "wide": 320, "high": 180, "pixels": "yuvj420p", "flags": "+bitexact"}
DV = {"codec": "dvvideo", "wide": 720, "high": 576, "pixels": "yuv420p"}
DNX = {"codec": "dnxhd", "wide": 1920, "high": 1080, "pixels": "yuv422p", "b": "120000000"}


# What ffprobe 5.1 (top_field_first of the frames; field_order where frames carry no flag) and mediainfo 22.12 say of
# files made in the same way by ffmpeg 5.1 (Debian 12); its idet filter finds the same in the pictures. detail: second
# byte of QuickTime's `fiel`. Cameras write 9 and 14; 1 and 6 mean fields apart.
@pytest.mark.parametrize(
    ("name", "made", "first", "detail"),
    [
        ("film.mov", PRORES | {"field_order": "tt"}, "top", 9),
        ("film.mov", PRORES | {"field_order": "bb"}, "bottom", 14),
        ("film.mov", PRORES | {"field_order": "tt"}, "top", 1),
        ("film.mov", PRORES | {"field_order": "bb"}, "bottom", 6),
        ("film.mov", RAW | {"field_order": "tt"}, "top", 9),
        ("film.mov", RAW | {"field_order": "bb"}, "bottom", 14),
        ("film.mov", JPEG | {"field_order": "tt"}, "top", 9),
        ("film.mov", JPEG | {"field_order": "bb"}, "bottom", 14),
        ("film.mov", DV, "bottom", None),
        ("film.avi", DV, "bottom", None),
        ("film.mov", DNX, "top", None),
        ("film.mov", DNX, "bottom", None),
    ],
)
def test_the_field_order_is_told_as_other_readers_tell_it(bizkit, kelp, studio, tmp_path, name, made, first, detail):
    film = write_fields(tmp_path / name, first=first, **made)
    if detail is not None:
        patch(film, b"fiel", 1, bytes([detail]))
    for scan in ("top_first", "bottom_first"):
        (studio / "specs" / f"{scan}.toml").write_text(FIELDS.format(scan=scan), encoding="utf-8")
        done = bizkit("deliverable", "check", film, "--spec", scan, "--json")
        (point,) = [point for point in done.data["files"][0]["points"] if point["name"] == "scan"]
        assert point["got"] == f"{first} first"
        assert done.code == (0 if scan == f"{first}_first" else 1)


# EBU Tech 3341, case 6 (from memory): L and R at -28 dBFS, C at -24, Ls and Rs at -30 is -23.0 LUFS +-0.1; the LFE
# does not count (ITU-R BS.1770), so it may be as loud as it likes.
LEVELS = {"L": -28.0, "R": -28.0, "C": -24.0, "Ls": -30.0, "Rs": -30.0, "LFE": -12.0}


@pytest.mark.parametrize("tag", [tag for tag in CHANNEL_TAGS if tag & 0xFF == 6])
def test_six_channels_are_measured_whatever_their_order(bizkit, kelp, studio, tmp_path, tag):
    (studio / "specs" / "sound.toml").write_text(SOUND.format(channels=6), encoding="utf-8")
    levels = [LEVELS[speaker] for speaker in CHANNEL_TAGS[tag].split()]
    film = write_channels(tmp_path / "film.mov", levels, tag=tag, seconds=4)
    done = bizkit("deliverable", "check", film, "--spec", "sound", "--json")
    assert (done.code, done.err) == (0, "")
    (loudness,) = [point for point in done.data["files"][0]["points"] if point["name"] == "loudness"]
    assert loudness["got"] == "-23.0 LUFS"
    told = bizkit("deliverable", "check", film).out
    order = "" if tag >> 16 == 121 else "5.1(side), in the order F"
    assert order in told


@pytest.mark.parametrize(
    ("name", "codec", "channels", "tag"),
    [
        ("film.mov", "pcm_s24le", 7, (125 << 16) | 7),
        ("film.mov", "pcm_s24le", 8, (128 << 16) | 8),
        ("film.mov", "pcm_s24le", 8, (147 << 16) | 8),  # "discrete": no speaker is named
        ("film.mov", "aac", 8, 0),
        ("film.mkv", "libopus", 8, 0),
    ],
)
def test_seven_and_eight_channels_do_not_end_the_reader(bizkit, kelp, studio, tmp_path, name, codec, channels, tag):
    (studio / "specs" / "sound.toml").write_text(
        SOUND.format(channels=channels).replace("loudness", "# loudness"), encoding="utf-8"
    )
    levels = [None if number == 3 else -30.0 for number in range(channels)]
    film = write_channels(tmp_path / name, levels, codec=codec, tag=tag)
    done = bizkit("deliverable", "check", film, "--spec", "sound", "--json")
    assert (done.code, done.err) == (0, "")
    points = {point["name"]: point["got"] for point in done.data["files"][0]["points"]}
    assert points["channels"] == str(channels)
    assert points["frame size"].startswith("320 x 180")
    # The fourth channel of the file, whatever its speaker.
    assert points["every channel"] == "channel 4 silent"


def test_where_the_sound_stops_the_reader_the_picture_is_judged_all_the_same(
    bizkit, kelp, studio, tmp_path, monkeypatch
):
    (studio / "specs" / "sound.toml").write_text(SOUND.format(channels=6), encoding="utf-8")
    film = write_channels(tmp_path / "film.mov", [-30.0] * 6, seconds=30)
    killed = []

    def kill_the_first(*_):
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
                words = (folder / "cmdline").read_bytes().split(b"\0")
            except OSError:
                continue
            if int(parent) == os.getpid() and b"look" in words and not killed:
                killed.append(int(folder.name))
                os.kill(killed[0], signal.SIGABRT)

    import bizkit.services.delivery.checking as checking

    whole = checking.check_files
    monkeypatch.setattr(
        checking, "check_files", lambda *given, progress, **named: whole(*given, progress=kill_the_first, **named)
    )
    done = bizkit("deliverable", "check", film, "--spec", "sound")
    assert len(killed) == 1
    assert (done.code, done.err) == (0, "")
    said = " ".join(done.out.split())
    assert "ok frame size" in said
    assert "look sound" in said
    assert "it stops its reader (signal 6" in said
    assert "WRONG" not in said
